"""Stated 90 % price ranges hold about as often as they say, on markets drawn from the priors.

Drawn twice: by code that shares its columns with the program, and by code that shares nothing with
it (``fakes.second_market``) and goes through a table, as a shop's own sales do. The big run, a
thousand markets of each size, is ``benchmarks/price_coverage.py``; here fewer, within three
binomial standard errors of .90.
"""

import math

import numpy as np
import pytest

from fakes import second_market
from fakes.markets import held_at, prior_market
from heelstamp.casework.appraisal.comparables import Comparable
from heelstamp.casework.appraisal.design import facts_of, fit_market
from heelstamp.casework.appraisal.sales_table import comparables_from
from heelstamp.casework.spreadsheet.sheet import Cell, Sheet
from heelstamp.reference.market import load_market
from heelstamp.units import parse_month
from heelstamp.valuation.predictive import predict
from heelstamp.valuation.price_index import FLAT


@pytest.mark.parametrize(("sales", "markets", "seed"), [(8, 100, 41), (24, 80, 42), (200, 60, 44)])
def test_coverage(sales: int, markets: int, seed: int) -> None:
    generator = np.random.default_rng(seed)
    market = load_market()
    held = np.mean([held_at(prior_market(sales, generator), market)[0] for _ in range(markets)])
    error = math.sqrt(0.09 / markets)
    print(f"seed {seed}: {held:.3f} of {markets} with {sales} sales")  # noqa: T201 - for -s
    assert abs(held - 0.9) <= 3 * error


def read(rows: list[dict[str, str]]) -> list[Comparable]:
    names = second_market.COLUMNS
    cells = [(n, tuple(Cell(row[name]) for name in names)) for n, row in enumerate(rows, start=2)]
    return comparables_from(Sheet("table", names, tuple(cells)))


@pytest.mark.parametrize(("sales", "markets", "seed"), [(3, 80, 51), (12, 60, 52), (60, 40, 53)])
def test_coverage_on_markets_of_other_code(sales: int, markets: int, seed: int) -> None:
    generator = np.random.default_rng(seed)
    held = []
    for _ in range(markets):
        drawn = second_market.draw(sales, generator)
        (last,) = read([drawn.held])
        years = (second_market.FIRST_YEAR, second_market.LAST_YEAR)
        as_of = parse_month(last.month)
        priced = fit_market(
            read(drawn.rows), load_market(), FLAT, currency="USD", as_of=as_of, years=years
        )
        row = priced.layout.row(facts_of(last), last.made)
        low, high = predict(priced.fit, row).interval(0.9)
        held.append(low <= drawn.log_price <= high)
    share, error = float(np.mean(held)), math.sqrt(0.09 / markets)
    print(f"seed {seed}: {share:.3f} of {markets} with {sales} sales")  # noqa: T201 - for -s
    assert abs(share - 0.9) <= 3 * error
