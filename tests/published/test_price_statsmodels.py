"""The same invented sales by another program's regression.

Source: statsmodels, ordinary least squares (Seabold and Perktold, "statsmodels: Econometric and
statistical modeling with Python", 2010). Response: log price; columns: month, four periods of
making, finish, pickups, neck, case, colour, grade, asking. Agreement to nine digits.
"""

import math
import warnings

import numpy as np
import pytest

from heelstamp.casework.appraisal.sales_table import comparables_from
from heelstamp.reference.demonstration import demo_sales
from heelstamp.units import parse_month
from heelstamp.valuation.least_squares import least_squares
from heelstamp.valuation.regression import Prior, Scale, regress


def design() -> tuple[np.ndarray, np.ndarray]:
    rows = comparables_from(demo_sales())
    x, y = [], []
    for one in rows:
        made = one.made[0]
        x.append(
            [
                1.0,
                (parse_month(one.month) - parse_month("2021-07")) / 12,
                made < 1957,
                1962 <= made <= 1964,
                made >= 1965,
                one.finish == "refinished",
                one.finish == "touched_up",
                one.pickups,
                one.neck == "later",
                not one.case,
                one.colour == "rare",
                one.steps,
                one.kind == "asking",
            ]
        )
        y.append(math.log(one.minor / 100))
    return np.array(x, dtype=float), np.array(y)


def test_coefficients_errors_and_scatter() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the other program's own imports
        import statsmodels.api

        x, y = design()
        theirs = statsmodels.api.OLS(y, x).fit()
    ours = least_squares(x, y)
    assert ours.coefficients == pytest.approx(theirs.params, rel=1e-9)
    assert ours.errors == pytest.approx(theirs.bse, rel=1e-9)
    assert ours.residual_sd == pytest.approx(math.sqrt(theirs.scale), rel=1e-9)


def test_with_wide_priors_the_regression_says_the_same() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import statsmodels.api

        x, y = design()
        theirs = statsmodels.api.OLS(y, x).fit()
    sd = math.sqrt(theirs.scale)
    count = x.shape[1]
    prior = Prior(
        np.zeros(count), np.full(count, 1e4), [-1] * count, Scale(sd, 1e9), [], tails=math.inf
    )
    mean, covariance = regress(x, y, prior).coefficients()
    assert mean == pytest.approx(theirs.params, abs=1e-7)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(theirs.bse, rel=1e-4)
