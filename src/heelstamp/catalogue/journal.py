"""The envelope of one journal entry: number, time, hand, kind, body, and the link to the last.

The digest is computed and checked elsewhere (`heelstamp.archive.chain`); here it is only carried.
The body stays as it was written, so that a later edition of this program, with more fields, still
computes the digest of an old entry.

An entry of form 1 carries neither ``form`` nor ``seed``; every new one is of form 2.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Any, Literal

import msgspec

from heelstamp.catalogue.bodies.base import Text, parse_time
from heelstamp.catalogue.conversion import convert, join_place, refuse_controls
from heelstamp.errors import InputError

Digest = Annotated[str, msgspec.Meta(pattern=r"^[0-9a-f]{64}$")]
FORM_WITH_SEED = 2
SEED_PATTERN = r"^[0-9a-f]{64}$"
Seed = Annotated[str, msgspec.Meta(pattern=SEED_PATTERN)]
UtcTime = Annotated[str, msgspec.Meta(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?Z$")]


class Entry(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One entry of a dossier's journal.

    Attributes
    ----------
    seq
        Place in the chain, from 1.
    at
        UTC time of entry, ISO 8601 with ``Z``.
    by
        Role of the hand that made it, such as ``examiner A``.
    previous
        Digest of the entry before; null for the first.
    digest
        In form 1 the SHA-256 of the canonical JSON of all other fields, in form 2 the root over
        its salted fields.
    form
        1 or 2; the bodies of both may differ.
    seed
        Of form 2: 32 random bytes in hexadecimal, from which all salts follow. Who has it can try
        out what is not shown: it stays in the shop and with the consignor.
    """

    seq: Annotated[int, msgspec.Meta(ge=1)]
    at: UtcTime
    by: Text
    kind: Text
    body: dict[str, Any]
    previous: Digest | None
    digest: Digest
    form: Literal[1, 2] = 1
    seed: Seed | None = None

    def __repr__(self) -> str:
        """Name the entry; neither body nor seed is shown, as this may end in a log."""
        return f"Entry({self.seq}, {self.kind!r}, {self.digest[:12]}…)"


def parse_entry(data: object, *, where: str = "") -> Entry:
    """Read one envelope from plain values.

    Raises
    ------
    InputError
        A field is unknown, missing or of the wrong kind, the time is not in the calendar, or form
        and seed do not belong together.
    """
    _check_form(data, where)
    entry = convert(data, Entry, where=where, kept=True)
    parse_time(entry.at, where=join_place(where, "field at"))
    if (entry.previous is None) != (entry.seq == 1):
        raise InputError(
            "only the first entry has no entry before it",
            where=join_place(where, "field previous"),
            received=entry.previous if entry.previous is not None else "null",
            remedy="Give the digest of the entry before.",
        )
    return entry


def _check_form(data: object, where: str) -> None:
    """Refuse a form and seed that do not belong together, without showing the seed."""
    if not isinstance(data, Mapping) or not ("form" in data or "seed" in data):
        return
    seed = data.get("seed")
    if data.get("form") != FORM_WITH_SEED or isinstance(data["form"], bool):
        raise InputError(
            "an entry of a form that is not known",
            where=join_place(where, "field form"),
            received=data.get("form"),
            remedy="Read it with the version of Heelstamp that made it.",
        )
    if not isinstance(seed, str) or re.fullmatch(SEED_PATTERN, seed) is None:
        raise InputError(
            "no seed of an entry",
            where=join_place(where, "field seed"),
            remedy="Get the line again from where it was made.",
        )


def envelope(
    *, seq: int, at: str, by: str, kind: str, body: Mapping[str, object], previous: str | None
) -> dict[str, object]:
    """Join what is said of a new entry, checked but for the body; sealing adds the rest.

    Raises
    ------
    InputError
        The time is not UTC in the calendar, or the hand is blank or holds what is no text.
    """
    fields: dict[str, object] = {
        "seq": seq,
        "at": at,
        "by": by,
        "kind": kind,
        "body": dict(body),
        "previous": previous,
    }
    refuse_controls({"by": by, "kind": kind}, where=f"entry {seq}", lines=())
    parse_entry({**fields, "digest": "0" * 64}, where=f"entry {seq}")
    return fields
