"""Counts: exact intervals and two counts compared, against an independent library."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from heelstamp.acoustics.event_rates import compare, interval


@given(st.integers(0, 400), st.sampled_from([0.5, 0.9, 0.95]))
def test_the_interval_is_garwoods(count: int, level: float) -> None:
    """Quantiles of chi square: Garwood (1936)."""
    tail = (1 - level) / 2
    low = stats.chi2.ppf(tail, 2 * count) / 2 if count else 0.0
    high = stats.chi2.ppf(1 - tail, 2 * count + 2) / 2
    assert interval(count, level) == pytest.approx((low, high), rel=1e-9, abs=1e-9)


@given(st.integers(0, 200), st.integers(0, 200), st.floats(0.5, 20), st.floats(0.5, 20))
def test_two_counts_are_compared_by_the_binomial(
    before: int, after: int, first: float, second: float
) -> None:
    """Przyborowski and Wilenski (1940)."""
    told = compare(before, first, after, second)
    law = stats.binom(before + after, second / (first + second))
    chance = min(law.cdf(after), law.sf(after - 1))
    assert told.chance == pytest.approx(min(1.0, chance), rel=1e-9, abs=1e-12)
    if chance < 0.049:
        assert told.change == ("fewer" if after / second < before / first else "more")
    elif chance > 0.051:
        assert told.change == "not told apart"


def test_nothing_before_and_after_is_no_change() -> None:
    assert compare(0, 5, 0, 5).change == "not told apart"
