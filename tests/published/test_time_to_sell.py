"""The hazard against statsmodels, on the Stanford heart transplants that it carries.

Source: statsmodels.datasets.heart (Miller 1976, "Least squares regression with censored data",
Biometrika 63). A grouped proportional hazard is a binomial regression with the complementary
log-log link over rows of one week each (Prentice and Gloeckler 1978). Patients are no guitars:
only the arithmetic is compared.
"""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.special import erfc, log_ndtr

from heelstamp.valuation.time_to_sell import (
    RUSH_WEEKS,
    TREND_FROM,
    Listing,
    log_erfc,
    log_likelihood,
)


def test_the_likelihood_and_its_top_are_those_of_a_binomial_regression() -> None:
    data = sm.datasets.heart.load()
    days, dead = np.asarray(data.endog), np.asarray(data.censors) == 1
    weeks = (days // 7).astype(int) + 1
    rows = [
        (k, int(end and k == last - 1))
        for last, end in zip(weeks, dead, strict=True)
        for k in range(last)
    ]
    k = np.array([one for one, _ in rows], dtype=float)
    design = np.column_stack([np.ones_like(k), k < RUSH_WEEKS, np.log((k + 1) / TREND_FROM)])
    family = sm.families.Binomial(link=sm.families.links.CLogLog())
    fit = sm.GLM([one for _, one in rows], design, family=family).fit(tol=1e-14)
    # at the value, without doubt: the price term is nought, only a, f and g are left
    listings = [
        Listing((0.0,) * int(last), 0.0, 0.0, 0.0, bool(end))
        for last, end in zip(weeks, dead, strict=True)
    ]

    def told(a: float, f: float, g: float) -> float:
        theta = np.array([[a, 0.0, f, g, 0.0, 0.0, 0.0, -40.0]])
        return float(log_likelihood(theta, listings, 0.0)[0])

    top = told(*fit.params)
    assert top == pytest.approx(fit.llf, rel=1e-6)
    for step in 1e-3 * np.eye(3):
        slope = (told(*(fit.params + step)) - told(*(fit.params - step))) / 2e-3
        assert abs(slope) < 1e-3
        assert told(*(fit.params + 20 * step)) < top
    assert len(rows) == int(weeks.sum())


def test_the_share_of_buyers_is_that_of_scipy() -> None:
    x = np.linspace(-9, 30, 4001)
    ours = log_erfc(x)
    assert np.abs(ours - (np.log(2.0) + log_ndtr(-x * np.sqrt(2.0)))).max() < 1.3e-7
    near = x[x < 5]
    assert np.abs(np.exp(log_erfc(near)) / erfc(near) - 1).max() < 1.3e-7
