"""Solve a dating case written as JSON and print the answer as JSON.

The two forms of a case, of assemblies and of openings, are told in ``docs/methods/dating.md``.

Usage: python benchmarks/dating_case.py CASE.json
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
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
    Level,
    Mark,
    MixedSet,
    Observation,
    Opening,
    Part,
    PartSet,
    Reading,
    Screws,
    ScrewsSeen,
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
from heelstamp.dating.model import Array
from heelstamp.units import MonthGrid, Period, format_month, parse_month
from heelstamp.units.months import MONTHS_A_YEAR

GAIN_PARTS = ("neck", "finish")


OPENINGS_FORM = "heelstamp/openings-case/1"


def model_of(case: dict[str, Any]) -> DatingModel:
    """Read the model of a case of either form."""
    tables = case["model"]
    completion = MonthGrid.parse(*tables["completion_grid"].values())
    volume = tables["date_prior"]["volume_by_year"]
    made = np.array([float(volume.get(str(m // MONTHS_A_YEAR), 0)) for m in completion])
    even = tables["date_prior"]["uniform_share"]
    history = tuple((one["name"], one["p"]) for one in tables["history"])
    timing = tables["timing"]
    return DatingModel(
        completion=completion,
        marks=MonthGrid.parse(*tables["mark_grid"].values()),
        prior=(1 - even) * made / made.sum() + even / len(completion),
        history=history,
        assemblies=tuple(
            Assembly(one["name"], tuple(one["parts"]), by_class(one["p_disturbed"], history))
            for one in tables.get("assemblies", ())
        ),
        parts=tuple(part_of(one) for one in tables["parts"]),
        lag=tuple(timing["built_lag_pmf"]),
        gap_first=timing["period_gap_first"],
        gap=tuple(timing["period_gap_pmf"]),
        later_from=timing["later_from_gap"],
        later_anywhere=timing["later_anywhere_share"],
        features=tuple(_feature(one) for one in tables["features"]),
        serial=_serial(tables.get("serial")),
        signs=tuple(
            Sign(
                one["name"],
                tuple(one["outcomes"]),
                tuple(tuple(row) for row in one["p"]),
                one.get("part"),
                one.get("assembly"),
                one["epsilon"],
                one.get("group"),
                one.get("opening"),
            )
            for one in tables["signs"]
        ),
        batches=tuple(_batch(one) for one in tables["same_batch"]),
        group_failure=tables.get("sign_group_failure", {}),
        **openings_of(tables, history),
    )


def by_class(row: dict[str, float], history: tuple[tuple[str, float], ...]) -> tuple[float, ...]:
    """Put numbers by history class into the order of the classes."""
    return tuple(row[name] for name, _ in history)


def part_of(one: dict[str, Any]) -> Part:
    """Read a part of either form."""
    timing = tuple(Timing(name) for name in one["timing"])
    if "p_state" in one:
        rows = (tuple(one["p_state"][key]) for key in ("undisturbed", "disturbed"))
        return Part(one["name"], tuple(one["states"]), timing, *rows)
    levels = tuple(
        Level(_ways(level["path"]), tuple(level["p"])) for level in one.get("levels", ())
    )
    return Part(one["name"], tuple(one["states"]), timing, tuple(one["p_unreached"]), levels=levels)


def openings_of(tables: dict[str, Any], history: tuple[tuple[str, float], ...]) -> dict[str, Any]:
    """Read what the second form adds to a model; nothing of the first."""
    if "openings" not in tables:
        return {}
    careful = dict(tables.get("careful", {}))
    screws = tables.get("screws")
    return {
        "openings": tuple(
            Opening(
                one["name"],
                by_class(one["p"], history),
                _ways(one.get("needs", ())),
                one.get("along", {}),
                one.get("careful"),
                one.get("root", False),
            )
            for one in tables["openings"]
        ),
        "sets": tuple(
            PartSet(
                one["name"],
                tuple(one["parts"]),
                by_class(one["p"], history),
                one["source"],
                _ways(one.get("needs", ())),
            )
            for one in tables.get("sets", ())
        ),
        "careful_default": careful.pop("default", 0.0),
        "careful": careful,
        "screws": Screws()
        if screws is None
        else Screws(screws["tightened"], screws["show"], screws["false"], screws["epsilon"]),
    }


def _ways(lists: list[list[str]]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(way) for way in lists)


def _batch(one: dict[str, Any] | list[str]) -> Batch:
    if isinstance(one, dict):
        return Batch(tuple(one["parts"]), one["share"])
    return Batch(tuple(one))


def _serial(one: dict[str, Any] | None) -> SerialScheme | None:
    if one is None:
        return None
    return SerialScheme(one["part"], one["scale_months"], one["bias_months"], one["epsilon"])


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
        elif one["kind"] == "screws":
            found.append(ScrewsSeen(one["opening"], one["count"], one["turned"]))
        elif one["kind"] == "mixed set":
            found.append(MixedSet(one["set"], one["epsilon"]))
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


def solve_openings(case: dict[str, Any]) -> dict[str, Any]:
    """Answer a case of the second form."""
    model = model_of(case)
    posterior = infer(model, evidence_of(case))
    at = {one.name: one.access for one in model.every_opening}
    looked = {
        sign.opening or sign.assembly
        for one in case["observations"]
        for sign in model.signs
        if one["kind"] == "sign" and sign.name == one["sign"] and sign.part is None
    }
    looked |= {one["opening"] for one in case["observations"] if one["kind"] == "screws"}
    hands = {at[name] for name in looked if name is not None}

    def named(names: Iterable[str], row: Array) -> dict[str, float]:
        return dict(zip(names, row.tolist(), strict=True))

    careful = named(model.accesses, posterior.careful[0])
    return {
        "title": case["title"],
        "log_evidence": float(posterior.log_evidence[0]),
        "months": posterior.months[0].tolist(),
        "history": named((name for name, _ in model.history), posterior.history[0]),
        "openings": named(at, posterior.openings[0]),
        "swapped": named((one.name for one in model.sets), posterior.swapped[0]),
        "careful": {access: p for access, p in careful.items() if access in hands},
        "parts": {
            part.name: named(part.states, posterior.states[part.name][0]) for part in model.parts
        },
    }


def solve(case: dict[str, Any]) -> dict[str, Any]:
    """Answer a case in the form that the independent answers have."""
    if case.get("form") == OPENINGS_FORM:
        return solve_openings(case)
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
