"""A mark of a dossier read by the rule that applies to it, or as its examiner read it.

An examiner's own readings stand as they are. A text without them is read by the rule the entry
names; without a name, by the ways of marking the chronology knows for that part, and by the
source-date rule for parts that carry such codes. A maker's written date is read only in years in
which this maker can have written it: a year 05 on a part of 1957 to 1975 is not 2005. Alternatives
that name one month twice give it the heavier weight, never both.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from heelstamp.catalogue import Observation
from heelstamp.chronology import Chronology
from heelstamp.chronology.records import Writing
from heelstamp.marks import MarkContext, Reading, read
from heelstamp.marks.reading import apart
from heelstamp.marks.smudge import UNREADABLE
from heelstamp.marks.written import PREFIX as WRITTEN
from heelstamp.units import Period, name_month, parse_month
from heelstamp.units.months import MONTHS_A_YEAR

BY_EXAMINER = "read by the examiner"
SOURCE_DATE = "source-date"
BEFORE_PRODUCTION = 60
"""Months before production from which a written date is read: the longest old stock of the delays
(our choice)."""

AFTER_PRODUCTION = 240
"""Months after production up to which a written date is read: a later part of the same maker, on
an instrument that was repaired (our choice)."""

_CODED_PARTS = re.compile(r"pot|capacitor|switch")


@dataclass(frozen=True)
class ReadMark:
    """Readings of a mark, the reader that gave them, and why there are none."""

    text: str
    reader: str
    readings: tuple[Reading, ...]
    why_not: str | None = None


def read_mark(seen: Observation, chronology: Chronology, context: MarkContext) -> ReadMark:
    """Read a mark.

    Raises
    ------
    InputError
        The entry names a reader that does not exist, or a month that cannot be.
    """
    if seen.readings:
        own = tuple(
            Reading(one.months, one.weight, BY_EXAMINER, "this dossier", "as entered")
            for one in seen.readings
        )
        return ReadMark(seen.text or "", seen.reader or BY_EXAMINER, apart(own))
    text = seen.text or ""
    known = replace(
        context,
        one_digit={row.code: row.one_digit_until for row in chronology.source_codes},
        span=Period(chronology.marks.first, chronology.marks.last),
    )
    dated = replace(known, span=written_span(chronology))
    if seen.reader:
        by_maker = seen.reader.startswith(WRITTEN)
        return _by_reader(text, seen.reader, dated if by_maker else known)
    written = _by_writings(seen.part, text, chronology, dated)
    if written.readings or not _CODED_PARTS.search(seen.part):
        return written
    return _by_reader(text, SOURCE_DATE, known)


def written_span(chronology: Chronology) -> Period:
    """The months in which the maker of a chronology can have written a date on a part."""
    production, marks = chronology.production, chronology.marks
    return Period(
        max(marks.first, parse_month(production.first) - BEFORE_PRODUCTION),
        min(marks.last, parse_month(production.last) + AFTER_PRODUCTION),
    )


def plausible_first(readings: Sequence[Reading], production: Period | None) -> list[Reading]:
    """Order readings for a person: evidence of the maker's years first, the heavier before.

    Only the order is meant; a reading outside the maker's years weighs what it weighs, because a
    part can be a later one.
    """

    def key(one: Reading) -> tuple[bool, int, float]:
        return not one.evidence, _away(one.period, production), -one.weight

    return sorted(readings, key=key)


def _away(period: Period, production: Period | None) -> int:
    """0 in the years of production and the year before, 1 where old stock reaches, else 2."""
    if production is None:
        return 0
    if period.first > production.last:
        return 2
    before = production.first - period.last
    return 0 if before <= MONTHS_A_YEAR else 1 if before <= BEFORE_PRODUCTION else 2


def _by_reader(text: str, reader: str, context: MarkContext) -> ReadMark:
    answer = read(text, reader, context)
    why_not = None
    if not answer.readings:
        why_not = _reasons([one.reason for one in answer.rejections], context.span) or "unreadable"
    elif not answer.evidence:
        why_not = "its rule stands on memory alone and is no evidence"
    return ReadMark(text, reader, answer.readings, why_not)


def _by_writings(part: str, text: str, chronology: Chronology, context: MarkContext) -> ReadMark:
    """Read by every way of marking known for the part, each within the years of its use."""
    readings: list[Reading] = []
    readers: list[str] = []
    refused: list[str] = []
    for row in chronology.writings:
        if row.part != part:
            continue
        reader = f"written:{row.order}"
        answer = read(text, reader, context)
        refused += [one.reason for one in answer.rejections]
        kept = [one for one in answer.readings if in_use(row, one.period)]
        refused += [
            f"{one.period} is no month in which dates were written as {row.order}"
            for one in answer.readings
            if one not in kept
        ]
        if kept:
            readers.append(reader)
            readings += kept
    why_not = None
    if not readings:
        why_not = _reasons(refused, context.span) or "no way of marking is known for this part"
    return ReadMark(text, " or ".join(readers), apart(readings), why_not)


def _reasons(refused: list[str], span: Period) -> str:
    """The reasons why a text was not read; what is wrong in it before what it does not fit."""
    told = list(dict.fromkeys(refused))
    wrong = [one for one in told if "does not fit the order" not in one] or told
    if any("lies outside" in one for one in wrong):
        first, last = name_month(span.first), name_month(span.last)
        wrong.append(f"read from {first} to {last}, around the years of production")
    return "; ".join(wrong)


def in_use(row: Writing, period: Period) -> bool:
    """Whether a way of marking was in use in some month of *period*, a year's slack allowed."""
    after = row.first is None or parse_month(row.first) - MONTHS_A_YEAR <= period.last
    return after and (row.last is None or period.first <= parse_month(row.last) + MONTHS_A_YEAR)


def source_code_of(mark: ReadMark) -> str | None:
    """The source number of a source-date code, when all its readings agree on it."""
    numbers = {one.source_number for one in mark.readings}
    return numbers.pop() if len(numbers) == 1 and UNREADABLE not in "".join(numbers) else None
