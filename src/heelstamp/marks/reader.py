"""One door to all readers: ``read(text, reader, context)``.

Readers by name: ``source-date``, ``patent``, ``design patent``, ``bound:<id>``,
``written:<order>``. Nothing typed as *text* can fail: what cannot be read gives no reading and a
rejection with its reason. Only a reader that does not exist raises.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from heelstamp.errors import InputError
from heelstamp.marks import bound, patent, source_date, written
from heelstamp.marks.bound import BoundMark, find_bound, read_bound
from heelstamp.marks.patent import PatentTable, read_patent
from heelstamp.marks.reading import MarkReadings, Reading, Rejection
from heelstamp.marks.smudge import without_long_runs
from heelstamp.marks.source_date import read_source_date
from heelstamp.marks.source_table import SourceCode, SourceDateRules
from heelstamp.marks.written import read_written
from heelstamp.marks.written_order import WritingRules, WrittenOrder
from heelstamp.units import Period

READERS = (
    source_date.READER,
    patent.UTILITY,
    patent.DESIGN,
    bound.PREFIX + "<id>",
    written.PREFIX + "<order>",
)
EVERY_MONTH = Period.parse(["1925-01", "2025-12"])
"""Months that are read unless the caller says otherwise: the grid on which marks are dated."""

LONGEST_TEXT = {source_date.READER: 64, written.PREFIX: 40, patent.UTILITY: 200, patent.DESIGN: 200}
"""Characters up to which a text is read, by reader; marks on parts are shorter (our choice, which
also bounds the time that a text full of ``?`` can take)."""


@dataclass(frozen=True, slots=True)
class MarkContext:
    """What is known before the text is read.

    Attributes
    ----------
    sources, patents, bound
        Reference tables.
    one_digit
        Source number → last year in which it marked a one-digit year (0 = never), as a
        chronology knows it.
    span
        Months outside which nothing is read; open-ended readings run to its ends. Bound it by
        the present month, not by the maker's production: a part can be a later one.
    claimed
        Months to which an owner's claim limits the part; readings wholly outside are turned down
        with that reason. For answering a question, never for a dating, which must be free to find
        a later part.
    source_rules, writing_rules
        Weights.
    """

    sources: Mapping[str, SourceCode] = field(default_factory=lambda: MappingProxyType({}))
    patents: PatentTable = field(default_factory=PatentTable)
    bound: Mapping[str, BoundMark] = field(default_factory=lambda: MappingProxyType({}))
    one_digit: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    span: Period = EVERY_MONTH
    claimed: Period | None = None
    source_rules: SourceDateRules = field(default_factory=SourceDateRules)
    writing_rules: WritingRules = field(default_factory=WritingRules)


def read(text: str, reader: str, context: MarkContext) -> MarkReadings:
    """Read a mark.

    Parameters
    ----------
    text
        The mark as seen; ``?`` for each character that cannot be read.
    reader
        Name of the rule to read it by.
    context
        Tables, span and weights.

    Returns
    -------
    MarkReadings
        Every reading with weight, rule and source, and what was turned down with the reason.

    Raises
    ------
    InputError
        There is no such reader, bound mark or order; the message lists those there are.
    """
    text = text if isinstance(text, str) else str(text)
    limit = LONGEST_TEXT.get(reader, LONGEST_TEXT.get(reader.partition(":")[0] + ":", len(text)))
    if len(text) > limit:
        why = Rejection(f"{len(text)} characters; a mark is read up to {limit}", "length")
        return replace(_read("", reader, context), text=text, rejections=(why,))
    answer = _read(without_long_runs(text), reader, context)
    return _within_claim(replace(answer, text=text), context.claimed)


def _read(text: str, reader: str, context: MarkContext) -> MarkReadings:
    if reader == source_date.READER:
        return read_source_date(
            text,
            context.sources,
            span=context.span,
            one_digit=context.one_digit,
            rules=context.source_rules,
        )
    if reader in (patent.UTILITY, patent.DESIGN):
        return read_patent(text, context.patents, span=context.span, design=reader == patent.DESIGN)
    if reader.startswith(bound.PREFIX):
        mark = find_bound(context.bound, reader.removeprefix(bound.PREFIX))
        return read_bound(text, mark, span=context.span)
    if reader.startswith(written.PREFIX):
        order = WrittenOrder.parse(reader.removeprefix(written.PREFIX))
        return read_written(text, order, span=context.span, rules=context.writing_rules)
    raise InputError(
        "no such reader of marks", received=reader, remedy="Readers: " + ", ".join(READERS) + "."
    )


def _within_claim(read_so_far: MarkReadings, claimed: Period | None) -> MarkReadings:
    """Turn down the readings that lie wholly outside the claimed months."""
    if claimed is None:
        return read_so_far
    kept: list[Reading] = []
    rejections = list(read_so_far.rejections)
    for one in read_so_far.readings:
        if one.period.last < claimed.first or one.period.first > claimed.last:
            why = f"{one.period} is outside the claimed {claimed} ({one.detail})"
            rejections.append(Rejection(why, one.rule))
        else:
            kept.append(one)
    return MarkReadings(read_so_far.text, read_so_far.reader, tuple(kept), tuple(rejections))
