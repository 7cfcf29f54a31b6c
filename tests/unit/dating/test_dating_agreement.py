"""Close agreement of marks: the distribution of the range, and what honest marks do."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.pots_model import mark, pots_model
from heelstamp.dating import CompiledModel, FeatureSeen
from heelstamp.dating.agreement import LEAST_PARTS, agreement, range_distribution
from heelstamp.units import format_month

COMPILED = CompiledModel(pots_model(0.8))
INDEPENDENT = CompiledModel(pots_model(0.2))
DATED = ("body", "neck", "pot_1")


def distribution(weights: list[float]) -> list[float]:
    row = np.array(weights) + 1e-3
    return (row / row.sum()).tolist()


@settings(max_examples=60, deadline=None, derandomize=True, database=None)
@given(
    lags=st.lists(
        st.lists(st.floats(0, 1), min_size=1, max_size=7).map(distribution), min_size=1, max_size=4
    )
)
def test_range_against_every_combination(lags: list[list[float]]) -> None:
    found = range_distribution(lags)
    wanted = np.zeros(len(found))
    for combination in product(*(range(len(lag)) for lag in lags)):
        p = np.prod([lag[month] for lag, month in zip(lags, combination, strict=True)])
        wanted[max(combination) - min(combination) :] += p
    assert found == pytest.approx(wanted, abs=1e-12)
    assert found[-1] == pytest.approx(1)
    assert (np.diff(found) >= -1e-12).all()


def test_honest_marks_agree_as_often_as_the_lags_say() -> None:
    """Mid-p of 2,000 drawn instruments: its quantiles are those of an even distribution."""
    rng = np.random.default_rng(20261104)
    lags = {part: np.array(COMPILED.lag_of(part)) for part in DATED}
    drawn = []
    for _ in range(2000):
        built = 12 * 1963 + int(rng.integers(0, 24))
        months = {part: built - int(rng.choice(len(lag), p=lag)) for part, lag in lags.items()}
        marks = tuple(mark(part, format_month(month)) for part, month in months.items())
        found = agreement(COMPILED, marks)
        assert found is not None
        assert found.spread == max(months.values()) - min(months.values())
        drawn.append(found.mid_p)
    ps = np.array(drawn)
    # whole months make the distribution lumpy: halves and tenths, within three standard errors
    assert ps.mean() == pytest.approx(0.5, abs=0.02)
    for level in (0.1, 0.5, 0.9):
        assert (ps <= level).mean() == pytest.approx(level, abs=0.08)
    assert (ps <= 0.02).mean() <= 0.05


def test_marks_that_all_name_one_month_are_rare() -> None:
    at_once = tuple(mark(part, "1965-03") for part in DATED)
    scattered = (mark("body", "1965-03"), mark("neck", "1965-05"), mark("pot_1", "1964-08"))
    close, far = agreement(COMPILED, at_once), agreement(COMPILED, scattered)
    assert close is not None
    assert far is not None
    assert close.spread == 0
    assert close.mid_p == pytest.approx(close.at_most / 2)
    assert close.at_most < 0.05 < far.at_most
    # the chance that all lags are equal
    lags = [COMPILED.lag_of(part) for part in DATED]
    shortest = min(map(len, lags))
    equal = sum(np.prod([lag[month] for lag in lags]) for month in range(shortest))
    assert close.at_most == pytest.approx(equal)


def test_more_parts_in_one_month_are_rarer() -> None:
    three = agreement(INDEPENDENT, tuple(mark(part, "1965-03") for part in DATED))
    four = agreement(INDEPENDENT, tuple(mark(p, "1965-03") for p in (*DATED, "pot_2")))
    assert three is not None
    assert four is not None
    assert four.at_most < three.at_most


def test_parts_of_one_lot_with_the_same_month_count_once() -> None:
    marks = tuple(mark(part, "1965-03") for part in (*DATED, "pot_2"))
    found = agreement(COMPILED, marks)
    assert found is not None
    assert found.parts == DATED
    other = agreement(COMPILED, (*marks[:3], mark("pot_2", "1965-04")))
    assert other is not None
    assert other.parts == (*DATED, "pot_2")


def test_two_parts_or_periods_are_not_compared() -> None:
    two = tuple(mark(part, "1965-03") for part in DATED[:2])
    assert len(two) < LEAST_PARTS
    assert agreement(COMPILED, two) is None
    assert agreement(COMPILED, (FeatureSeen("dots", "clay"), *two)) is None
    twice = (*two, mark("neck", "1965-03"))
    assert agreement(COMPILED, twice) is None


def test_the_reading_borne_out_counts() -> None:
    marks = (mark("body", "1965-03"), mark("pot_1", "1965-02"), mark("neck", "1955-03", "1965-03"))
    found = agreement(COMPILED, marks)
    assert found is not None
    assert found.spread == 1


def test_far_apart_is_never_more_than_everything() -> None:
    marks = (mark("body", "1960-01"), mark("neck", "1968-01"), mark("pot_1", "1965-01"))
    found = agreement(COMPILED, marks)
    assert found is not None
    assert found.at_most == pytest.approx(1)
    assert found.mid_p <= 1
