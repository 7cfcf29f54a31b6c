"""Invented markets with a known rule, for coverage: comparables drawn, one of them held back.

Two kinds. ``prior_market`` draws every effect and scale from the priors of the bundled market
document, so that stated ranges must hold as often as they say. ``planted_market`` has one fixed
rule (that of the demonstration's sales: docs/methods/valuation.md) and normal noise of 0.06.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from heelstamp.casework.appraisal.comparables import GRADES, Comparable
from heelstamp.casework.appraisal.design import facts_of, fit_market
from heelstamp.casework.appraisal.market import Market
from heelstamp.reference.market import load_market
from heelstamp.units import format_month, parse_month
from heelstamp.units.months import MONTHS_A_YEAR
from heelstamp.valuation.predictive import predict
from heelstamp.valuation.price_index import FLAT

FIRST, LAST = parse_month("2021-02"), parse_month("2026-11")
YEARS = (1955, 1967)
PLANTED: Mapping[str, float] = {
    "touched_up": -0.05,
    "refinished": -0.52,
    "pickup": -0.13,
    "neck_later": -0.45,
    "no_case": -0.04,
    "rare_colour": 0.22,
    "grade": -0.09,
    "asking": 0.11,
}
PLANTED_NOISE = 0.06


def planted_log(row: Comparable) -> float:
    """The planted rule's log price of a row, without noise."""
    month = parse_month(row.month)
    made = row.made[0] if row.made else YEARS[0]
    log = 9.28 + 0.035 * (month - parse_month("2021-06")) / MONTHS_A_YEAR
    log += -0.15 if made < 1957 else 0.0
    log += -0.08 if 1962 <= made <= 1964 else 0.0
    log += -0.22 if 1965 <= made <= 1968 else 0.0
    facts = facts_of(row)
    return log + sum(effect * (facts[key] or 0.0) for key, effect in PLANTED.items())


@dataclass(frozen=True)
class Drawn:
    """A market, one instrument of it at the month of the estimate, and what it sold for."""

    rows: list[Comparable]
    held: Comparable
    log_price: float


def draw_rows(count: int, generator: np.random.Generator) -> list[Comparable]:
    """Draw instruments as they come to a shop; prices are one unit until set."""
    pick = generator.choice
    return [
        Comparable(
            id=f"m{place}",
            month=format_month(int(generator.integers(FIRST, LAST + 1))),
            kind="asking" if generator.random() < 0.2 else "sold",
            minor=100,
            currency="USD",
            made=(year := int(generator.integers(YEARS[0], YEARS[1] + 1)), year),
            grade=GRADES[int(generator.integers(4))],
            finish=str(pick(["original", "touched_up", "refinished"], p=[0.55, 0.2, 0.25])),  # type: ignore[arg-type]
            pickups=int(pick(3, p=[0.6, 0.25, 0.15])),
            neck="later" if generator.random() < 0.12 else "first",
            case=bool(generator.random() < 0.6),
            colour="rare" if generator.random() < 0.1 else "standard",
        )
        for place in range(count)
    ]


def planted_market(count: int, generator: np.random.Generator) -> Drawn:
    """Draw *count* comparables and one more from the planted rule."""
    rows = draw_rows(count + 1, generator)
    held = _sold_last(rows[-1])
    logs = np.array([planted_log(one) for one in [*rows[:-1], held]])
    logs += PLANTED_NOISE * generator.standard_normal(len(logs))
    return Drawn(_priced(rows[:-1], logs[:-1]), held, float(logs[-1]))


def prior_market(count: int, generator: np.random.Generator) -> Drawn:
    """Draw a whole market from the bundled priors, then comparables and one more from it."""
    market = load_market()
    effects = {one.key: one.mean + one.sd * generator.standard_normal() for one in market.effect}
    noise, wander, age = (
        one.typical * math.sqrt(one.dof / generator.chisquare(one.dof))
        for one in (market.noise, market.market_walk, market.made_walk)
    )
    months = LAST - FIRST + 1
    level = np.cumsum(wander / math.sqrt(MONTHS_A_YEAR) * generator.standard_normal(months))
    level += effects["drift"] * np.arange(months) / MONTHS_A_YEAR
    by_year = np.cumsum(age * generator.standard_normal(YEARS[1] - YEARS[0] + 1))
    rows = draw_rows(count + 1, generator)
    held = _sold_last(rows[-1])
    base = 9.0 + 0.4 * generator.standard_normal()

    def log_of(row: Comparable) -> float:
        facts = facts_of(row)
        own = sum(effects[key] * (facts[key] or 0.0) for key in PLANTED)
        assert row.made is not None
        return float(
            base + own + level[parse_month(row.month) - FIRST] + by_year[row.made[0] - YEARS[0]]
        )

    logs = np.array([log_of(one) for one in [*rows[:-1], held]])
    logs += noise * generator.standard_t(market.tails, len(logs))
    return Drawn(_priced(rows[:-1], logs[:-1]), held, float(logs[-1]))


def held_at(drawn: Drawn, market: Market, level: float = 0.9) -> tuple[bool, float]:
    """Whether the price held back lies in the stated range, and how wide that is in logs."""
    priced = fit_market(drawn.rows, market, FLAT, currency="USD", as_of=LAST, years=YEARS)
    row = priced.layout.row(facts_of(drawn.held), drawn.held.made)
    low, high = predict(priced.fit, row).interval(level)
    return low <= drawn.log_price <= high, high - low


def _sold_last(row: Comparable) -> Comparable:
    import msgspec

    return msgspec.structs.replace(row, month=format_month(LAST), kind="sold")


def _priced(rows: list[Comparable], logs: np.ndarray) -> list[Comparable]:
    import msgspec

    return [
        msgspec.structs.replace(one, minor=max(1, round(100 * math.exp(log))))
        for one, log in zip(rows, logs, strict=True)
    ]
