"""Marks bound to a law, a rule of trade or a material: not before, not after, or between.

The examiner names what was seen by the id of a row (``bound:us_zip5``); the row gives the months.
A soft edge becomes a staircase of nested readings whose weights add to 1 inside. A row from memory
is given back with ``evidence=False``. Absence of such a mark is not read here: it is another
observation, and mostly a weak one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heelstamp.errors import InputError
from heelstamp.marks.reading import MarkReadings, Reading, Rejection, in_order
from heelstamp.units import Month, Period

PREFIX = "bound:"
SOFT_STEPS = ((1.0, 0.2), (0.5, 0.3), (0.0, 0.5))
"""(part of the margin, weight) of the steps of a soft edge; our judgement. Weights add to 1."""


@dataclass(frozen=True, slots=True)
class BoundMark:
    """One row: what is seen and the months it is bound to.

    Attributes
    ----------
    key, what
        Id and name of the mark.
    not_before, not_after
        Edge months; None where that side is open.
    margin_before, margin_after
        Months by which each edge is soft, outward; 0 is a hard edge.
    evidence
        False for a row from memory.
    usual, note
        When it is usual, and what to beware of.
    source
        Publication and section.
    """

    key: str
    what: str
    not_before: Month | None
    margin_before: int
    not_after: Month | None
    margin_after: int
    evidence: bool
    usual: str
    note: str
    source: str

    def __post_init__(self) -> None:
        if self.margin_before < 0 or self.margin_after < 0:
            raise InputError("a margin cannot be negative", where=self.key)
        if (
            self.not_before is not None
            and self.not_after is not None
            and self.not_after < self.not_before
        ):
            raise InputError("not after is earlier than not before", where=self.key)

    @property
    def kind(self) -> str:
        """``not before``, ``not after``, ``between`` or ``no date``."""
        if self.not_before is None:
            return "no date" if self.not_after is None else "not after"
        return "not before" if self.not_after is None else "between"


def read_bound(text: str, mark: BoundMark, *, span: Period) -> MarkReadings:
    """Read a mark of the kind *mark*; the text records what was seen and is not parsed.

    Parameters
    ----------
    text
        What was seen; blank text is no observation and gives no reading.
    mark
        The row.
    span
        Months outside which nothing is read; open sides run to its ends.
    """
    reader = PREFIX + mark.key
    rule = f"{mark.kind} ({mark.what})"
    if not text.strip():
        return MarkReadings(text, reader, (), (Rejection("nothing was seen", rule),))
    if mark.kind == "no date":
        why = f"{mark.what} bears no date" + (f": {mark.note}" if mark.note else "")
        return MarkReadings(text, reader, (), (Rejection(why, rule),))
    weights: dict[Period, float] = {}
    for part, weight in SOFT_STEPS:
        first, last = span.first, span.last
        if mark.not_before is not None:
            first = max(first, mark.not_before - round(part * mark.margin_before))
        if mark.not_after is not None:
            last = min(last, mark.not_after + round(part * mark.margin_after))
        if first <= last:
            period = Period(first, last)
            weights[period] = weights.get(period, 0.0) + weight
    if not weights:
        why = f"{mark.what} lies outside {span}"
        return MarkReadings(text, reader, (), (Rejection(why, rule),))
    detail = mark.what + "".join(f"; {part}" for part in (mark.usual, mark.note) if part)
    if not mark.evidence:
        detail += "; from memory, shown only"
    readings = [
        Reading(period, weight, rule, mark.source, detail, mark.evidence)
        for period, weight in weights.items()
    ]
    return MarkReadings(text, reader, in_order(readings), ())


def find_bound(marks: Mapping[str, BoundMark], key: str) -> BoundMark:
    """Find a row by its id.

    Raises
    ------
    InputError
        No such row; the message lists those there are.
    """
    if key not in marks:
        raise InputError(
            "no such law- or material-bound mark",
            received=key,
            remedy="Known: " + (", ".join(sorted(marks)) or "none") + ".",
        )
    return marks[key]
