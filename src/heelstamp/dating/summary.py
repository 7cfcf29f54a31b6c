"""What to say of a distribution over months: interval, median, modes, entropy.

The interval is central and discrete: its lower end is the first month with cumulative probability
of at least (1 - level) / 2, its upper end the first with at least (1 + level) / 2. Modes are the
runs of the smallest set of months that holds 95 %: a central interval alone hides two answers a
decade apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heelstamp.dating.model import Array
from heelstamp.units import MonthGrid, Period

MODE_SET = 0.95
"""Probability held by the months of which the modes are runs."""

MODE_LEAST = 0.01
"""Runs with less than this are not named."""

MODE_GAP = 2
"""Runs that leave out at most this many months are one."""


@dataclass(frozen=True)
class Mode:
    """A run of probable months and the probability it holds."""

    period: Period
    probability: float


def quantile(months: Array, level: float) -> int:
    """The first position with cumulative probability of at least *level*."""
    # the sum of many doubles may miss one by some 1e-16
    reached = np.nonzero(np.cumsum(months) >= level - 1e-12)[0]
    return int(reached[0]) if len(reached) else len(months) - 1


def central_interval(months: Array, grid: MonthGrid, level: float) -> Period:
    """The central interval that holds *level* (0 to 1)."""
    tail = (1 - level) / 2
    low, high = quantile(months, tail), quantile(months, 1 - tail)
    return Period(grid.first + low, grid.first + high)


def median(months: Array, grid: MonthGrid) -> int:
    """The median month."""
    return grid.first + quantile(months, 0.5)


def entropy_bits(probabilities: Array) -> Array:
    """The entropy in bits along the last axis."""
    logs = np.log2(np.where(probabilities > 0, probabilities, 1.0))
    return np.asarray(-(probabilities * logs).sum(axis=-1), dtype=np.float64)


def modes(months: Array, grid: MonthGrid) -> tuple[Mode, ...]:
    """The runs of the smallest set of months that holds 95 %, most probable first."""
    order = np.argsort(-months, kind="stable")
    held = np.cumsum(months[order])
    chosen = np.sort(order[: int(np.searchsorted(held, MODE_SET - 1e-12)) + 1])
    breaks = np.nonzero(np.diff(chosen) > MODE_GAP + 1)[0]
    starts = np.concatenate([[0], breaks + 1])
    ends = np.concatenate([breaks, [len(chosen) - 1]])
    found = []
    for start, end in zip(starts, ends, strict=True):
        low, high = int(chosen[start]), int(chosen[end])
        mass = float(months[low : high + 1].sum())
        if mass >= MODE_LEAST:
            found.append(Mode(Period(grid.first + low, grid.first + high), mass))
    return tuple(sorted(found, key=lambda one: -one.probability))
