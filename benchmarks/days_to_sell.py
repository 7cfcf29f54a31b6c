"""Whether ranges of weeks until a sale hold, on simulated shops: truth drawn from the priors.

    python benchmarks/days_to_sell.py [SHOPS [SEED [OWN]]]

Each shop sells OWN pieces along cuts of 4 % every four weeks from 1.08 of the value, some taken
back early; four new pieces are then foreseen. The simulation is code of its own: chances week by
week, drawn in a loop. A sale falls evenly within its week.
"""

from __future__ import annotations

import math
import sys
import time

import numpy as np

from heelstamp.valuation.time_to_sell import PRIOR_MEAN, PRIOR_SD, Listing, foresee, learn

NEW, LONGEST = 4, 520
START, CUT, EVERY = 1.08, 0.96, 4
DOUBT = 0.12


def path(value: float) -> list[float]:
    """Log asking price of every week."""
    return [value + math.log(START) + math.log(CUT) * (k // EVERY) for k in range(LONGEST)]


def chance(theta: np.ndarray, k: int, price: float, true: float, season: float) -> float:
    """Chance of a sale in week k, without the term of size, of a piece worth *true* to buyers."""
    a, log_sigma, f, g, _, b1, b2, _ = theta
    share = math.erfc((price - true) / math.exp(log_sigma) / math.sqrt(2.0))
    turn = 2 * math.pi * (season + k) / 52
    late = f * (k < 2) + g * math.log((k + 1) / 4) + b1 * math.sin(turn) + b2 * math.cos(turn)
    return 1 - math.exp(-share * math.exp(a + late))


def piece(
    rng: np.random.Generator, theta: np.ndarray, usual: float, most: int
) -> tuple[Listing, float]:
    """Offer one piece until it is sold or *most* weeks are over: the listing, and weeks until."""
    value = math.log(8000) + 0.4 * rng.standard_normal()
    true = value + DOUBT * rng.standard_normal() + math.exp(theta[7]) * rng.standard_normal()
    week, prices = rng.uniform(0, 52), path(value)
    moved = theta.copy()
    moved[0] += theta[4] * (value - usual)
    for k in range(most):
        if rng.random() < chance(moved, k, prices[k], true, week):
            return Listing(tuple(prices[: k + 1]), value, DOUBT, week, True), k + rng.random()
    return Listing(tuple(prices[:most]), value, DOUBT, week, False), math.inf


def shop(rng: np.random.Generator, own: int) -> tuple[int, int, float]:
    """How many of four 80 % ranges hold, of how many, and the effective number of draws."""
    theta, usual = PRIOR_MEAN + PRIOR_SD * rng.standard_normal(len(PRIOR_MEAN)), math.log(8000)
    learned = learn(
        [piece(rng, theta, usual, int(rng.integers(8, 60)))[0] for _ in range(own)], rng
    )
    held = 0
    for _ in range(NEW):
        one, weeks = piece(rng, theta, usual, LONGEST)
        found = foresee(
            learned, path(one.value), value=one.value, doubt=DOUBT, week=one.week, rng=rng
        )
        low, high = found.weeks(0.1), found.weeks(0.9)
        held += (low is None or low <= weeks) and (high is None or weeks <= high)
    return held, NEW, learned.effective


def main(shops: int = 100, seed: int = 20261112, own: int = 60) -> float:
    """Print how often ranges held, and return it."""
    rng = np.random.default_rng(seed)
    began = time.process_time()
    found = [shop(rng, own) for _ in range(shops)]
    held, count = sum(one[0] for one in found), sum(one[1] for one in found)
    share = held / count
    error = math.sqrt(share * (1 - share) / count)
    print(
        f"{shops} shops of {own}: 80 % ranges of weeks held {share:.3f} +- {error:.3f}; "
        f"least effective draws {min(one[2] for one in found):.0f}; "
        f"{(time.process_time() - began) / shops:.2f} s a shop"
    )
    return share


if __name__ == "__main__":
    main(*(int(one) for one in sys.argv[1:]))
