"""Gains of the three dating cases through joint expectation, against independent answers.

Source of the answers: `dating_cases/expected_*.json`, from the slow implementation that
`test_dating_cases.py` describes; it never saw this code. Here every look goes through
`expected_after`, the way in which the next inspection is planned.
"""

import importlib.util
import json
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from heelstamp.dating import (
    CompiledModel,
    Look,
    additive_moments,
    entropy_bits,
    expected_after,
    infer,
)
from heelstamp.units.months import MONTHS_A_YEAR

ROOT = Path(__file__).resolve().parents[2]
CASES = Path(__file__).parent / "dating_cases"
GAIN_BITS = 1e-4
"""Goal for gains; the independent answers are printed to more places."""


@cache
def program() -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        "dating_case_for_gains", ROOT / "benchmarks" / "dating_case.py"
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def read(kind: str, name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((CASES / f"{kind}_{name}.json").read_text("utf-8"))
    return data


@pytest.mark.parametrize("name", ["01", "03", "05"])
def test_gains_of_a_case(name: str) -> None:
    case, answers = read("case", name), read("expected", name)["information_gain"]
    model = program().model_of(case)
    compiled, evidence = CompiledModel(model), program().evidence_of(case)
    parts = [key.removeprefix("part:") for key in answers[0]["gain"] if key.startswith("part:")]
    price = case["model"]["price"]
    base = price["log_base_by_year"]
    by_month = np.array([base[str(month // MONTHS_A_YEAR)] for month in model.completion])
    effects = price["state_log_effect"]

    def measure(posterior, rows):
        variance = additive_moments(compiled, rows, by_month, effects)[1]
        states = [entropy_bits(posterior.states[part]) for part in parts]
        return np.stack([entropy_bits(posterior.months), variance, *states], axis=1)

    now = measure(infer(compiled, evidence), [evidence])[0]
    looks = [Look.of(one) for one in program().inspections_of(case, model)]
    found = expected_after(compiled, evidence, [[one] for one in looks], measure)
    assert [one["inspection"] for one in answers] == [one.name for one in looks]
    deviations = []
    for one, answer in zip(found, answers, strict=True):
        gain = answer["gain"]
        wanted = [gain["date"], gain["price"], *(gain[f"part:{part}"] for part in parts)]
        deviations.append(np.abs(now - one.values - wanted).max())
    print(f"case {name}: worst deviation {max(deviations):.1e}")  # noqa: T201 - for -s
    assert max(deviations) <= GAIN_BITS
