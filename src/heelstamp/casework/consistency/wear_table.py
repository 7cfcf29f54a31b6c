"""The table of wear: which grades go together, and looks that do not go with age alone.

Read from a document of schema ``heelstamp/wear/1`` (``reference/wear.toml``). It is common
practice of the trade, no source; nothing in it is a frequency, so nothing in it may enter a
probability. A part that the table does not name has no expectation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import msgspec

from heelstamp.archive import digest_of
from heelstamp.catalogue.conversion import convert
from heelstamp.errors import InputError

WEAR_SCHEMA = "heelstamp/wear/1"

Text = Annotated[str, msgspec.Meta(min_length=1)]


class Relation(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Grade of the first part minus grade of the second lies from ``least`` to ``most``.

    Attributes
    ----------
    because
        Why, as a clause.
    covered
        The first part lies under something, so what reaches it reaches the second first.
    renewable
        Parts of the two that are commonly renewed.
    """

    parts: tuple[Text, Text]
    least: int
    most: int
    because: Text
    covered: bool = False
    renewable: list[Text] = []


class WearSign(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A look that does not go with age alone, in words, with everyday causes that give it too."""

    id: Text
    mismatch: Text
    ordinary: Annotated[list[Text], msgspec.Meta(min_length=1)]


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    schema: Literal["heelstamp/wear/1"]
    source: Text
    grades: Annotated[list[Text], msgspec.Meta(min_length=2)]
    labels: dict[str, Text] = {}
    relation: list[Relation]
    sign: list[WearSign]


@dataclass(frozen=True)
class WearTable:
    """A table that was read.

    Attributes
    ----------
    grades
        From no wear upwards.
    labels
        Where on a part wear is graded, by part.
    digest
        SHA-256 of the document's canonical JSON.
    """

    source: str
    grades: tuple[str, ...]
    labels: Mapping[str, str]
    relations: tuple[Relation, ...]
    signs: tuple[WearSign, ...]
    digest: str

    @property
    def parts(self) -> tuple[str, ...]:
        """Parts that some relation names, in order."""
        return tuple(dict.fromkeys(part for row in self.relations for part in row.parts))

    def sign(self, id_: str) -> WearSign | None:
        """Find a look by its id."""
        return next((one for one in self.signs if one.id == id_), None)


def parse_wear_table(data: Mapping[str, Any], *, where: str) -> WearTable:
    """Read a wear table from plain values.

    Raises
    ------
    InputError
        Not of this schema, an unknown or missing field, bounds that fall back or are wider than
        the grades, a relation of a part with itself, or a pair or sign given twice.
    """
    document = convert(data, _Document, where=where)
    pairs: set[frozenset[str]] = set()
    widest = len(document.grades) - 1
    for number, row in enumerate(document.relation, start=1):
        place = f"{where}, relation {number}"
        if not -widest <= row.least <= row.most <= widest:
            raise InputError(
                "bounds that no two grades could keep, or that fall back",
                where=place,
                received=f"least {row.least}, most {row.most}",
                remedy=f"Differences of grades lie from {-widest} to {widest}.",
            )
        pair = frozenset(row.parts)
        if len(pair) == 1 or pair in pairs or not set(row.renewable) <= pair:
            raise InputError(
                "a relation is of two different parts, is given once, and renews no third",
                where=place,
                received=", ".join((*row.parts, *row.renewable)),
                remedy="Correct the parts, or remove the row.",
            )
        pairs.add(pair)
    ids = [one.id for one in document.sign]
    twice = sorted({one for one in ids if ids.count(one) > 1})
    if twice:
        raise InputError(
            "a sign is given twice", where=where, received=twice[0], remedy="Remove one."
        )
    return WearTable(
        document.source,
        tuple(document.grades),
        document.labels,
        tuple(document.relation),
        tuple(document.sign),
        digest_of(dict(data)),
    )
