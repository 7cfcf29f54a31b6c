"""The openings model against a literal sum over all configurations (tests/fakes/slow_openings)."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.random_openings import random_openings_evidence, random_openings_model
from fakes.slow_openings import SlowOpenings, slow_openings
from heelstamp.dating import DatingModel, Evidence, Posterior, infer, infer_many

ALLOWED = 1e-9


def worst(model: DatingModel, fast: Posterior, slow: SlowOpenings, row: int = 0) -> float:
    """Greatest deviation of any marginal, and relative error of the log evidence."""
    found = [
        abs(float(fast.log_evidence[row]) - slow.log_evidence) / max(1, abs(slow.log_evidence)),
        float(np.abs(fast.months[row] - slow.months).max()),
        float(np.abs(fast.history[row] - slow.history).max()),
    ]
    for i, one in enumerate(model.every_opening):
        found.append(abs(fast.openings[row, i] - slow.openings[one.name]))
    for i, group in enumerate(model.sets):
        found.append(abs(fast.swapped[row, i] - slow.swapped[group.name]))
    for i, name in enumerate(model.accesses):
        found.append(abs(fast.careful[row, i] - slow.careful[name]))
    found += [
        float(np.abs(fast.states[part.name][row] - slow.states[part.name]).max())
        for part in model.parts
    ]
    return max(found)


def check(model: DatingModel, evidence: Evidence) -> None:
    deviation = worst(model, infer(model, evidence), slow_openings(model, evidence))
    assert deviation <= ALLOWED, evidence


@settings(max_examples=40, deadline=None, derandomize=True, database=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_random_models(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_openings_model(rng)
    check(model, random_openings_evidence(rng, model))


@pytest.mark.parametrize("seed", range(2))
def test_many_instruments_in_one_table(seed: int) -> None:
    """Rows with and without each kind of observation do not touch each other."""
    rng = np.random.default_rng([11, seed])
    model = random_openings_model(rng, 2, 4)
    rows = [random_openings_evidence(rng, model) for _ in range(18)]  # more than one chunk
    rows[5] = ()
    fast = infer_many(model, rows)
    for place in (0, 5, 17):
        assert worst(model, fast, slow_openings(model, rows[place]), place) <= ALLOWED
