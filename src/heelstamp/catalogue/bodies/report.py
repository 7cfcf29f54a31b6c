"""What is said to readers: words chosen, papers issued, questions answered, a return compared."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import msgspec

from heelstamp.catalogue.bodies.base import (
    Count,
    Day,
    EntryBody,
    FileDigest,
    FindingDigest,
    Id,
    Reasoned,
    Share,
    Text,
    parse_time,
)
from heelstamp.catalogue.conversion import join_place
from heelstamp.errors import InputError
from heelstamp.units import LengthUnit, Period

Months = Annotated[list[Text], msgspec.Meta(min_length=2, max_length=2)]
"""First and last month, ``1965-03``."""


class WordingChoice(Reasoned, frozen=True):
    """A word of strength that an examiner chose for one sentence of the report.

    Attributes
    ----------
    sentence
        Id of the sentence, as ``part:neck``.
    word
        In place of the computed one.
    """

    sentence: Text
    word: Text


class Issue(EntryBody, frozen=True):
    """One paper as it went to one reader; its entry's digest is printed on it.

    The file itself can be named only by a correction, since it prints that digest.

    Attributes
    ----------
    reader
        For whom, as ``buyer``.
    day
        Date of the paper, ISO 8601; None where only the time of entry is known.
    files
        SHA-256 of each file attached, by its name there; none for a paper before form 2.
    ledger
        Digest of the last line of the shop's ledger; None while the shop keeps none.
    source
        Id of the entry shown, by the name it has in the copy.
    paper
        Which paper.
    file
        SHA-256 of the paper as it was kept; None until it is.
    version
        Number among the versions of this paper for this reader, from 1; 0 where only their order
        tells it.
    changed
        What changed against the version before, a phrase each; none for the first.
    lengths
        Unit in which a report writes the lengths of its setup.
    """

    id: Id
    reader: Text
    day: Day | None = None
    files: dict[Text, FileDigest] = msgspec.field(default_factory=dict)
    ledger: FileDigest | None = None
    source: dict[Text, Id] = msgspec.field(default_factory=dict)
    paper: Text = "report"
    file: FileDigest | None = None
    version: Count = 0
    changed: list[Text] = msgspec.field(default_factory=list)
    lengths: LengthUnit = "mm"
    note: str = ""


class Question(EntryBody, frozen=True):
    """A buyer's question: answered, or to be looked at, or looked at.

    Attributes
    ----------
    question
        Key of the usual question, or of one made of the words asked.
    asked
        As it was asked.
    state
        What became of it.
    answer
        What was told, when answered.
    """

    id: Id
    question: Text
    asked: Text
    state: Literal["answered", "to be looked at", "looked at"]
    answer: str = ""


class ReturnVerdict(EntryBody, frozen=True):
    """What a person says of one fixed shot at a return, held against the one that left.

    Attributes
    ----------
    slot
        Of the photo plan.
    left, returned
        Ids of the two frames compared; None where one is wanting.
    """

    id: Id
    slot: Text
    verdict: Literal["same", "changed", "cannot tell"]
    left: Id | None = None
    returned: Id | None = None
    reason: str = ""


class LaterKnown(EntryBody, frozen=True):
    """What became known of a matter after the shop had said how likely it was.

    Attributes
    ----------
    about
        Id of the sentence: ``part:neck`` or ``date``.
    source
        From where it is known.
    original
        Of a part: whether it was fitted first; None for the date.
    months
        Of the date: first and last month that it can have been, ``1965-03``; None for a part.
    stated
        The probability of *original* that the shop had given; None for the date.
    half, nine_tenths
        The 50 % and 90 % range that the shop had given; None for a part.
    finding
        SHA-256 of the finding that gave them.
    """

    id: Id
    about: Text
    source: Text
    original: bool | None = None
    months: Months | None = None
    stated: Share | None = None
    half: Months | None = None
    nine_tenths: Months | None = None
    finding: FindingDigest | None = None
    note: str = ""


class Decision(Reasoned, frozen=True):
    """What was decided on a matter that has no kind of its own, and why."""

    about: Text
    decided: Text


class Unconverted(EntryBody, frozen=True):
    """An entry of form 1 that has no form today: kept as it was written, with the reason.

    Attributes
    ----------
    kind, body
        As they were written.
    reason
        Why it was not converted, for a person.
    """

    id: str
    kind: str
    body: dict[str, Any]
    reason: str


def check_issue(body: Issue, where: str) -> None:
    """Refuse a day that is not in the calendar."""
    if body.day is not None:
        parse_time(body.day, where=join_place(where, "field day"))


def check_later_known(body: LaterKnown, where: str) -> None:
    """Refuse what belongs neither to a part nor to the date, or months that cannot be."""
    date = (body.months, body.half, body.nine_tenths)
    part = (body.original, body.stated)
    mine, other = (date, part) if body.about == "date" else (part, date)
    if None in mine or any(one is not None for one in other):
        raise InputError(
            "what became known does not fit what was said",
            where=where,
            received=body.about,
            remedy="Of a part give original and stated; of the date months, half and nine_tenths.",
        )
    for field, months in zip(("months", "half", "nine_tenths"), date, strict=True):
        if months is not None:
            Period.parse(list(months), where=join_place(where, f"field {field}"))
