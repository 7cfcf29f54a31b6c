"""Least squares: what is refused, and that every digit is exact."""

import math
from fractions import Fraction

import numpy as np
import pytest

from heelstamp.errors import InputError
from heelstamp.valuation.least_squares import least_squares


def test_a_line_through_three_points() -> None:
    # by hand: slope 1, level 1/3 of the points 0, 2, 2 at 0, 1, 2
    fit = least_squares(np.array([[1.0, 0], [1, 1], [1, 2]]), np.array([0.0, 2, 2]))
    assert fit.coefficients == pytest.approx([1 / 3, 1.0])
    assert fit.residuals == pytest.approx([-1 / 3, 2 / 3, -1 / 3])
    assert fit.residual_sd == pytest.approx((6 / 9) ** 0.5)
    assert fit.errors == pytest.approx(
        [fit.residual_sd * (5 / 6) ** 0.5, fit.residual_sd * 0.5**0.5]
    )


def test_as_many_rows_as_columns_leave_no_scatter() -> None:
    assert least_squares(np.eye(3), np.array([1.0, 2, 3])).residual_sd == 0


def test_dependent_columns_and_too_few_rows_are_refused() -> None:
    x = np.arange(6.0)[:, None]
    with pytest.raises(InputError, match="depend on each other") as caught:
        least_squares(np.hstack([x, 2 * x]), np.ones(6))
    assert caught.value.received == "column 2"
    with pytest.raises(InputError, match="fewer observations"):
        least_squares(np.ones((1, 2)), np.ones(1))


def test_numbers_that_are_not_finite_are_refused() -> None:
    with pytest.raises(InputError, match="no finite number"):
        least_squares(np.array([[1.0], [math.nan]]), np.ones(2))
    with pytest.raises(InputError, match="no finite number"):
        least_squares(np.ones((2, 1)), np.array([1.0, math.inf]))


def test_a_column_of_noughts_is_refused() -> None:
    with pytest.raises(InputError, match="depend on each other") as caught:
        least_squares(np.array([[1.0, 0], [2, 0], [3, 0]]), np.ones(3))
    assert caught.value.received == "column 2"


def test_columns_that_differ_by_rounding_only_are_refused() -> None:
    x = np.arange(1.0, 8)[:, None]
    with pytest.raises(InputError, match="depend on each other"):
        least_squares(np.hstack([x / 3, x / 7]), np.ones(7))


def test_no_digit_is_lost_where_doubles_lose_them() -> None:
    t = np.arange(21.0)
    x = np.stack([t**power for power in range(6)], axis=1)  # whole numbers below 2**53
    fit = least_squares(x, x.sum(axis=1))
    assert fit.coefficients.tolist() == [1.0] * 6
    assert fit.residuals.tolist() == [0.0] * 21


def test_results_are_the_exact_ones_rounded_once() -> None:
    # by hand: of 0.1, 0.2, 0.7 as stored, mean and the error of the mean in exact fractions
    y = [0.1, 0.2, 0.7]
    mean = sum(map(Fraction, y)) / 3
    squares = float(sum((Fraction(one) - mean) ** 2 for one in y))
    fit = least_squares(np.ones((3, 1)), np.array(y))
    assert fit.coefficients.tolist() == [float(mean)]
    assert fit.residuals.tolist() == [float(Fraction(one) - mean) for one in y]
    assert fit.residual_sd**2 == pytest.approx(squares / 2, rel=4e-16)
    assert fit.errors[0] ** 2 == pytest.approx(squares / 6, rel=4e-16)


def test_exact_numbers_are_not_rounded_before_the_fit() -> None:
    tenths = np.array([[Fraction(1), Fraction(n, 10)] for n in range(4)])
    fit = least_squares(tenths, np.array([Fraction(3 * n + 1, 10) for n in range(4)]))
    assert fit.coefficients.tolist() == [0.1, 3.0]
    assert fit.residual_sd == 0
    assert least_squares(tenths.astype(float), np.array([0.1, 0.4, 0.7, 1.0])).residual_sd > 0


@pytest.mark.parametrize("size", [1e-250, 1e250])
def test_columns_of_any_size(size: float) -> None:
    y = np.array([0.0, 2, 2])
    plain = least_squares(np.array([[1.0, 0], [1, 1], [1, 2]]), y)
    fit = least_squares(np.array([[1.0, 0], [1, size], [1, 2 * size]]), y)
    assert fit.coefficients * [1, size] == pytest.approx(plain.coefficients, rel=1e-15)
    assert fit.errors * [1, size] == pytest.approx(plain.errors, rel=1e-15)
