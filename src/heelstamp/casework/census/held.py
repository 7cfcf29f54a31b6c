"""Whether the shop's own ranges held: its census, dated without marks and compared with them.

Each instrument that was dated by marks or papers is dated once with everything and once without
them, by an edition it did not teach: the census is cut into tenths (one by one up to ten), and
the change-overs that date a tenth are learned from the other nine. The truth of an instrument is
not known; its posterior with everything stands for it. A range made without marks holds the truth
to the extent that this posterior lies in it, and what is reported is the mean of that, which is
the stated level where the model is right.

Where it does not hold: the reference has seen the features too, so that a wrong feature table
flatters itself as far as marks do not overrule it; instruments whose marks say little add little.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from heelstamp.casework.census.conclusions import Concluder
from heelstamp.casework.census.learn import learn_edition
from heelstamp.casework.census.rows import CensusRow
from heelstamp.chronology import parse_chronology
from heelstamp.dating import Document, Evidence, Mark
from heelstamp.dating.calibration import wilson
from heelstamp.dating.model import Array
from heelstamp.errors import InputError

FOLDS = 10
LEVELS: tuple[float, ...] = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
LEAST_ROWS = 10
"""Fewer rows say nothing of how often a range holds."""


@dataclass(frozen=True)
class HeldLevel:
    """How often central ranges of one level held, with a 90 % interval for the number of rows."""

    level: float
    held: float
    low: float
    high: float


@dataclass(frozen=True)
class Held:
    """Ranges of a census.

    Attributes
    ----------
    levels
        In the order of ``LEVELS``.
    count
        Instruments compared.
    width, width_with_marks
        Median widths of the 90 % ranges made without and with marks, in months.
    """

    levels: tuple[HeldLevel, ...]
    count: int
    width: float
    width_with_marks: float

    def level(self, level: float) -> HeldLevel:
        """Return one level."""
        return next(one for one in self.levels if one.level == level)


def census_held(
    document: Mapping[str, Any], rows: Sequence[CensusRow], *, folds: int = FOLDS
) -> Held:
    """Compare ranges made without marks with what marks say, over the census.

    Parameters
    ----------
    document
        The edition on which the learning builds, as plain values.

    Raises
    ------
    InputError
        Too few instruments were dated by marks or papers.
    """
    teachers = [row for row in rows if row.teaches]
    if len(teachers) < LEAST_ROWS:
        raise InputError(
            "too few instruments to tell how often a range holds",
            received=f"{len(teachers)} dated by marks or documents",
            remedy=f"At least {LEAST_ROWS} are needed.",
        )
    folds = min(folds, len(teachers))
    whole, bare = [], []
    for fold in range(folds):
        inside = teachers[fold::folds]
        rest = [row for place, row in enumerate(teachers) if place % folds != fold]
        learned = learn_edition(document, rest, edition=f"without part {fold + 1}").document
        concluder = Concluder(parse_chronology(learned, name="census"))
        evidence = [concluder.reader.read(row.evidence)[0] for row in inside]
        whole.append(concluder.date(evidence)[0].months)
        bare.append(concluder.date([_without_marks(one) for one in evidence])[0].months)
    return _compared(np.concatenate(whole), np.concatenate(bare))


def _without_marks(evidence: Evidence) -> Evidence:
    return tuple(one for one in evidence if not isinstance(one, Mark | Document))


def _compared(whole: Array, bare: Array) -> Held:
    reached = np.cumsum(bare, axis=1)
    before = reached - bare
    levels = []
    for level in LEVELS:
        low, high = (1 - level) / 2, (1 + level) / 2
        inside = np.clip(np.minimum(reached, high) - np.maximum(before, low), 0, None)
        share = np.divide(inside, bare, out=np.zeros_like(bare), where=bare > 0)
        held = float((whole * share).sum(axis=1).mean())
        levels.append(HeldLevel(level, held, *wilson(held, len(whole))))
    return Held(tuple(levels), len(whole), _width(bare), _width(whole))


def _width(months: Array) -> float:
    reached = np.cumsum(months, axis=1)
    ends = [(reached >= one - 1e-12).argmax(axis=1) for one in (0.05, 0.95)]
    return float(np.median(ends[1] - ends[0] + 1))
