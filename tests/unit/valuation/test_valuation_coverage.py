"""Stated 90 % price ranges hold about as often as they say, on markets drawn from the priors.

The big run, a thousand markets of each size, is ``benchmarks/price_coverage.py`` (.884, .919 and
.896 with 8, 24 and 200 sales); here fewer, within three binomial standard errors of .90.
"""

import math

import numpy as np
import pytest

from fakes.markets import held_at, prior_market
from heelstamp.reference.market import load_market


@pytest.mark.parametrize(("sales", "markets", "seed"), [(8, 100, 41), (24, 80, 42), (200, 60, 44)])
def test_coverage(sales: int, markets: int, seed: int) -> None:
    generator = np.random.default_rng(seed)
    market = load_market()
    held = np.mean([held_at(prior_market(sales, generator), market)[0] for _ in range(markets)])
    error = math.sqrt(0.09 / markets)
    print(f"seed {seed}: {held:.3f} of {markets} with {sales} sales")  # noqa: T201 - for -s
    assert abs(held - 0.9) <= 3 * error
