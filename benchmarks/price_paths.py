"""What a better path of prices promises and what it keeps, on simulated shops.

    python benchmarks/price_paths.py [SHOPS [SEED [OWN [WORLD]]]]

Shops and pieces are those of `days_to_sell.py`, with what is paid of the price asked besides. For
each of two new pieces a shop the best path is held against the agreed one (1.08 of the value,
4 % off every four weeks). What each truly nets on average is a mean over pieces simulated by the
shop's true parameters, week by week, the same luck for both paths. WORLD is `as told`, where truth
is drawn from the priors; `values high`, where every value is read 12 % high; or `season`, where the
chance of a sale swings by 40 % over the year. What the program believes stays the same.
"""

from __future__ import annotations

import math
import sys
import time

import numpy as np

from days_to_sell import DOUBT, LONGEST, path
from heelstamp.valuation.price_path import (
    BLOCK,
    MOST_BLOCKS,
    Piece,
    Worth,
    best_path,
    paid_ratios,
    ratios_to_try,
)
from heelstamp.valuation.time_to_sell import PRIOR_MEAN, PRIOR_SD, Listing, learn

WEEKS, NEW, FUTURES = BLOCK * MOST_BLOCKS, 2, 3_000
FLOOR, MONTHLY = 0.75, 0.01
"""What unsold it is worth, as a share of the value; and what a month of waiting costs."""


def net(price: float) -> float:
    """Net of a price: 22 % up to 5,000 and 14 % above, and 313 in charges."""
    return price - 0.22 * min(price, 5_000) - 0.14 * max(0.0, price - 5_000) - 313


WORLDS = {"as told": (0.0, 0.0), "values high": (0.12, 0.0), "season": (0.0, 0.4)}
"""How much too high values are read, in logs; how far the chance of a sale swings besides."""


def drawn(rng: np.random.Generator, world: str) -> np.ndarray:
    """True parameters of a shop."""
    theta = PRIOR_MEAN + PRIOR_SD * rng.standard_normal(len(PRIOR_MEAN))
    if WORLDS[world][1]:
        theta[5:7] = WORLDS[world][1] * np.array([math.cos(1.0), math.sin(1.0)])
    return theta


def offer(
    rng: np.random.Generator, theta: np.ndarray, usual: float, high: float, most: int
) -> Listing:
    """One piece of the shop's past, offered until it was sold or taken back."""
    value, week = math.log(8000) + 0.4 * rng.standard_normal(), rng.uniform(0, 52)
    true, _, luck, late = futures(rng, theta, usual, value, week, high=high, count=1, weeks=most)
    prices, left = path(value), float(luck[0])
    for k in range(most):
        share = math.erfc((prices[k] - float(true[0])) / math.exp(theta[1]) / math.sqrt(2.0))
        left -= share * math.exp(late[k])
        if left <= 0:
            paid = prices[k] + min(0.0, rng.normal(-0.04, 0.04))
            return Listing(tuple(prices[: k + 1]), value, DOUBT, week, True, paid)
    return Listing(tuple(prices[:most]), value, DOUBT, week, False)


def futures(
    rng: np.random.Generator,
    theta: np.ndarray,
    usual: float,
    value: float,
    week: float,
    *,
    high: float,
    count: int = FUTURES,
    weeks: int = WEEKS,
) -> tuple[np.ndarray, ...]:
    """What many true pieces are like: true value, paid of asked, luck, and the weeks' chances."""
    true = value - high + DOUBT * rng.standard_normal(count)
    true += math.exp(theta[7]) * rng.standard_normal(count)
    k = np.arange(weeks)
    turn = 2 * np.pi * (week + k) / 52
    late = theta[0] + theta[4] * (value - usual) + theta[2] * (k < 2)
    late = late + theta[3] * np.log((k + 1) / 4) + theta[5] * np.sin(turn)
    late = late + theta[6] * np.cos(turn)
    paid = np.minimum(rng.normal(-0.04, 0.04, count), 0.0)
    return true, paid, rng.exponential(size=count), late


def truly(theta: np.ndarray, prices: list[float], unsold: float, seen: tuple) -> np.ndarray:
    """What each of those pieces nets along log prices of weeks."""
    true, paid, luck, late = seen
    left, found = luck.copy(), np.full(len(true), unsold)
    open_ = np.ones(len(true), bool)
    erfc = np.vectorize(math.erfc)
    for k, price in enumerate(prices[:WEEKS]):
        share = erfc((price - true) / math.exp(theta[1]) / math.sqrt(2))
        left = left - share * math.exp(late[k])
        now = open_ & (left <= 0)
        wait = (1 + MONTHLY) ** (-(k + 1) * 12 / 52)
        found[now] = [net(math.exp(price + one)) * wait for one in paid[now]]
        open_ &= ~now
    return found


def shop(rng: np.random.Generator, own: int, world: str) -> list[tuple[float, float, float, float]]:
    """Promised and true gain, as shares of the value, and shares of pieces: said worse, truly."""
    theta, usual, high = drawn(rng, world), math.log(8000), WORLDS[world][0]
    lasts = [int(rng.integers(8, 60)) for _ in range(own)]
    offers = [offer(rng, theta, usual, high, min(one, LONGEST)) for one in lasts]
    learned, ratios = learn(offers, rng), paid_ratios(offers, rng)
    rows = []
    for _ in range(NEW):
        value, week = math.log(8000) + 0.4 * rng.standard_normal(), rng.uniform(0, 52)
        agreed = path(value)[:WEEKS]
        ratios_tried = ratios_to_try(offers, [one - value for one in agreed])
        ok = [one * math.exp(value) for one in ratios_tried if one >= FLOOR]
        unsold = net(FLOOR * math.exp(value))
        found = best_path(
            learned,
            Piece(value, DOUBT, week),
            Worth(net, unsold, MONTHLY),
            permitted=ok,
            agreed=agreed,
            ratios=ratios,
            rng=rng,
        )
        seen = futures(rng, theta, usual, value, week, high=high)
        other = [math.log(p) for p in found.prices for _ in range(BLOCK)]
        mine, theirs = truly(theta, other, unsold, seen), truly(theta, agreed, unsold, seen)
        size = math.exp(value)
        rows.append(
            (
                found.promised / size,
                float((mine - theirs).mean()) / size,
                found.worse,
                float((mine < theirs - 0.005).mean()),
            )
        )
    return rows


def main(shops: int = 60, seed: int = 20261201, own: int = 60, world: str = "as told") -> None:
    """Print what was promised and what was kept."""
    rng = np.random.default_rng(seed)
    began = time.process_time()
    rows = np.array([row for _ in range(shops) for row in shop(rng, own, world)])
    error = rows.std(axis=0) / math.sqrt(len(rows))
    promised, kept, said, truth = rows.mean(axis=0)
    print(
        f"{world}, {shops} shops of {own}, {NEW} pieces each: promised {100 * promised:.2f} +- "
        f"{100 * error[0]:.2f} % of the value, kept {100 * kept:.2f} +- {100 * error[1]:.2f} "
        f"({kept / promised:.2f} of it); single pieces that did worse: said {said:.2f}, truly "
        f"{truth:.2f}; {(time.process_time() - began) / shops:.2f} CPU s a shop"
    )


if __name__ == "__main__":
    main(*(int(one) if one.isdigit() else one for one in sys.argv[1:]))
