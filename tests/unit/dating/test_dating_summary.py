"""Intervals, medians, modes and entropy are what their definitions say, month by month."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heelstamp.dating import central_interval, entropy_bits, median, modes
from heelstamp.units import MonthGrid, Period

GRID = MonthGrid.parse("1950-01", "1959-12")
SEEDED = settings(max_examples=60, deadline=None, derandomize=True, database=None)


def spread_out(seed: int, sharpness: float = 1.0) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return rng.dirichlet(np.full(len(GRID), sharpness))


def first_reaching(months: np.ndarray, level: float) -> int:
    total = 0.0
    for place, p in enumerate(months):
        total += p
        if total >= level - 1e-12:
            return GRID.first + place
    return GRID.last


@SEEDED
@given(seed=st.integers(0, 2**32 - 1), level=st.sampled_from([0.5, 0.8, 0.9, 0.95]))
def test_central_interval_is_two_quantiles(seed: int, level: float) -> None:
    months = spread_out(seed, 0.1)
    found = central_interval(months, GRID, level)
    assert found == Period(
        first_reaching(months, (1 - level) / 2), first_reaching(months, (1 + level) / 2)
    )
    held = months[found.first - GRID.first : found.last - GRID.first + 1].sum()
    assert held >= level - 1e-9


def test_central_interval_of_twenty_even_months() -> None:
    """Lower end: first month with at least .05; upper: first with at least .95."""
    months = np.zeros(len(GRID))
    months[10:30] = 1 / 20
    assert central_interval(months, GRID, 0.9) == Period(GRID.first + 10, GRID.first + 28)
    assert median(months, GRID) == GRID.first + 19


def test_all_in_one_month() -> None:
    months = np.zeros(len(GRID))
    months[-1] = 1.0
    assert central_interval(months, GRID, 0.9) == Period(GRID.last, GRID.last)
    assert median(months, GRID) == GRID.last
    assert modes(months, GRID)[0].period == Period(GRID.last, GRID.last)


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_median(seed: int) -> None:
    months = spread_out(seed)
    assert median(months, GRID) == first_reaching(months, 0.5)


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_entropy(seed: int) -> None:
    months = spread_out(seed, 0.05)
    months[:5] = 0
    months /= months.sum()
    wanted = -sum(p * math.log2(p) for p in months if p > 0)
    assert entropy_bits(months) == pytest.approx(wanted, abs=1e-12)
    rows = np.stack([months, np.full(len(GRID), 1 / len(GRID))])
    assert entropy_bits(rows) == pytest.approx([wanted, math.log2(len(GRID))])


def test_modes_a_decade_apart_are_both_named() -> None:
    """A central interval alone would speak of the empty years between."""
    months = np.zeros(len(GRID))
    months[[6, 7, 8]] = 0.1, 0.2, 0.1
    months[[110, 111]] = 0.3, 0.3
    found = modes(months, GRID)
    assert [one.period for one in found] == [
        Period(GRID.first + 110, GRID.first + 111),
        Period(GRID.first + 6, GRID.first + 8),
    ]
    assert [one.probability for one in found] == pytest.approx([0.6, 0.4])
    assert len(central_interval(months, GRID, 0.9)) > 100


@pytest.mark.parametrize(("apart", "runs"), [(1, 1), (3, 1), (4, 2)])
def test_runs_that_leave_out_two_months_are_one(apart: int, runs: int) -> None:
    months = np.zeros(len(GRID))
    months[20] = months[20 + apart] = 0.5
    assert len(modes(months, GRID)) == runs


@SEEDED
@given(seed=st.integers(0, 2**32 - 1))
def test_modes_hold_the_smallest_set_of_95_percent(seed: int) -> None:
    months = spread_out(seed, 0.02)
    found = modes(months, GRID)
    inside = {m - GRID.first for one in found for m in range(one.period.first, one.period.last + 1)}
    order = sorted(range(len(GRID)), key=lambda m: -months[m])
    chosen: list[int] = []
    while sum(months[m] for m in chosen) < 0.95 - 1e-12:
        chosen.append(order[len(chosen)])
    left_out = [m for m in chosen if m not in inside]
    assert all(months[m] < 0.01 for m in left_out)  # runs with less are not named
    assert [one.probability for one in found] == sorted(
        (one.probability for one in found), reverse=True
    )
