"""The envelope of one journal entry: number, time, hand, kind, body, and the link to the last.

The digest is computed and checked elsewhere (`heelstamp.archive.chain`); here it is only carried.
The body stays as it was written, so that a later edition of this program, with more fields, still
computes the digest of an old entry.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import msgspec

from heelstamp.catalogue.conversion import convert, join_place, refuse_controls
from heelstamp.catalogue.entries import parse_time
from heelstamp.catalogue.observations import Text
from heelstamp.errors import InputError

Digest = Annotated[str, msgspec.Meta(pattern=r"^[0-9a-f]{64}$")]
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
        SHA-256 of the canonical JSON of all other fields.
    """

    seq: Annotated[int, msgspec.Meta(ge=1)]
    at: UtcTime
    by: Text
    kind: Text
    body: dict[str, Any]
    previous: Digest | None
    digest: Digest


def parse_entry(data: object, *, where: str = "") -> Entry:
    """Read one envelope from plain values.

    Raises
    ------
    InputError
        A field is unknown, missing or of the wrong kind, or the time is not in the calendar.
    """
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


def envelope(
    *, seq: int, at: str, by: str, kind: str, body: Mapping[str, object], previous: str | None
) -> dict[str, object]:
    """Give the fields that the digest covers, checked but for the body.

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
