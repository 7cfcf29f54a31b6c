"""How often stated 90 % price ranges hold the price they did not see, on drawn markets.

Two kinds of market (``tests/fakes/markets.py``): drawn from the priors, where a calibrated range
holds .90; and one fixed rule with normal noise, where ranges from few sales hold more, since the
priors allow more than that rule has. Also the CPU time of a fit.

Usage: python benchmarks/price_coverage.py [markets of each kind and size] [seed]
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.markets import LAST, YEARS, held_at, planted_market, prior_market
from heelstamp.casework.appraisal.design import fit_market
from heelstamp.reference.market import load_market
from heelstamp.valuation.price_index import FLAT
from results import Result, seconds

SIZES = (3, 8, 24, 200)
MARKETS, SEED = 1000, 20261125
FIT_SIZES = ((24, 0.020), (5000, 0.5))


def coverage(markets: int = MARKETS, seed: int = SEED) -> Iterator[Result]:
    """Count hits."""
    market = load_market()
    for name, draw in (("from the priors", prior_market), ("of one fixed rule", planted_market)):
        for size in SIZES:
            generator = np.random.default_rng([seed, size])
            begun = time.process_time()
            found = [held_at(draw(size, generator), market) for _ in range(markets)]
            held = float(np.mean([hit for hit, _ in found]))
            wide = float(np.median([width for _, width in found]))
            error = math.sqrt(held * (1 - held) / markets)
            yield Result(
                f"90 % price ranges, {size} sales, markets {name}",
                held,
                "",
                ("at least", 0.87),
                f"± {error:.3f} of {markets}; median range ± {100 * math.expm1(wide / 2):.0f} %; "
                f"{(time.process_time() - begun) / markets * 1e3:.0f} ms each",
            )


def speed(seed: int = SEED) -> Iterator[Result]:
    """Time fits."""
    market = load_market()
    for size, goal in FIT_SIZES:
        rows = planted_market(size, np.random.default_rng(seed)).rows
        taken = seconds(
            lambda rows=rows: fit_market(
                rows, market, FLAT, currency="USD", as_of=LAST, years=YEARS
            )
        )
        yield Result(f"price fit, {size} comparables", taken, "CPU s", ("at most", goal))


def measure(markets: int = 300) -> Iterator[Result]:
    """Figures for the table of all benchmarks."""
    yield from speed()
    yield from coverage(markets)


if __name__ == "__main__":
    numbers = [int(one) for one in sys.argv[1:]]
    for result in (*speed(), *coverage(*numbers)):
        print(result.what, f"{result.figure:.4f}", result.unit, result.verdict, result.beside)
