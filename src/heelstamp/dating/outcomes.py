"""All that could be seen at one place: the outcomes of an inspection, or of one observation.

The probabilities of all outcomes add to one, so that hypothetical rows need no other bookkeeping.
Marks and serial numbers are enumerated by year (coarser than months, so a gain is a lower bound),
or by periods that cut the grid without gap: ``cells_around`` cuts finely where it matters.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.dating.evidence import (
    EvidenceError,
    FeatureSeen,
    Mark,
    Observation,
    Reading,
    ScrewsSeen,
    SerialNumber,
    SignSeen,
)
from heelstamp.dating.model import DatingModel
from heelstamp.units import MonthGrid, Period
from heelstamp.units.months import MONTHS_A_YEAR

STEPS = (1, 2, 3, 4, 6, 12)
"""Months that a fine cell may hold, tried in this order."""

YEARS_AROUND = 3
"""Years told apart one by one on either side of the fine cells."""


def feature_outcomes(model: DatingModel, name: str) -> tuple[Observation, ...]:
    """One observation a variant of the feature."""
    for one in model.features:
        if one.name == name:
            return tuple(FeatureSeen(name, variant) for variant in one.variants)
    raise EvidenceError("no such feature", received=name)


def sign_outcomes(model: DatingModel, name: str) -> tuple[Observation, ...]:
    """One observation an outcome of the sign."""
    for one in model.signs:
        if one.name == name:
            return tuple(SignSeen(name, outcome) for outcome in one.outcomes)
    raise EvidenceError("no such sign", received=name)


def screw_outcomes(opening: str, count: int) -> tuple[Observation, ...]:
    """One observation a number of screws, of *count*, that look turned."""
    return tuple(ScrewsSeen(opening, count, turned) for turned in range(count + 1))


def mark_outcomes(
    model: DatingModel, part: str, error: float, cells: Sequence[Period] | None = None
) -> tuple[Observation, ...]:
    """One mark a year of the grid of make months, or one a period of *cells*."""
    model.part(part)
    periods = years_of(model.marks) if cells is None else cells
    return tuple(Mark(part, (Reading(period, 1.0),), error) for period in periods)


def serial_outcomes(
    model: DatingModel, cells: Sequence[Period] | None = None
) -> tuple[Observation, ...]:
    """One serial number a nominal year, or one a period of *cells*; each month weighs one."""
    periods = years_of(model.completion) if cells is None else cells
    return tuple(
        SerialNumber(tuple((month, 1.0) for month in range(one.first, one.last + 1)))
        for one in periods
    )


def years_of(grid: MonthGrid) -> tuple[Period, ...]:
    """Cut a grid into calendar years; the first and the last may be shorter."""
    years = range(grid.first // MONTHS_A_YEAR, grid.last // MONTHS_A_YEAR + 1)
    whole = [Period.of_year(year) for year in years]
    return tuple(Period(max(one.first, grid.first), min(one.last, grid.last)) for one in whole)


def cells_around(grid: MonthGrid, likely: Period, most: int) -> tuple[Period, ...]:
    """Cut a grid finely within *likely*, by years for some years around, else not at all.

    Parameters
    ----------
    likely
        Where outcomes are expected; the part of it on the grid is cut into equal steps, single
        months if that gives no more than *most* cells.

    Returns
    -------
    Periods in order, without gap or overlap, that together are the grid.
    """
    first = min(max(likely.first, grid.first), grid.last)
    last = max(min(likely.last, grid.last), first)
    step = next(
        (one for one in STEPS if last - first + 1 <= one * most), -(-(last - first + 1) // most)
    )
    starts = set(range(first, last + 1, step))
    starts |= {last + 1 + MONTHS_A_YEAR * year for year in range(YEARS_AROUND + 1)}
    starts |= {first - MONTHS_A_YEAR * year for year in range(1, YEARS_AROUND + 1)}
    inside = sorted({grid.first} | {one for one in starts if grid.first < one <= grid.last})
    ends = [*(one - 1 for one in inside[1:]), grid.last]
    return tuple(Period(begin, end) for begin, end in zip(inside, ends, strict=True))
