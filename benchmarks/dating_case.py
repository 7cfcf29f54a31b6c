"""Solve a dating case written as JSON and print the answer as JSON, with the figures of time.

The form of a case is told in ``docs/methods/dating.md``: a model, observations and inspections.

Usage: python benchmarks/dating_case.py CASE.json
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np

from heelstamp.dating import (
    Assembly,
    Batch,
    CompiledModel,
    DatingModel,
    Evidence,
    Feature,
    FeatureSeen,
    Inspection,
    Mark,
    Observation,
    Part,
    Reading,
    SerialNumber,
    SerialScheme,
    Sign,
    SignSeen,
    Timing,
    Transition,
    additive_moments,
    central_interval,
    entropy_bits,
    expected_gains,
    feature_outcomes,
    infer,
    leave_one_out,
    mark_outcomes,
    median,
    sign_outcomes,
)
from heelstamp.units import MonthGrid, Period, format_month, parse_month
from heelstamp.units.months import MONTHS_A_YEAR

GAIN_PARTS = ("neck", "finish")


def model_of(case: dict[str, Any]) -> DatingModel:
    """Read the model of a case."""
    tables = case["model"]
    completion = MonthGrid.parse(*tables["completion_grid"].values())
    volume = tables["date_prior"]["volume_by_year"]
    made = np.array([float(volume.get(str(m // MONTHS_A_YEAR), 0)) for m in completion])
    even = tables["date_prior"]["uniform_share"]
    history = tuple((one["name"], one["p"]) for one in tables["history"])
    timing, serial = tables["timing"], tables["serial"]
    return DatingModel(
        completion=completion,
        marks=MonthGrid.parse(*tables["mark_grid"].values()),
        prior=(1 - even) * made / made.sum() + even / len(completion),
        history=history,
        assemblies=tuple(
            Assembly(
                one["name"],
                tuple(one["parts"]),
                tuple(one["p_disturbed"][name] for name, _ in history),
            )
            for one in tables["assemblies"]
        ),
        parts=tuple(
            Part(
                one["name"],
                tuple(one["states"]),
                tuple(Timing(name) for name in one["timing"]),
                tuple(one["p_state"]["undisturbed"]),
                tuple(one["p_state"]["disturbed"]),
            )
            for one in tables["parts"]
        ),
        lag=tuple(timing["built_lag_pmf"]),
        gap_first=timing["period_gap_first"],
        gap=tuple(timing["period_gap_pmf"]),
        later_from=timing["later_from_gap"],
        later_anywhere=timing["later_anywhere_share"],
        features=tuple(_feature(one) for one in tables["features"]),
        serial=SerialScheme(
            serial["part"], serial["scale_months"], serial["bias_months"], serial["epsilon"]
        ),
        signs=tuple(
            Sign(
                one["name"],
                tuple(one["outcomes"]),
                tuple(tuple(row) for row in one["p"]),
                one.get("part"),
                one.get("assembly"),
                one["epsilon"],
                one.get("group"),
            )
            for one in tables["signs"]
        ),
        batches=tuple(Batch(tuple(parts)) for parts in tables["same_batch"]),
        group_failure=tables["sign_group_failure"],
    )


def _feature(one: dict[str, Any]) -> Feature:
    changes = [Transition(parse_month(t["centre"]), t["width_months"]) for t in one["transitions"]]
    return Feature(
        one["name"],
        one["part"],
        tuple(one["variants"]),
        tuple(changes),
        tuple(one["later_variant_p"]),
        one["epsilon"],
    )


def evidence_of(case: dict[str, Any]) -> Evidence:
    """Read the observations of a case."""
    found: list[Observation] = []
    for one in case["observations"]:
        if one["kind"] == "mark":
            readings = [
                Reading(Period(parse_month(r["from"]), parse_month(r["to"])), r["weight"])
                for r in one["may_be"]
            ]
            spread = tuple((shift, share) for shift, share in one.get("spread_pmf", [[0, 1.0]]))
            found.append(Mark(one["part"], tuple(readings), one["epsilon"], spread))
        elif one["kind"] == "feature":
            found.append(FeatureSeen(one["feature"], one["variant"]))
        elif one["kind"] == "sign":
            found.append(SignSeen(one["sign"], one["outcome"]))
        else:
            knots = case["model"]["serial"]["knots"]
            numbers, months = [k[0] for k in knots], [parse_month(k[1]) for k in knots]
            nominal = [(int(np.interp(n, numbers, months)), w) for n, w in one["may_be"]]
            found.append(SerialNumber(tuple(nominal)))
    return tuple(found)


def inspections_of(case: dict[str, Any], model: DatingModel) -> list[Inspection]:
    """Read the inspections of a case."""
    found = []
    for one in case["inspections"]:
        reveals = one["reveals"]
        if reveals["kind"] == "mark":
            outcomes = mark_outcomes(model, reveals["part"], reveals["epsilon"])
        elif reveals["kind"] == "sign":
            outcomes = sign_outcomes(model, reveals["sign"])
        else:
            outcomes = feature_outcomes(model, reveals["feature"])
        found.append(Inspection(one["name"], outcomes, one["p_readable"]))
    return found


def solve(case: dict[str, Any]) -> dict[str, Any]:
    """Answer a case in the form that the independent answers have."""
    model = model_of(case)
    compiled = CompiledModel(model)
    evidence = evidence_of(case)
    posterior = infer(compiled, evidence)
    months, grid = posterior.months[0], model.completion
    index = np.arange(len(months))
    mean = float(months @ index)
    interval = central_interval(months, grid, 0.9)
    years: dict[str, float] = {}
    for month, p in zip(grid, months, strict=True):
        year = str(month // MONTHS_A_YEAR)
        years[year] = years.get(year, 0.0) + float(p)
    price = case["model"]["price"]
    base = price["log_base_by_year"]
    by_month = np.array([base[str(month // MONTHS_A_YEAR)] for month in grid])
    effects = price["state_log_effect"]
    log_mean, log_variance = additive_moments(compiled, [evidence], by_month, effects)
    gains = expected_gains(
        compiled, evidence, inspections_of(case, model), GAIN_PARTS, (by_month, effects)
    )
    rows = [
        {
            "inspection": gain.inspection,
            "invasiveness": one["invasiveness"],
            "gain": {
                "date": gain.date_bits,
                **{f"part:{part}": bits for part, bits in gain.part_bits.items()},
                "price": gain.variance,
            },
        }
        for gain, one in zip(gains, case["inspections"], strict=True)
    ]
    return {
        "log_evidence": float(posterior.log_evidence[0]),
        "date_mean_month_index_from_grid_start": mean,
        "date_mean_rounded": format_month(grid.first + round(mean)),
        "date_median": format_month(median(months, grid)),
        "date_mode": format_month(grid.first + int(months.argmax())),
        "date_interval_90": [format_month(interval.first), format_month(interval.last)],
        "date_posterior_sd_months": float(np.sqrt(months @ (index - mean) ** 2)),
        "date_entropy_bits": float(entropy_bits(months)),
        "date_posterior_by_year": {y: round(p, 10) for y, p in years.items() if p > 1e-9},
        "part_states": {
            part.name: dict(zip(part.states, posterior.states[part.name][0].tolist(), strict=True))
            for part in model.parts
        },
        "assembly_disturbed": {
            one.name: float(p)
            for one, p in zip(model.assemblies, posterior.disturbed[0], strict=True)
        },
        "history": {
            name: float(p) for (name, _), p in zip(model.history, posterior.history[0], strict=True)
        },
        "leave_one_out": [
            {
                "observation": i,
                "predictive_probability": one.predictive,
                "date_total_variation_if_dropped": one.total_variation,
            }
            for i, one in enumerate(leave_one_out(compiled, evidence))
        ],
        "log_price": {"mean": float(log_mean[0]), "variance": float(log_variance[0])},
        "information_gain": rows,
        "ranking": {
            target: [
                row["inspection"] for row in sorted(rows, key=lambda row: -row["gain"][target])
            ]
            for target in rows[0]["gain"]
        },
    }


if __name__ == "__main__":
    print(json.dumps(solve(json.loads(Path(sys.argv[1]).read_text("utf-8"))), indent=1))
