"""Least squares: what is refused, and that refinement is what gives the last digits."""

import sys

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


def test_without_refinement_digits_are_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    t = np.arange(21.0)
    x = np.stack([t**power for power in range(6)], axis=1)
    y = x.sum(axis=1)
    refined = np.abs(least_squares(x, y).coefficients - 1).max()
    monkeypatch.setattr(sys.modules[least_squares.__module__], "REFINEMENTS", 0)
    plain = np.abs(least_squares(x, y).coefficients - 1).max()
    assert refined < 1e-12 < plain
