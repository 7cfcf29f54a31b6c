"""What a mark says: every reading with its weight, rule and source, and what was turned down.

A weight is P(this text | the part was marked in that month) up to one factor common to all
readings of the text; weights are likelihoods and are *not* normalised. Months that several
readings cover add their weights, so a "not earlier than" mark is one long reading, and a soft
edge is a staircase of nested ones. What stands on memory alone carries ``evidence=False``: it is
shown to the examiner and never multiplies a posterior.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from heelstamp.units import Month, Period


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to understand a mark.

    Attributes
    ----------
    period
        Months in which a part could have been marked so.
    weight
        Likelihood of the text in each of those months, up to a factor common to the text; > 0.
    rule
        The rule that gave it, such as ``source-date SSS-Y-WW``.
    source
        Where the rule and the table row come from.
    detail
        The reading in words, for the examiner.
    evidence
        False when the row behind it is from memory: to be shown, never to be reckoned with.
    source_number
        Of a source-date code, with ``?`` where it could not be read; empty for other marks.
    """

    period: Period
    weight: float
    rule: str
    source: str
    detail: str
    evidence: bool = True
    source_number: str = ""


@dataclass(frozen=True, slots=True)
class Rejection:
    """A way to understand a mark that the rules forbid, and why."""

    reason: str
    rule: str


@dataclass(frozen=True, slots=True)
class MarkReadings:
    """All that one reader makes of one text, earliest reading first."""

    text: str
    reader: str
    readings: tuple[Reading, ...]
    rejections: tuple[Rejection, ...]

    @property
    def evidence(self) -> tuple[Reading, ...]:
        """The readings that may enter a likelihood."""
        return tuple(reading for reading in self.readings if reading.evidence)

    def likelihood(self) -> dict[Month, float]:
        """Add the weights of the evidential readings month by month (months of weight 0 left out).

        Examples
        --------
        >>> soft = Reading(Period(10, 13), 0.25, "r", "s", "d")
        >>> hard = Reading(Period(12, 13), 0.75, "r", "s", "d")
        >>> MarkReadings("x", "r", (soft, hard), ()).likelihood()
        {10: 0.25, 11: 0.25, 12: 1.0, 13: 1.0}
        """
        total: dict[Month, float] = {}
        for reading in self.evidence:
            for month in range(reading.period.first, reading.period.last + 1):
                total[month] = total.get(month, 0.0) + reading.weight
        return dict(sorted(total.items()))


def in_order(readings: list[Reading]) -> tuple[Reading, ...]:
    """Sort readings by period, the heavier first within one period."""
    return tuple(sorted(readings, key=lambda one: (one.period, -one.weight, one.rule, one.detail)))


def distinct(rejections: list[Rejection]) -> tuple[Rejection, ...]:
    """Drop repeated rejections, keeping the order in which they were met."""
    return tuple(dict.fromkeys(rejections))


def apart(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Let each month count once: where readings overlap, the heavier alone speaks.

    For readings of which one at most is meant, such as the alternatives that a person names or
    the orders in which a date may have been written: their weights do not add.

    Examples
    --------
    >>> wide = Reading(Period(10, 13), 0.25, "r", "s", "wide")
    >>> sharp = Reading(Period(12, 12), 0.75, "r", "s", "sharp")
    >>> [(one.period.first, one.period.last, one.weight) for one in apart([wide, sharp])]
    [(10, 11, 0.25), (12, 12, 0.75), (13, 13, 0.25)]
    """
    ordered = sorted(readings, key=lambda one: (one.period.first, one.period.last))
    if all(one.period.last < after.period.first for one, after in pairwise(ordered)):
        return tuple(readings)
    heaviest: dict[Month, Reading] = {}
    for one in readings:
        for month in range(one.period.first, one.period.last + 1):
            if month not in heaviest or one.weight > heaviest[month].weight:
                heaviest[month] = one
    runs: list[tuple[Reading, Month, Month]] = []
    for month, one in sorted(heaviest.items()):
        if runs and runs[-1][0] is one and runs[-1][2] == month - 1:
            runs[-1] = (one, runs[-1][1], month)
        else:
            runs.append((one, month, month))
    return tuple(replace(one, period=Period(first, last)) for one, first, last in runs)
