"""The price regression where the answer is known in closed form, and where it must not be moved."""

import math

import numpy as np
import pytest

from heelstamp.errors import InputError
from heelstamp.valuation.predictive import predict, tail_nodes
from heelstamp.valuation.regression import Prior, Scale, regress

KNOWN = 1e9
"""Degrees of freedom of a scale that is as good as known."""


def one_mean(count: int, noise: Scale, tails: float = math.inf) -> Prior:
    del count
    return Prior(np.zeros(1), np.array([100.0]), [-1], noise, [], tails)


def test_conjugate_posterior_with_known_noise() -> None:
    # x = 1, prior N(1, 0.5^2), noise 0.2: precision 4 + n/0.04
    y = np.array([1.3, 1.5, 1.1])
    prior = Prior(np.ones(1), np.array([0.5]), [-1], Scale(0.2, KNOWN), [], math.inf)
    mean, covariance = regress(np.ones((3, 1)), y, prior).coefficients()
    precision = 1 / 0.25 + 3 / 0.04
    assert mean[0] == pytest.approx((1 / 0.25 + y.sum() / 0.04) / precision, rel=1e-6)
    assert covariance[0, 0] == pytest.approx(1 / precision, rel=1e-6)


def test_unknown_noise_gives_the_students_t_of_the_textbook() -> None:
    # flat mean, scaled inverse chi-squared (dof 4, scale 0.5): posterior of the mean is
    # t with 4 + n - 1 dof, scale^2 = (4*0.25 + (n-1) s^2) / (4+n-1) / n
    y = np.random.default_rng(3).normal(2.0, 0.4, 9)
    mean, covariance = regress(np.ones((9, 1)), y, one_mean(9, Scale(0.5, 4.0))).coefficients()
    dof = 4 + 9 - 1
    scale2 = (4 * 0.25 + ((y - y.mean()) ** 2).sum()) / dof / 9
    assert mean[0] == pytest.approx(y.mean(), abs=1e-4)
    assert covariance[0, 0] == pytest.approx(scale2 * dof / (dof - 2), rel=0.02)


def test_a_spectacular_sale_moves_little_and_counts_little() -> None:
    generator = np.random.default_rng(5)
    y = 9.0 + 0.08 * generator.standard_normal(20)
    x = np.ones((20, 1))
    wild = y.copy()
    wild[7] += 1.2
    heavy = Prior(np.array([9.0]), np.array([3.0]), [-1], Scale(0.08, 4.0), [], 5.0)
    plain = Prior(np.array([9.0]), np.array([3.0]), [-1], Scale(0.08, 4.0), [], math.inf)
    calm = regress(x, y, heavy).coefficients()[0][0]
    moved = regress(x, wild, heavy)
    assert abs(moved.coefficients()[0][0] - calm) < 0.015
    assert abs(regress(x, wild, plain).coefficients()[0][0] - calm) > 0.05
    assert moved.weights[7] < 0.15
    assert moved.surprise[7] > 5
    assert np.delete(moved.weights, 7).min() > 0.4


def test_a_walk_is_shrunk_and_widens_where_nothing_was_seen() -> None:
    # six steps; sales before the second step only
    generator = np.random.default_rng(8)
    x = np.column_stack([np.ones(30), np.tile(np.arange(6) < 2, (30, 1)) * 1.0])
    x[:, 1] = np.arange(30) >= 15
    y = 9 + 0.2 * x[:, 1] + 0.05 * generator.standard_normal(30)
    prior = Prior(
        np.array([9.0, *np.zeros(6)]),
        np.array([3.0, *np.ones(6)]),
        [-1, *([0] * 6)],
        Scale(0.08, 4.0),
        [Scale(0.1, 4.0)],
        5.0,
    )
    fit = regress(x, y, prior)
    early = np.array([1.0, 1, 0, 0, 0, 0, 0])
    assert predict(fit, np.ones(7)).sd > 1.5 * predict(fit, early).sd
    mean = fit.coefficients()[0]
    assert 0.05 < mean[1] < 0.2 + 0.03
    assert np.abs(mean[3:]).max() < 0.02


def test_what_no_sale_tells_of_stays_as_it_was_believed() -> None:
    x = np.column_stack([np.ones(5), np.zeros(5)])
    prior = Prior(np.array([9.0, -0.3]), np.array([3.0, 0.1]), [-1, -1], Scale(0.08, 4.0), [])
    mean, covariance = regress(x, np.full(5, 9.0), prior).coefficients()
    assert mean[1] == pytest.approx(-0.3, rel=1e-12)
    assert covariance[1, 1] == pytest.approx(0.01)
    assert covariance[0, 1] == pytest.approx(0, abs=1e-20)


def test_no_sale_at_all_gives_the_prior() -> None:
    prior = Prior(np.array([2.0]), np.array([0.5]), [0], Scale(0.1, KNOWN), [Scale(2.0, KNOWN)])
    fit = regress(np.empty((0, 1)), np.empty(0), prior)
    mean, covariance = fit.coefficients()
    assert mean[0] == pytest.approx(2.0)
    assert covariance[0, 0] == pytest.approx(1.0, rel=1e-3)  # sd times the walk's scale


def test_wrong_shapes_and_gaps_are_refused() -> None:
    prior = one_mean(2, Scale(0.1, 4.0))
    with pytest.raises(InputError, match="differ in size"):
        regress(np.ones((2, 2)), np.ones(2), prior)
    with pytest.raises(InputError, match="no finite number"):
        regress(np.ones((2, 1)), np.array([1.0, np.nan]), prior)


def test_tail_nodes_have_the_moments_of_their_gamma() -> None:
    precision, chance = tail_nodes(5.0)
    assert chance.sum() == pytest.approx(1)
    assert chance @ precision == pytest.approx(1)
    assert chance @ precision**2 == pytest.approx(1 + 2 / 5)  # 1 + 1/shape, shape tails/2
    one, whole = tail_nodes(math.inf)
    assert (one.tolist(), whole.tolist()) == ([1.0], [1.0])


def test_quantiles_of_a_known_t() -> None:
    # 95 % point of t with 5 degrees of freedom: 2.015048 (any table)
    prior = Prior(np.zeros(1), np.array([1e-4]), [-1], Scale(0.1, KNOWN), [], 5.0)
    found = predict(regress(np.empty((0, 1)), np.empty(0), prior), np.ones(1))
    low, high = found.interval(0.9)
    assert high == pytest.approx(0.2015048, rel=0.01)
    assert low == pytest.approx(-high, rel=1e-3)
    assert found.below(0.2015048) == pytest.approx(0.95, abs=0.002)
    assert found.mean == pytest.approx(0, abs=1e-6)
    assert found.sd == pytest.approx(0.1 * math.sqrt(5 / 3), rel=0.02)


def test_a_mixture_of_states_has_two_heaps_and_adds_to_one() -> None:
    prior = Prior(
        np.array([9.0, -0.5]), np.array([1e-3, 1e-3]), [-1, -1], Scale(0.02, KNOWN), [], math.inf
    )
    fit = regress(np.empty((0, 2)), np.empty(0), prior)
    rows, p = np.array([[1.0, 0.0], [1.0, 1.0]]), np.array([0.7, 0.3])
    found = predict(fit, rows, p)
    assert found.mass.sum() == pytest.approx(1)
    assert found.below(8.75) == pytest.approx(0.3, abs=1e-3)
    assert found.mean == pytest.approx(9 - 0.3 * 0.5, abs=1e-3)
    assert found.sd == pytest.approx(math.sqrt(0.21 * 0.25 + 0.0004), rel=0.01)
    assert predict(fit, rows, p, noise=False).sd < found.sd
