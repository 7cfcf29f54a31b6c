"""From comparables to the columns of the price regression, and its posterior.

Columns: the level; the drift of the market and the steps of its walk, half a year or more each,
up to the month of the estimate; the effects of ``market.EFFECTS``; the steps of the walk over
years of making. Prices are real: divided by the consumer index, in money of the month of the
estimate. A quality nobody recorded counts as the average of the rows that have it. Sales after the
month of the estimate, and those in a currency without a rate, are left out and told.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from heelstamp.casework.appraisal.comparables import Comparable
from heelstamp.casework.appraisal.market import EFFECTS, Market
from heelstamp.errors import InputError
from heelstamp.units import Month, format_month, parse_month
from heelstamp.units.months import MONTHS_A_YEAR
from heelstamp.valuation.least_squares import Array
from heelstamp.valuation.money import decimals_of
from heelstamp.valuation.price_index import PriceIndex
from heelstamp.valuation.regression import Fit, Prior, regress

STEP_MONTHS = 6
MOST_STEPS = 40
LEVEL_SD = 3.0
"""Of the level of log prices before any sale: a factor of twenty to either side."""

FEWEST = 3
"""Fewer comparables than this price nothing."""

WALK_MARKET, WALK_MADE = 0, 1
Problem = tuple[Array, Array, Prior]
"""What the regression is given: design, log real prices, priors."""

Facts = Mapping[str, float | None]
"""Effect → how much of it a row has; None when nobody recorded it."""


@dataclass(frozen=True)
class LeftOutRow:
    """A comparable that is not used, and why."""

    id: str
    reason: str


@dataclass(frozen=True)
class Layout:
    """How an instrument becomes a row of columns.

    Attributes
    ----------
    as_of
        Month of the estimate; levels are of then.
    knots
        Months between which the market walks, the last is *as_of*.
    years
        First and last year of making; between them prices walk.
    average
        Of each effect over the rows that have it.
    average_made
        Steps of the walk over years of making, on average.
    """

    as_of: Month
    knots: Array
    years: tuple[int, int]
    average: Mapping[str, float]
    average_made: Array

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns."""
        steps = [f"market to {format_month(round(one))}" for one in self.knots[1:]]
        made = [f"made from {year}" for year in range(self.years[0] + 1, self.years[1] + 1)]
        return ("level", *EFFECTS, *steps, *made)

    @property
    def market_steps(self) -> slice:
        """Where the steps of the market are."""
        return slice(1 + len(EFFECTS), 1 + len(EFFECTS) + len(self.knots) - 1)

    @property
    def made_steps(self) -> slice:
        """Where the steps over years of making are."""
        return slice(1 + len(EFFECTS) + len(self.knots) - 1, None)

    def row(self, facts: Facts, made: tuple[int, int] | None, month: Month | None = None) -> Array:
        """Return the columns of an instrument; at the month of the estimate without another."""
        at = self.as_of if month is None else month
        years_ahead = (at - self.as_of) / MONTHS_A_YEAR
        made_row = self.average_made if made is None else made_row_of(made, self.years)
        return np.concatenate(
            [
                [1.0],
                _effects(facts, self.average, years_ahead),
                walked(np.array([float(at)]), self.knots)[0],
                made_row,
            ]
        )


@dataclass(frozen=True)
class Priced:
    """Comparables fitted for one currency and month.

    Attributes
    ----------
    used
        Rows in the regression, in their order.
    left_out
        The others.
    problem
        What the regression was given.
    """

    market: Market
    index: PriceIndex
    currency: str
    layout: Layout
    used: tuple[Comparable, ...]
    left_out: tuple[LeftOutRow, ...]
    problem: Problem
    fit: Fit


def fit_market(
    rows: Sequence[Comparable],
    market: Market,
    index: PriceIndex,
    *,
    currency: str,
    as_of: Month,
    years: tuple[int, int] | None = None,
) -> Priced:
    """Fit comparables.

    Parameters
    ----------
    currency
        Of the estimate.
    years
        Years of making that must be covered beside those of the rows.

    Raises
    ------
    InputError
        Fewer than three rows can be used.
    """
    used, left_out, logs = _usable(rows, market, currency, as_of)
    if len(used) < FEWEST:
        raise InputError(
            "too few comparables to price from",
            received=f"{len(used)} of {len(rows)} can be used",
            remedy=f"At least {FEWEST} are needed: heelstamp sales import TABLE --as CHRONOLOGY.",
        )
    months = np.array([parse_month(one.month) for one in used], dtype=float)
    ahead = index.log_levels(np.array([float(as_of)])) - index.log_levels(months)
    span = _years([*(one.made for one in used), years])
    known = [one.made for one in used if one.made is not None]
    layout = Layout(
        as_of,
        _knots(float(months.min()), float(as_of)),
        span,
        _averages(used),
        np.mean([made_row_of(one, span) for one in known], axis=0)
        if known
        else np.zeros(span[1] - span[0]),
    )
    problem = _problem(used, np.array(logs) + ahead, market, layout)
    return Priced(
        market, index, currency, layout, tuple(used), tuple(left_out), problem, regress(*problem)
    )


def _problem(used: Sequence[Comparable], real: Array, market: Market, layout: Layout) -> Problem:
    design = np.array([layout.row(facts_of(one), one.made, parse_month(one.month)) for one in used])
    return design, real, _prior(market, layout, float(real.mean()))


def facts_of(row: Comparable) -> Facts:
    """Return how much of each effect a comparable has."""
    refinished = {"refinished", "old_refinish", "recent_refinish"}
    facts: dict[str, float | None] = {
        "grade": row.steps,
        "touched_up": None if row.finish is None else float(row.finish == "touched_up"),
        "refinished": None if row.finish is None else float(row.finish in refinished),
        "recent_refinish": (
            None if row.finish in (None, "refinished") else float(row.finish == "recent_refinish")
        ),
        "pickup": None if row.pickups is None else float(row.pickups),
        "other_part": None if row.others is None else float(row.others),
        "other_model_part": None if row.other_model is None else float(row.other_model),
        "routed": None if row.routed is None else float(row.routed),
        "repaired_break": None if row.repaired_break is None else float(row.repaired_break),
        "refretted": None if row.refretted is None else float(row.refretted),
        "neck_later": None if row.neck is None else float(row.neck == "later"),
        "neck_not_seen": None if row.neck_seen is None else float(not row.neck_seen),
        "no_case": None if row.case is None else float(not row.case),
        "rare_colour": None if row.colour is None else float(row.colour == "rare"),
        "weight": None if row.weight_g is None else row.weight_g / 100,
        "asking": float(row.kind != "sold"),
        "unsold": float(row.kind == "unsold"),
    }
    for venue in ("auction", "shop", "private", "online", "fair"):
        facts[f"venue_{venue}"] = None if row.venue is None else float(row.venue == venue)
    return facts


def _usable(
    rows: Sequence[Comparable], market: Market, currency: str, as_of: Month
) -> tuple[list[Comparable], list[LeftOutRow], list[float]]:
    used: list[Comparable] = []
    left: list[LeftOutRow] = []
    logs: list[float] = []
    sold = {one.piece: one.id for one in rows if one.piece and one.kind == "sold"}
    for one in rows:
        rate = 1.0
        if parse_month(one.month) > as_of:
            left.append(LeftOutRow(one.id, "after the month of the estimate"))
            continue
        if one.kind != "sold" and one.piece in sold:
            left.append(LeftOutRow(one.id, f"the same piece was sold: {sold[one.piece]}"))
            continue
        if one.currency != currency:
            known = market.rate(one.currency, parse_month(one.month))
            if known is None:
                told = f"no rate from {one.currency} to {currency}"
                when = f" in {one.month}" if one.currency in market.rates else ""
                left.append(LeftOutRow(one.id, told + when))
                continue
            rate = float(known)
        used.append(one)
        logs.append(math.log(rate * one.minor / 10 ** decimals_of(one.currency)))
    return used, left, logs


def _effects(facts: Facts, average: Mapping[str, float], years: float) -> Array:
    """Return the effects of a row; weight counts from the average, and only where that is known."""
    found = []
    for key in EFFECTS:
        if key == "drift":
            found.append(years)
            continue
        value = facts.get(key)
        value = average.get(key, 0.0) if value is None else value
        if key == "weight":
            value = value - average[key] if key in average else 0.0
        found.append(value)
    return np.array(found)


def _averages(rows: Sequence[Comparable]) -> dict[str, float]:
    """Return the average of each effect over the rows that have it; no key where none has."""
    told = [facts_of(one) for one in rows]
    found = {}
    for key in EFFECTS:
        known = [value for one in told if (value := one.get(key)) is not None]
        if known:
            found[key] = float(np.mean(known))
    return found


def _knots(first: float, last: float) -> Array:
    steps = min(MOST_STEPS, max(1, math.ceil((last - first) / STEP_MONTHS)))
    return np.linspace(first, max(last, first + 1), steps + 1)


def walked(months: Array, knots: Array) -> Array:
    """Return the share of each step of the market's walk taken by each month, less those ahead."""
    ahead = np.clip((months[:, None] - knots[:-1]) / np.diff(knots), 0, 1)
    return np.asarray(ahead - 1)  # nought at the month of the estimate: the level is that of then


def _years(made: Sequence[tuple[int, int] | None]) -> tuple[int, int]:
    known = [one for one in made if one is not None]
    if not known:
        return 0, 0
    return min(one[0] for one in known), max(one[1] for one in known)


def made_row_of(made: tuple[int, int], years: tuple[int, int]) -> Array:
    """Return the steps that years of making have taken from the middle of the range, on average."""
    first, last = years
    middle = (first + last) // 2
    steps = np.arange(first + 1, last + 1)
    low, high = max(first, min(made[0], last)), min(last, max(made[1], first))
    year = np.arange(low, high + 1)[:, None]
    taken = np.where(steps > middle, 1.0 * (year >= steps), -1.0 * (year < steps))
    return np.asarray(taken.mean(axis=0))


def _prior(market: Market, layout: Layout, level: float) -> Prior:
    priors = market.priors()
    rows = [priors[key] for key in EFFECTS]
    first, last = layout.years
    steps, made = len(layout.knots) - 1, last - first
    lengths = np.sqrt(np.diff(layout.knots) / MONTHS_A_YEAR)
    breaks = [
        market.break_step if year in market.made_breaks else 1.0
        for year in range(first + 1, last + 1)
    ]
    return Prior(
        np.concatenate([[level], [one.mean for one in rows], np.zeros(steps + made)]),
        np.concatenate([[LEVEL_SD], [one.sd for one in rows], lengths, breaks]),
        [-1] * (1 + len(rows)) + [WALK_MARKET] * steps + [WALK_MADE] * made,
        market.noise.scale,
        [market.market_walk.scale, market.made_walk.scale],
        market.tails,
    )
