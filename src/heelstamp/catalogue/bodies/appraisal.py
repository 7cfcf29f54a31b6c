"""What a price and an advertisement rest on besides the date: one kind of entry for each matter.

Sums are text, so that no binary fraction comes between the paper and the sum. Of each matter what
was entered last counts.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from heelstamp.catalogue.bodies.base import Day, EntryBody, FileDigest, Id, Reasoned, Text

GradeLetter = Literal["A", "B", "C", "D", "E"]
Sum = Annotated[str, msgspec.Meta(pattern=r"^\d{1,13}(\.\d{1,4})?$")]
Currency = Annotated[str, msgspec.Meta(pattern=r"^[A-Z]{3}$")]


class Grade(Reasoned, frozen=True):
    """The condition, A best to E; of the whole, or of one aspect as ``frets``."""

    grade: GradeLetter
    aspect: str = ""


class Colour(Reasoned, frozen=True):
    """Whether the colour is the maker's usual one or a rare one."""

    colour: Literal["standard", "rare"]


class CaseIncluded(Reasoned, frozen=True):
    """Whether a case goes with the instrument."""

    included: bool


class ChangedParts(Reasoned, frozen=True):
    """How many parts were changed that the chronology does not tell apart."""

    count: Annotated[int, msgspec.Meta(ge=0, le=99)]


class Price(Reasoned, frozen=True):
    """A sum agreed: the value to insure, or the price paid.

    ``currency`` is the shop's own where none is named.
    """

    of: Literal["insured value", "sold"]
    amount: Sum
    currency: Currency | None = None


class TermsAgreed(Reasoned, frozen=True):
    """Terms of consignment that hold from now on, by the SHA-256 of their text."""

    file: FileDigest
    scope: Literal["dossier", "shop"] = "dossier"


class TitleSearch(EntryBody, frozen=True):
    """A search of one list of stolen or pledged instruments: what was found on that day.

    Attributes
    ----------
    register
        Name of the list.
    hit
        Whether anything was found; no hit shows only that none was found in that list that day.
    result
        What was found, in words.
    day
        On which it was searched; None where only the time of entry is known.
    numbers
        For which numbers.
    query
        What was asked of the list, as it was typed there.
    """

    id: Id
    register: Text
    hit: bool
    result: str = ""
    day: Day | None = None
    numbers: list[Text] = msgspec.field(default_factory=list)
    query: str = ""
    note: str = ""


class TitleNote(Reasoned, frozen=True):
    """A doubt about title, open or closed; while one is open nothing is advertised."""

    subject: Text
    open: bool


class NearNumber(Reasoned, frozen=True):
    """How a number of a list that this one may be was settled."""

    number: Text
    settled: Text


class MaterialAnswer(Reasoned, frozen=True):
    """The answer to a question about a protected material or a route, by the rule's id."""

    rule: Text
    answer: Text


class MaterialsLooked(Reasoned, frozen=True):
    """What was found when the instrument was looked over for protected materials."""

    found: Text
