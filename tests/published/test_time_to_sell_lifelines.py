"""The hazard against lifelines, on the recidivism data that it carries.

Source: lifelines.datasets.load_rossi (432 people, 52 weeks; Rossi, Berk and Lenihan 1980, "Money,
Work and Crime"). lifelines fits proportional hazards with a free baseline (Cox) and the share left
by week (Kaplan and Meier); ours has a baseline of three numbers. People are no guitars: only the
arithmetic is compared. The same rows are held against statsmodels besides.
"""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from lifelines import CoxPHFitter, KaplanMeierFitter
from lifelines.datasets import load_rossi
from scipy.optimize import minimize

from heelstamp.valuation.time_to_sell import RUSH_WEEKS, TREND_FROM, Listing, log_likelihood


@pytest.fixture(scope="module")
def people() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Weeks, whether arrested in the last of them, and age in decades about its mean."""
    data = load_rossi()
    age = (data["age"] - data["age"].mean()) / 10
    return data["week"].to_numpy(), data["arrest"].to_numpy() == 1, age.to_numpy()


@pytest.fixture(scope="module")
def fitted(people: tuple[np.ndarray, np.ndarray, np.ndarray]) -> np.ndarray:
    """Ours at its top: a, f, g, c, where the likelihood is that of a piece at its value."""
    weeks, arrested, age = people
    listings = [
        Listing((float(size),) * int(last), float(size), 0.0, 0.0, bool(end))
        for last, end, size in zip(weeks, arrested, age, strict=True)
    ]

    def loss(told: np.ndarray) -> float:
        a, f, g, c = told
        theta = np.array([[a, 0.0, f, g, c, 0.0, 0.0, -40.0]])
        return -float(log_likelihood(theta, listings, 0.0)[0])

    found = minimize(loss, np.array([-5.0, 0.0, 0.0, 0.0]), tol=1e-9)
    return np.asarray(found.x)


def test_the_effect_of_a_covariate_is_that_of_a_cox_regression(
    people: tuple[np.ndarray, np.ndarray, np.ndarray], fitted: np.ndarray
) -> None:
    weeks, arrested, age = people
    table = load_rossi()[["week", "arrest"]].assign(age=age)
    cox = CoxPHFitter().fit(table, "week", "arrest")
    apart = abs(float(fitted[3]) - float(cox.params_["age"]))
    assert apart < 0.03 * float(cox.standard_errors_["age"])
    assert len(weeks) == 432
    assert int(arrested.sum()) == 114


def test_the_share_left_by_week_is_that_of_kaplan_and_meier(
    people: tuple[np.ndarray, np.ndarray, np.ndarray], fitted: np.ndarray
) -> None:
    weeks, arrested, age = people
    a, f, g, c = fitted
    k = np.arange(52.0)
    eta = a + f * (k < RUSH_WEEKS) + g * np.log((k + 1) / TREND_FROM)
    left = np.exp(-np.cumsum(np.exp(eta[None, :] + c * age[:, None]), axis=1)).mean(axis=0)
    theirs = KaplanMeierFitter().fit(weeks, arrested).survival_function_at_times(k + 1).to_numpy()
    assert np.abs(left - theirs).max() < 0.015


def test_the_same_rows_by_statsmodels(
    people: tuple[np.ndarray, np.ndarray, np.ndarray], fitted: np.ndarray
) -> None:
    weeks, arrested, age = people
    k = np.concatenate([np.arange(last, dtype=float) for last in weeks])
    of = np.repeat(age, weeks)
    ended = np.zeros(len(k))
    ended[np.cumsum(weeks) - 1] = arrested
    design = np.column_stack([np.ones_like(k), k < RUSH_WEEKS, np.log((k + 1) / TREND_FROM), of])
    family = sm.families.Binomial(link=sm.families.links.CLogLog())
    fit = sm.GLM(ended, design, family=family).fit(tol=1e-14)
    assert len(k) == 19_809
    assert np.abs(fit.params - fitted).max() < 1e-4
