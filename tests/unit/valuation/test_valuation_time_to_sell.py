"""Weeks until a sale: what listings teach, how ranges hold, what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from heelstamp.valuation.time_to_sell import (
    PRIOR_MEAN,
    PRIOR_SD,
    Listing,
    foresee,
    learn,
    log_likelihood,
)

VALUE = math.log(8000.0)


def listing(weeks: int, *, ratio: float = 1.0, sold: bool = True) -> Listing:
    return Listing((VALUE + math.log(ratio),) * weeks, VALUE, 0.12, 10.0, sold)


def test_without_a_sale_the_priors_speak_alone() -> None:
    learned = learn([], np.random.default_rng(1))
    assert (learned.sold, learned.unsold) == (0, 0)
    assert np.allclose(learned.draws.mean(axis=0), PRIOR_MEAN, atol=0.06)
    assert np.allclose(learned.draws.std(axis=0), PRIOR_SD, atol=0.05)
    found = foresee(learned, [VALUE], value=VALUE, doubt=0.1, week=0, rng=np.random.default_rng(2))
    # half within 8 weeks at the value, as the prior is written; less any one doubt moves little
    assert found.chance(8) == pytest.approx(0.5, abs=0.05)
    assert found.chance(4) > 0.5 * found.chance(8)  # the first weeks are not the slowest


def test_a_dearer_piece_and_a_slower_shop_wait_longer() -> None:
    rng = np.random.default_rng(3)
    learned = learn([], rng)

    def by(ratio: float) -> float:
        prices = [VALUE + math.log(ratio)]
        one = foresee(learned, prices, value=VALUE, doubt=0.1, week=0, rng=np.random.default_rng(4))
        return one.chance(13)

    assert by(1.25) < by(1.0) < by(0.85)
    slow = learn([listing(30, sold=True) for _ in range(15)], rng)
    quick = learn([listing(2, sold=True) for _ in range(15)], rng)
    assert slow.draws[:, 0].mean() < quick.draws[:, 0].mean() - 0.8


def test_unsold_pieces_count_as_what_they_are() -> None:
    rng = np.random.default_rng(5)
    sold = [listing(4) for _ in range(10)]
    alone = learn(sold, rng)
    among = learn([*sold, *(listing(20, sold=False) for _ in range(10))], rng)
    assert among.draws[:, 0].mean() < alone.draws[:, 0].mean() - 0.3
    assert (among.sold, among.unsold) == (10, 10)


def test_weeks_without_a_sale_lower_what_is_foreseen() -> None:
    learned = learn([], np.random.default_rng(6))
    told = {"value": VALUE, "doubt": 0.15, "week": 0.0}
    fresh = foresee(learned, [VALUE], rng=np.random.default_rng(7), **told)
    waited = foresee(learned, [VALUE], past=26, rng=np.random.default_rng(7), **told)
    assert waited.chance(4) < 0.6 * fresh.chance(4)


def test_the_likelihood_is_that_of_a_slow_sum_over_a_fine_grid() -> None:
    one = Listing((VALUE + 0.1, VALUE + 0.1, VALUE, VALUE - 0.05), VALUE, 0.1, 3.0, True)
    theta = PRIOR_MEAN + 0.3 * PRIOR_SD
    a, log_sigma, f, g, _, b1, b2, log_nu = theta
    s = math.hypot(0.1, math.exp(log_nu))
    total = mass = 0.0
    for z in np.linspace(-7, 7, 4001):
        left, weight = 1.0, math.exp(-z * z / 2)
        for k, price in enumerate(one.log_prices):
            share = math.erfc((price - VALUE - s * z) / math.exp(log_sigma) / math.sqrt(2))
            turn = 2 * math.pi * (3.0 + k) / 52
            late = f * (k < 2) + g * math.log((k + 1) / 4)
            rate = share * math.exp(a + late + b1 * math.sin(turn) + b2 * math.cos(turn))
            left *= math.exp(-rate) if k < 3 else 1 - math.exp(-rate)
        total, mass = total + weight * left, mass + weight
    # nine nodes against four thousand: 0.011 in log likelihood of thirty pieces at most
    assert log_likelihood(theta[None], [one], VALUE)[0] == pytest.approx(
        math.log(total / mass), abs=2e-3
    )


@pytest.mark.parametrize(
    "wrong",
    [
        Listing((), VALUE, 0.1, 0.0, True),
        Listing((math.nan,), VALUE, 0.1, 0.0, True),
        Listing((VALUE,), math.inf, 0.1, 0.0, False),
    ],
)
def test_a_listing_that_says_nothing_is_refused(wrong: Listing) -> None:
    with pytest.raises(ValueError, match="a listing has weeks"):
        learn([wrong], np.random.default_rng(8))


def test_ranges_of_a_few_simulated_shops_hold() -> None:
    # the whole of it is benchmarks/days_to_sell.py; here three shops, simulated by other code
    rng, held, count = np.random.default_rng(20261112), 0, 0
    for _ in range(3):
        theta = PRIOR_MEAN + PRIOR_SD * rng.standard_normal(8)
        rate = math.exp(theta[0])
        sigma, s = math.exp(theta[1]), math.hypot(0.12, math.exp(theta[7]))

        def week_sold(
            theta: np.ndarray = theta, rate: float = rate, sigma: float = sigma, s: float = s
        ) -> int:
            z = rng.standard_normal()
            share = math.erfc(-s * z / sigma / math.sqrt(2))
            for k in range(520):
                turn = 2 * math.pi * (10 + k) / 52
                late = theta[2] * (k < 2) + theta[3] * math.log((k + 1) / 4)
                late += theta[5] * math.sin(turn) + theta[6] * math.cos(turn)
                if rng.random() < 1 - math.exp(-rate * share * math.exp(late)):
                    return k
            return 520

        weeks = [week_sold() for _ in range(60)]
        own = [listing(min(k + 1, 40), sold=k < 40) for k in weeks]
        learned = learn(own, rng)
        assert not learned.approximate
        found = foresee(learned, [VALUE], value=VALUE, doubt=0.12, week=10, rng=rng)
        low, high = found.weeks(0.1), found.weeks(0.9)
        for _ in range(40):
            at = week_sold() + rng.random()
            held += (low is None or low <= at) and (high is None or at <= high)
            count += 1
    assert 0.70 <= held / count <= 0.90  # three standard errors of 120 draws about .80
