"""Which conclusions a new edition moves, and by how much: one batch, and the sum of many.

Batches do not depend on each other, so that several processes may work on them; what each gives
back is small: counts, and the twenty instruments that moved furthest.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from heapq import nlargest
from typing import Any

import msgspec

from heelstamp.casework.census.conclusions import (
    CONCLUSION,
    Concluder,
    Movement,
    movement,
    movement_data,
)
from heelstamp.chronology import Chronology

WORST = 20
"""Instruments named."""

STEPS = (0, 1, 3, 6, 12, 24)
"""Upper ends of the classes of movement, in months; the last class is open."""


@dataclass(frozen=True, slots=True)
class Earlier:
    """An instrument to date again: its evidence, and what was concluded of it, if anything."""

    id: str
    evidence: str
    conclusion: str | None


@dataclass
class Redated:
    """What came of many instruments.

    Attributes
    ----------
    count, moved
        Instruments dated again, and those of which anything moved.
    first
        Instruments of which nothing was concluded before; they are not among ``count``.
    median, ends
        Counts by class of months that the median, and the further end of the 90 % range, moved.
    words
        Counts by part, words before and words after.
    withheld, given
        Dates that are now withheld, and that are now given.
    worst
        Those that moved furthest, furthest first.
    conclusions
        New conclusions by id, where they were asked for.
    """

    count: int = 0
    moved: int = 0
    first: int = 0
    median: Counter[str] = field(default_factory=Counter)
    ends: Counter[str] = field(default_factory=Counter)
    words: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    withheld: int = 0
    given: int = 0
    worst: list[Movement] = field(default_factory=list)
    conclusions: dict[str, str] = field(default_factory=dict)

    def take(self, one: Movement) -> None:
        """Count one instrument."""
        self.count += 1
        self.moved += one.moved
        if one.withheld:
            self.withheld += one.withheld == "withheld"
            self.given += one.withheld == "given"
        elif one.median is not None:
            self.median[step_of(one.median)] += 1
            self.ends[step_of(max(one.ends, key=abs))] += 1
        for part, (before, after) in one.turned.items():
            self.words[part, before, after] += 1
        if one.moved:
            self.worst.append(one)

    def settle(self) -> None:
        """Keep the furthest only."""
        self.worst = nlargest(WORST, self.worst, key=lambda one: (*one.size, _reversed(one.id)))

    def add(self, other: Redated) -> None:
        """Add what came of others; conclusions are left to the caller."""
        self.count += other.count
        self.moved += other.moved
        self.first += other.first
        self.median += other.median
        self.ends += other.ends
        self.words += other.words
        self.withheld += other.withheld
        self.given += other.given
        self.worst += other.worst
        self.settle()

    @property
    def words_turned(self) -> list[tuple[tuple[str, str, str], int]]:
        """Words that turned, the most frequent first, and equals by their names."""
        return sorted(self.words.items(), key=lambda one: (-one[1], one[0]))

    def data(self) -> dict[str, Any]:
        """Return everything but the conclusions as plain values."""
        return {
            "instruments": self.count,
            "moved": self.moved,
            "without_earlier_conclusion": self.first,
            "median_months": {name: self.median[name] for name in step_names()},
            "ends_months": {name: self.ends[name] for name in step_names()},
            "words_turned": [
                {"part": part, "before": before, "after": after, "instruments": count}
                for (part, before, after), count in self.words_turned
            ],
            "dates_now_withheld": self.withheld,
            "dates_now_given": self.given,
            "worst": [movement_data(one) for one in self.worst],
        }


def step_names() -> list[str]:
    """Name the classes of movement: ``0``, ``1``, ``2-3``, …, ``over 24``."""
    names = []
    for before, last in zip((-1, *STEPS[:-1]), STEPS, strict=True):
        names.append(str(last) if last == before + 1 else f"{before + 1}-{last}")
    return [*names, f"over {STEPS[-1]}"]


_NAMES = step_names()


def step_of(months: int) -> str:
    """Return the class of a movement by *months*."""
    return _NAMES[bisect_left(STEPS, abs(months))]


def _reversed(id_: str) -> tuple[int, ...]:
    """Order ids backwards, so that of equals the first in the alphabet stays."""
    return tuple(-ord(one) for one in id_)


class Redater:
    """Dates batches again under a new edition.

    Parameters
    ----------
    chronology
        The new edition.
    earlier
        Edition by which instruments without a kept conclusion are concluded first, if there is
        one.
    """

    def __init__(self, chronology: Chronology, earlier: Chronology | None = None) -> None:
        self._after = Concluder(chronology)
        self._before = None if earlier is None else Concluder(earlier)

    def batch(self, instruments: Sequence[Earlier], *, keep: bool = False) -> Redated:
        """Date one batch; with *keep*, new conclusions come along."""
        result = Redated()
        after = self._after.conclude([one.evidence for one in instruments])
        before = [
            None if one.conclusion is None else CONCLUSION.decode(one.conclusion)
            for one in instruments
        ]
        blank = [place for place, one in enumerate(before) if one is None]
        if blank and self._before is not None:
            made = self._before.conclude([instruments[place].evidence for place in blank])
            for place, conclusion in zip(blank, made, strict=True):
                before[place] = conclusion
        for one, old, new in zip(instruments, before, after, strict=True):
            if old is None:
                result.first += 1
            else:
                result.take(movement(one.id, old, new))
            if keep:
                result.conclusions[one.id] = msgspec.json.encode(new).decode()
        result.settle()
        return result
