"""United States patent numbers: the part is not earlier than the grant.

A number cannot be marked before it is given, and numbers rise with the day of issue, so the
greatest dated number not above the one read bounds the mark from below; it says nothing about how
much later the part was made. ``Pat. Pend.`` bears no date. Dated numbers ("anchors") are the first
number of a year and single grants whose day is published. An anchor from memory makes a second,
sharper reading that is shown and carries no evidence. ``?`` in a number spreads the weight over
the intervals in proportion to the completions that fall in each.

Source: 35 U.S.C. 287(a) (marking); first numbers and grants as named on each anchor.
Not covered: reissues, plant patents, trade-mark registrations, foreign patents.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from heelstamp.marks.reading import MarkReadings, Reading, Rejection, distinct, in_order
from heelstamp.marks.smudge import DIGITS, UNREADABLE, completions_below, gaps, spell
from heelstamp.units import Month, Period, name_month

UTILITY = "patent"
DESIGN = "design patent"
RULE = "not earlier than the grant of the patent (35 U.S.C. 287(a))"
SMUDGE = 0.1
"""Weight of each ``?`` taken as no digit (our judgement)."""
EARLIER_NUMBER = 0.05
"""Weight of a number that stands beside a later one, which governs (our judgement)."""
NOT_YET_GIVEN = {UTILITY: 20_000_000, DESIGN: 2_000_000}
"""Numbers from here on are not read: far above those given by 2025 (our choice)."""
_LENGTHS = {UTILITY: (7, 8), DESIGN: (5, 6, 7)}
_BETWEEN = ",. '’\u00a0"
_GROUP = 3


@dataclass(frozen=True, slots=True)
class PatentAnchor:
    """A patent number and the month before which it was not granted."""

    number: int
    not_before: Month
    evidence: bool
    source: str
    basis: str


@dataclass(frozen=True, slots=True)
class PatentTable:
    """Anchors of both series, in rising order of number."""

    utility: tuple[PatentAnchor, ...] = ()
    design: tuple[PatentAnchor, ...] = ()


class _Number(NamedTuple):
    """A number found in the text: its digits and ``?``, its place, its weight."""

    pattern: str
    start: int
    end: int
    weight: float


def read_patent(text: str, table: PatentTable, *, span: Period, design: bool) -> MarkReadings:
    """Read the patent numbers in a text as 'not earlier than' marks.

    Parameters
    ----------
    text
        The mark as seen; ``?`` for each unreadable character.
    table
        Dated numbers.
    span
        Months outside which nothing is read; readings run to its end.
    design
        Read the design series instead of the utility series.
    """
    reader = DESIGN if design else UTILITY
    anchors = table.design if design else table.utility
    rejections: list[Rejection] = []
    numbers = list(_numbers(text, _LENGTHS[reader]))
    weights: dict[tuple[Month, bool], float] = {}
    reasons: dict[tuple[Month, bool], tuple[float, _Number, PatentAnchor]] = {}
    latest = [(one, _usual_month(one.pattern, anchors, NOT_YET_GIVEN[reader])) for one in numbers]
    for one, month in latest:
        others = [m for two, m in latest if two.end <= one.start or two.start >= one.end]
        governs = all(other <= month for other in others)
        scale = one.weight * (1.0 if governs else EARLIER_NUMBER)
        found = False
        for anchor, share in _shares(one.pattern, anchors, NOT_YET_GIVEN[reader]):
            if anchor.not_before > span.last:
                rejections.append(
                    Rejection(f"{one.pattern}: granted after {name_month(span.last)}", RULE)
                )
                continue
            found = True
            key = (max(anchor.not_before, span.first), anchor.evidence)
            added = scale * share
            weights[key] = weights.get(key, 0.0) + added
            if key not in reasons or added > reasons[key][0]:
                reasons[key] = (added, one, anchor)
        if not found:
            rejections.append(
                Rejection(f"{one.pattern}: no number of the {reader} table fits it", RULE)
            )
    if not numbers:
        rejections.append(Rejection(_why_none(text, design=design), RULE))
    most = max(1.0, *weights.values(), 0.0)
    readings = []
    for (month, evidence), weight in weights.items():
        _, one, anchor = reasons[month, evidence]
        detail = f"{reader} {one.pattern} is not below {anchor.number} ({anchor.basis})"
        if not evidence:
            detail += "; from memory, shown only"
        readings.append(
            Reading(Period(month, span.last), weight / most, RULE, anchor.source, detail, evidence)
        )
    return MarkReadings(text, reader, in_order(readings), distinct(rejections)[:12])


def _numbers(text: str, lengths: Sequence[int]) -> Iterator[_Number]:
    """Find every run of digits and ``?`` of a legal length, thousands marks allowed."""
    best: dict[tuple[str, int, int], float] = {}
    for start in range(len(text)):
        if not _opens(text, start):
            continue
        before = SMUDGE if start and text[start - 1] == UNREADABLE else 1.0
        for length in lengths:
            for (pattern, end), smudges in _grouped(text, start, length).items():
                if not _closes(text, end):
                    continue
                after = SMUDGE if text[end : end + 1] == UNREADABLE else 1.0
                key = (pattern, start, end)
                weight = before * after * SMUDGE**smudges
                best[key] = max(weight, best.get(key, 0.0))
    heaviest: dict[str, tuple[float, int, int]] = {}
    for (pattern, start, end), weight in best.items():
        if pattern not in heaviest or weight > heaviest[pattern][0]:
            heaviest[pattern] = (weight, start, end)
    for pattern, (weight, start, end) in heaviest.items():
        yield _Number(pattern, start, end, weight)


def _grouped(text: str, start: int, length: int) -> dict[tuple[str, int], int]:
    """Take *length* digits from *start*, in one run or in groups of three from the right."""
    first = length % _GROUP or _GROUP
    states = spell(text, start, (DIGITS,) * first)
    for _ in range((length - first) // _GROUP):
        reached: dict[tuple[str, int], int] = {}
        for (taken, place), smudges in states.items():
            for after, _, passed in gaps(text, place, _BETWEEN):
                for (group, end), more in spell(text, after, (DIGITS,) * _GROUP).items():
                    key = (taken + group, end)
                    reached[key] = min(smudges + passed + more, reached.get(key, len(text)))
        states = reached
    return states


def _opens(text: str, start: int) -> bool:
    """Tell whether a number can begin at *start*: no digit, and no digit with a comma, before."""
    if start == 0:
        return True
    if text[start - 1] in DIGITS:
        return False
    return not (start > 1 and text[start - 1] == "," and text[start - 2] in DIGITS)


def _closes(text: str, end: int) -> bool:
    """Tell whether a number can end before *end*."""
    after = text[end : end + 2]
    if after[:1] in tuple(DIGITS):
        return False
    return not (after[:1] == "," and after[1:] in tuple(DIGITS))


def _shares(
    pattern: str, anchors: Sequence[PatentAnchor], end: int
) -> Iterator[tuple[PatentAnchor, float]]:
    """The anchors that bound the completions of *pattern*, with the share each bounds.

    A completion is bounded by the greatest checked anchor at or below it; when an anchor from
    memory is later than that, it is given too.
    """
    total = 10 ** pattern.count(UNREADABLE)
    edges = [anchor.number for anchor in anchors]
    checked: PatentAnchor | None = None
    for anchor, (low, high) in zip(anchors, pairwise([*edges, end]), strict=True):
        if anchor.evidence:
            checked = anchor
        count = completions_below(pattern, max(low, high)) - completions_below(pattern, low)
        if count <= 0:
            continue
        if checked is not None:
            yield checked, count / total
        if not anchor.evidence and (checked is None or anchor.not_before > checked.not_before):
            yield anchor, count / total


def _usual_month(pattern: str, anchors: Sequence[PatentAnchor], end: int) -> float:
    """The mean month that the completions of *pattern* are bounded by."""
    found = [(one.not_before, share) for one, share in _shares(pattern, anchors, end)]
    weight = sum(share for _, share in found)
    return sum(month * share for month, share in found) / weight if weight else 0.0


def _why_none(text: str, *, design: bool) -> str:
    folded = text.casefold()
    if "pend" in folded or "applied for" in folded:
        return "a pending patent bears no date"
    digits = sum(one in DIGITS or one == UNREADABLE for one in text)
    if not design and 5 <= digits < 7:
        return "fewer than seven digits: a design patent has a series of its own (design patent)"
    return "no number of the length of a patent's" if digits else "no number"
