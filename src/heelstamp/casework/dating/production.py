"""The years of production, to which a range is cut, and what lies outside them.

A chronology leaves a share of its prior to months in which nothing was made, because it may be
wrong about its own years. That share is told as a probability of its own; a range that ran into
years without production would say of them what nobody believes.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from heelstamp.chronology import Chronology
from heelstamp.dating.model import Array
from heelstamp.units import MonthGrid, Period, parse_month

OUTSIDE_MOST = 0.05
"""P(completed outside production) above which no date is given (our choice)."""

NOTHING_LEFT = 1e-9
"""Probability inside production below which a range cannot be cut to it."""


class Cut(NamedTuple):
    """P(month | completed within production), and P(outside it)."""

    months: Array
    outside: float


def production_of(chronology: Chronology) -> Period:
    """The years of production."""
    span = chronology.production
    return Period(parse_month(span.first), parse_month(span.last))


def cut(months: Array, grid: MonthGrid, production: Period) -> Cut:
    """Cut P(month) to production.

    Where next to nothing lies inside, the months are left as they are: what is outside says it.
    """
    place = np.arange(grid.first, grid.last + 1)
    inside = np.where((place >= production.first) & (place <= production.last), months, 0.0)
    held, whole = float(inside.sum()), float(months.sum())
    if held <= NOTHING_LEFT * whole:
        return Cut(months, 1.0)
    return Cut(inside / held, max(0.0, 1 - held / whole))
