"""Joining tables against closed forms of the normal distribution and a published worked example.

With tables -(c - y)^2 / (2 s^2) a shop says what a normal estimate y with standard error s says, so
that the product is the inverse-variance mean, a shift of its own with standard deviation t adds
t^2 to s^2, and the Bayes factor of a misfit is a ratio of two normal densities (A. Gelman et al.,
Bayesian Data Analysis, 3rd ed. 2013, sections 2.5 and 5.4).

The eight schools: D. B. Rubin, Estimation in parallel randomized experiments, J. Educ. Stat. 6
(1981) 377-401; as BDA3, section 5.5, gives them: the pooled estimate is 7.7, its standard error
4.1. Data and both figures from memory.
"""

import numpy as np
import pytest
from scipy.special import logsumexp
from scipy.stats import norm

from heelstamp.dating.federation.joining import (
    ASTRAY,
    SHIFTS,
    contaminated,
    doubted_table,
    log_shifted,
    product,
    shift_weights,
    shifted,
)
from heelstamp.dating.federation.misfit import OWN_SHIFT, misfits

SCHOOLS = (28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0)
ERRORS = (15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0)
CENTRES = np.arange(-150.0, 150.5)
FLAT = np.full((len(CENTRES), 1), 1 / len(CENTRES))


def table(estimate: float, error: float) -> np.ndarray:
    return -0.5 * ((CENTRES[:, None] - estimate) / error) ** 2


def schools() -> list[np.ndarray]:
    return [table(y, s) for y, s in zip(SCHOOLS, ERRORS, strict=True)]


def mean_and_sd(posterior: np.ndarray) -> tuple[float, float]:
    shares = posterior.sum(axis=1)
    mean = float(shares @ CENTRES)
    return mean, float(np.sqrt(shares @ (CENTRES - mean) ** 2))


def test_the_product_is_the_published_pooled_estimate() -> None:
    mean, sd = mean_and_sd(product(schools(), FLAT))
    assert round(mean, 1) == 7.7
    assert round(sd, 1) == 4.1
    weights = 1 / np.square(ERRORS)
    assert mean == pytest.approx(np.average(SCHOOLS, weights=weights), abs=1e-9)
    assert sd == pytest.approx(weights.sum() ** -0.5, abs=1e-9)


def test_the_contaminated_product_is_the_sum_written_out() -> None:
    """Against scipy's logsumexp, as the formula stands."""
    total = np.log(FLAT)
    for one in schools():
        any_curve = logsumexp(one, b=FLAT)
        both = np.stack([one + np.log(1 - ASTRAY), np.full_like(one, any_curve + np.log(ASTRAY))])
        total = total + logsumexp(both, axis=0)
    plain = np.exp(total - logsumexp(total))
    assert contaminated(schools(), FLAT) == pytest.approx(plain, abs=1e-14)


def test_a_shift_of_its_own_adds_its_variance() -> None:
    averaged = log_shifted(table(3.0, 9.0), shift_weights(len(CENTRES), 12.0, 1))
    wider = table(3.0, np.hypot(9.0, 12.0))
    inside = np.abs(CENTRES) < 60
    gap = (averaged - wider)[inside]
    assert np.ptp(gap) < 1e-6
    assert float(gap.mean()) == pytest.approx(np.log(9.0 / 15.0), abs=1e-6)


def test_shops_with_shifts_are_the_hierarchical_normal_model() -> None:
    """Given the shifts' sd, inverse variances s^2 + t^2; mixed by their marginal likelihood."""
    found = mean_and_sd(shifted([schools()], FLAT, 1, astray=1e-300)[0])
    weights, means, variances = [], [], []
    for sd, share in SHIFTS:
        inverse = 1 / (np.square(ERRORS) + sd**2)
        centre = np.average(SCHOOLS, weights=inverse)
        at = norm.logpdf(SCHOOLS, centre, inverse**-0.5).sum()
        weights.append(share * np.exp(at) * inverse.sum() ** -0.5)
        means.append(centre)
        variances.append(1 / inverse.sum())
    shares = np.array(weights) / sum(weights)
    mean = shares @ means
    spread = shares @ (np.array(variances) + np.square(means)) - mean**2
    assert found == pytest.approx((mean, np.sqrt(spread)), abs=1e-3)


def test_a_misfit_is_a_ratio_of_two_normal_densities() -> None:
    pair = [{"f": table(0.0, 3.0)}, {"f": table(20.0, 4.0)}]
    others = doubted_table(pair[0]["f"], FLAT)
    shares = np.exp(others - logsumexp(others))[:, 0]
    found = misfits(pair, FLAT, 1)[1]

    def against(sd: float) -> float:
        return float(np.log(shares @ norm.pdf(20.0, CENTRES, np.hypot(4.0, sd))))

    # away from the ends, where shifts are cut off
    assert found.shift == pytest.approx(against(OWN_SHIFT) - against(0.0), abs=2e-3)
    any_curve = np.log(norm.pdf(CENTRES, 20.0, 4.0).sum() / len(CENTRES))
    assert found.any_curve == pytest.approx(any_curve - against(0.0), abs=1e-9)
