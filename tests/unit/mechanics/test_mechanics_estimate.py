"""Uncertainty by source: what is shared cancels or adds up, what is not combines in quadrature."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate, combine, exact, total

NUMBERS = st.floats(0.5, 50.0)
SMALL = st.floats(0.0, 0.01)


def test_shared_and_separate_sources():
    rule, other = Estimate.of(10.0, 0.3, "rule"), Estimate.of(4.0, 0.4, "other")
    assert (rule - rule).uncertainty == 0.0
    assert (rule + rule).uncertainty == pytest.approx(0.6)
    assert (rule - other).uncertainty == pytest.approx(0.5)
    assert (2.0 - rule).value == -8.0
    assert (-rule).parts == {"rule": -0.3}


@given(NUMBERS, NUMBERS, SMALL, SMALL)
def test_arithmetic_agrees_with_numeric_propagation(a, b, u, v):
    x, y = Estimate.of(a, u, "x"), Estimate.of(b, v, "y") + Estimate.of(0.0, u / 3, "x")
    for done, function in (
        (x * y, lambda p, q: p * q),
        (x / y, lambda p, q: p / q),
        (x - 2.0 * y, lambda p, q: p - 2 * q),
        (x.squared() + y, lambda p, q: p * p + q),
    ):
        numeric = combine(function, x, y)
        assert done.value == pytest.approx(numeric.value)
        assert done.uncertainty == pytest.approx(numeric.uncertainty, rel=1e-3, abs=1e-9)


def test_interval_is_that_of_a_normal_distribution():
    low, high = Estimate.of(1.0, 0.1, "a").interval(0.90)
    assert (low, high) == (pytest.approx(1 - 0.16449, abs=1e-5), pytest.approx(1.16449, abs=1e-5))


def test_total_and_exact():
    assert total([exact(1.0), Estimate.of(2.0, 0.1, "a"), Estimate.of(3.0, 0.1, "a")]).parts == {
        "a": 0.2
    }
    assert total([]).value == 0.0


@pytest.mark.parametrize("bad", [(math.nan, 0.1), (1.0, -0.1), (1.0, math.inf)])
def test_what_is_no_estimate_is_refused(bad):
    with pytest.raises(InputError, match="finite"):
        Estimate.of(*bad, "thing")
