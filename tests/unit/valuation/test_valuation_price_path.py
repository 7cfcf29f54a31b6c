"""A path of prices: found by trying all, worth what a simulation of other code says."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from heelstamp.valuation.price_path import (
    PAID_MEAN,
    PAID_SD,
    Choice,
    Piece,
    Worth,
    best_path,
    paid_ratios,
    ratios_to_try,
)
from heelstamp.valuation.time_to_sell import PRIOR_MEAN, Learned, Listing, learn

VALUE = math.log(8000.0)
WORTH = Worth(lambda price: 0.8 * price, 4_500.0, 0.01)
IN_FULL = np.zeros(1)
"""Nobody pays less than is asked."""


def known(rows: int = 400) -> Learned:
    """A shop of which everything is known; only pieces differ."""
    return Learned(np.tile(PRIOR_MEAN, (rows, 1)), VALUE, float(rows), 10, 10)


def chosen(learned: Learned, blocks: int, permitted: list[float], **more: object) -> Choice:
    agreed = more.pop("agreed", [VALUE + math.log(1.1)] * 4 * blocks)
    piece = more.pop("piece", Piece(VALUE, 0.12, 10.0))
    worth = more.pop("worth", WORTH)
    return best_path(
        learned,
        piece,  # type: ignore[arg-type]
        worth,  # type: ignore[arg-type]
        permitted=permitted,
        agreed=agreed,  # type: ignore[arg-type]
        ratios=IN_FULL,
        rng=np.random.default_rng(7),
    )


def simulated(
    prices: tuple[float, ...], z: np.ndarray, luck: np.ndarray, unsold: float, week: float = 10.0
) -> np.ndarray:
    """Net of many pieces, one after the other and week by week."""
    a, log_sigma, f, g, _, b1, b2, log_nu = PRIOR_MEAN
    spread = math.sqrt(0.12**2 + math.exp(2 * log_nu))
    found = []
    for one, patience in zip(z, luck, strict=True):
        net, true, left = unsold, VALUE + spread * one, patience
        for k in range(4 * len(prices)):
            price = prices[k // 4]
            share = math.erfc((math.log(price) - true) / math.exp(log_sigma) / math.sqrt(2))
            turn = 2 * math.pi * (week + k) / 52
            late = f * (k < 2) + g * math.log((k + 1) / 4) + b1 * math.sin(turn)
            left -= share * math.exp(a + late + b2 * math.cos(turn))
            if left <= 0:
                net = 0.8 * price / 1.01 ** ((k + 1) * 12 / 52)
                break
        found.append(net)
    return np.array(found)


def test_the_best_path_and_its_net_are_those_of_pieces_simulated_one_by_one() -> None:
    prices = [8800.0, 8000.0, 7200.0]
    found = chosen(known(), 2, prices)
    rng = np.random.default_rng(11)
    z, luck = rng.standard_normal(6_000), rng.exponential(size=6_000)
    nets = {
        path: simulated(path, z, luck, 4_500.0)
        for path in itertools.combinations_with_replacement(prices, 2)
    }
    means = {path: float(one.mean()) for path, one in nets.items()}
    assert found.tried == len(nets) == 6
    assert found.best == pytest.approx(means[found.prices], abs=60)
    assert means[found.prices] > max(means.values()) - 40
    agreed = nets[8800.0, 8800.0]
    assert found.agreed == pytest.approx(float(agreed.mean()), abs=60)
    best = nets[found.prices]
    assert found.worse == pytest.approx(float((best < agreed - 0.005).mean()), abs=0.06)
    assert found.same == pytest.approx(float((abs(best - agreed) <= 0.005).mean()), abs=0.06)
    assert found.to_expect == pytest.approx(0.5 * (found.best - found.agreed))
    # of a shop of which all is known the average is known, and a single piece still is not
    assert found.gain_known[1] - found.gain_known[0] < 1e-6
    assert found.best_piece[1] - found.best_piece[0] > 500


def test_what_it_is_worth_unsold_decides_how_far_a_path_falls() -> None:
    prices = [10_000.0, 8800.0, 8000.0, 7200.0]
    nothing = chosen(known(), 3, prices, worth=Worth(WORTH.net, 0.0, 0.01))
    much = chosen(known(), 3, prices, worth=Worth(WORTH.net, 7_000.0, 0.01))
    assert nothing.prices[-1] == 7200.0
    assert much.prices[-1] > nothing.prices[-1]
    assert all(a >= b for a, b in itertools.pairwise(nothing.prices))


def test_the_agreed_path_itself_promises_nothing() -> None:
    same = chosen(known(), 2, [8800.0], agreed=[math.log(8800.0)] * 8)
    assert same.promised == pytest.approx(0.0, abs=1e-9)
    assert (same.worse, same.same) == (0.0, pytest.approx(1.0))


def test_weeks_without_a_buyer_lower_what_both_paths_net() -> None:
    fresh = chosen(known(), 2, [8000.0])
    stale = chosen(known(), 2, [8000.0], piece=Piece(VALUE, 0.12, 10.0, (VALUE,) * 30))
    assert stale.best < fresh.best - 100


def test_what_is_paid_of_the_price_asked_is_learned_and_never_above_it() -> None:
    rng = np.random.default_rng(3)
    prior = paid_ratios([], rng)
    assert (prior <= 0).all()
    assert np.median(prior) == pytest.approx(PAID_MEAN, abs=0.005)
    assert np.quantile(prior, 0.16) == pytest.approx(PAID_MEAN - PAID_SD, abs=0.015)
    in_full = [Listing((VALUE,), VALUE, 0.1, 0.0, True, VALUE - 0.001)] * 40
    assert paid_ratios(in_full, rng).mean() > prior.mean() + 0.02


def test_no_ratio_is_tried_that_the_shop_never_asked_and_that_is_not_agreed() -> None:
    assert ratios_to_try([], [0.0])[0] == pytest.approx(0.80)
    assert ratios_to_try([], [0.0])[-1] == pytest.approx(1.25)
    asked = [Listing((VALUE + math.log(1.06), VALUE), VALUE, 0.1, 0.0, False)]
    assert ratios_to_try(asked, [math.log(0.94)]) == pytest.approx([0.95, 1.0, 1.05])


@pytest.mark.parametrize(("weeks", "permitted"), [(0, [1.0]), (5, [1.0]), (28, [1.0]), (8, [])])
def test_a_path_has_whole_blocks_and_prices(weeks: int, permitted: list[float]) -> None:
    with pytest.raises(ValueError, match="whole blocks"):
        best_path(
            learn([], np.random.default_rng(1)),
            Piece(VALUE, 0.1, 0.0),
            WORTH,
            permitted=permitted,
            agreed=[VALUE] * weeks,
            ratios=IN_FULL,
            rng=np.random.default_rng(1),
        )
