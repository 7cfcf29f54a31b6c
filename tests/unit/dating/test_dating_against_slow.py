"""The engine against a literal sum over all configurations (tests/fakes/slow_dating.py)."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.random_dating import CLASSES, random_evidence, random_mark, random_model, shares
from fakes.slow_dating import SlowAnswer, slow_posterior
from heelstamp.dating import (
    Assembly,
    Batch,
    DatingModel,
    Evidence,
    Mark,
    ModelError,
    Part,
    Posterior,
    Reading,
    StateLikelihood,
    infer,
    infer_many,
)
from heelstamp.units import MonthGrid, Period

ALLOWED = 1e-9
"""Total variation, and relative error of the log evidence."""


def distance(fast: np.ndarray, slow: list[float]) -> float:
    return float(np.abs(fast - np.array(slow)).sum() / 2)


def worst(model: DatingModel, fast: Posterior, slow: SlowAnswer, row: int = 0) -> float:
    """Greatest deviation of any marginal."""
    found = [
        abs(float(fast.log_evidence[row]) - slow.log_evidence) / max(1, abs(slow.log_evidence)),
        distance(fast.months[row], slow.months),
        distance(fast.history[row], slow.history),
        2 * distance(fast.disturbed[row], slow.disturbed),
    ]
    found += [distance(fast.states[part.name][row], slow.states[part.name]) for part in model.parts]
    return max(found)


def check(model: DatingModel, evidence: Evidence) -> None:
    deviation = worst(model, infer(model, evidence), slow_posterior(model, evidence))
    assert deviation <= ALLOWED, evidence


@settings(max_examples=60, deadline=None, derandomize=True, database=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_random_models(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    check(model, random_evidence(rng, model))


@pytest.mark.parametrize("seed", range(3))
def test_many_instruments_in_one_table(seed: int) -> None:
    """Rows with and without each kind of observation do not touch each other."""
    rng = np.random.default_rng([7, seed])
    model = random_model(rng)
    rows = [random_evidence(rng, model) for _ in range(17)]  # more than one chunk
    rows[5] = ()
    fast = infer_many(model, rows)
    for place in (0, 5, 11, 16):
        assert worst(model, fast, slow_posterior(model, rows[place]), place) <= ALLOWED


def three_pots(rng: np.random.Generator, share: float) -> DatingModel:
    """Body and three parts of one lot, each with all four timing classes; 100 months."""
    first, span = 12 * 1950, 100
    names = ("pot_1", "pot_2", "pot_3")
    states = ("original", "period", "later", "foreign")
    lag = shares(rng, 15)
    pots = tuple(Part(name, states, CLASSES, shares(rng, 4), shares(rng, 4), lag) for name in names)
    body = Part("body", ("original",), CLASSES[:1], (1.0,), (1.0,))
    return DatingModel(
        completion=MonthGrid(first, first + span - 1),
        marks=MonthGrid(first - 30, first + span + 90),
        prior=np.array(shares(rng, span)),
        history=(("kept", 0.7), ("used", 0.3)),
        assemblies=(Assembly("body", ("body",), (0, 0)), Assembly("pots", names, (0.1, 0.6))),
        parts=(body, *pots),
        lag=shares(rng, 4),
        gap_first=-24,
        gap=shares(rng, 97),
        batches=(Batch(names, share),),
    )


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
@pytest.mark.parametrize("marked", [(1, 1, 1), (2, 1, 3), (1, 2, 0)])
def test_lot_of_three(share: float, marked: tuple[int, ...]) -> None:
    """All, some, or several marks on the members of one lot."""
    rng = np.random.default_rng([11, round(10 * share), *marked])
    model = three_pots(rng, share)
    evidence: list[Mark | StateLikelihood] = [StateLikelihood("pot_2", {"foreign": 0.5})]
    for part, count in zip(model.batches[0].parts, marked, strict=True):
        evidence += [random_mark(rng, model, part) for _ in range(count)]
    check(model, tuple(evidence))


def test_members_of_a_lot_need_not_be_seen() -> None:
    rng = np.random.default_rng(13)
    model = three_pots(rng, 0.8)
    check(model, (random_mark(rng, model, "pot_3"),))


def one_mark(part: str, month: int) -> Mark:
    return Mark(part, (Reading(Period(month, month), 1.0),), 0.01, ((-1, 0.2), (0, 0.6), (1, 0.2)))


@pytest.mark.parametrize("place", [2, 1])
def test_spread_close_to_the_ends_of_the_grid(place: int) -> None:
    model = three_pots(np.random.default_rng(17), 1.0)
    check(model, (one_mark("pot_1", model.marks.first + place),))
    check(model, (one_mark("pot_1", model.marks.last - place),))


def test_spread_at_the_ends_of_the_grid() -> None:
    model = three_pots(np.random.default_rng(17), 1.0)
    check(model, (one_mark("pot_1", model.marks.first),))
    check(model, (one_mark("pot_1", model.marks.last),))


def test_gap_before_the_grid_is_refused_or_right() -> None:
    model = three_pots(np.random.default_rng(19), 1.0)
    month = model.completion.first + 5
    try:
        short = replace(model, marks=MonthGrid(model.completion.first - 16, model.marks.last))
    except ModelError:
        return
    check(short, (one_mark("pot_1", month), one_mark("pot_1", month + 1)))


def test_gap_after_the_grid_is_refused_or_right() -> None:
    model = three_pots(np.random.default_rng(29), 1.0)
    last = model.completion.last
    try:
        short = replace(model, later_from=5, marks=MonthGrid(model.marks.first, last + 8))
    except ModelError:
        return
    check(short, (one_mark("pot_1", last - 5), one_mark("pot_1", last - 4)))


def test_lags_within_a_lot_are_refused_or_right() -> None:
    model = three_pots(np.random.default_rng(23), 1.0)
    parts = list(model.parts)
    parts[1] = replace(parts[1], lag=(1.0,))
    month = model.completion.first + 30
    evidence = (one_mark("pot_1", month), one_mark("pot_2", month))
    other_order = ("pot_2", "pot_1", "pot_3")
    assemblies = (model.assemblies[0], replace(model.assemblies[1], parts=other_order))
    try:
        one_way = replace(model, parts=tuple(parts))
        other_way = replace(one_way, assemblies=assemblies, batches=(Batch(other_order),))
    except ModelError:
        return
    apart = np.abs(infer(one_way, evidence).months - infer(other_way, evidence).months).sum() / 2
    assert apart <= ALLOWED
