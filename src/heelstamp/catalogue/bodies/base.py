"""What every body of an entry shares: field types, the frozen record, and how times are read."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

import msgspec

from heelstamp.errors import InputError

Id = Annotated[str, msgspec.Meta(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.:-]*$", max_length=64)]
Text = Annotated[str, msgspec.Meta(pattern=r"\S", max_length=4000)]
FileDigest = Annotated[str, msgspec.Meta(pattern=r"^[0-9a-f]{64}$")]
FindingDigest = Annotated[str, msgspec.Meta(pattern=r"^[0-9a-f]{12,64}$")]
"""SHA-256 of a finding; entries of form 1 kept its first digits only."""
Share = Annotated[float, msgspec.Meta(ge=0.0, le=1.0)]
NotNegative = Annotated[float, msgspec.Meta(ge=0.0)]
Count = Annotated[int, msgspec.Meta(ge=0, le=10_000)]
Day = Annotated[str, msgspec.Meta(pattern=r"^\d{4}-\d\d-\d\d$")]
Instant = Annotated[str, msgspec.Meta(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?Z$")]
"""A moment in UTC."""
Stage = Literal["found", "plan", "final"]


class EntryBody(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True, kw_only=True
):
    """What every body shares: nothing unknown, nothing changed afterwards.

    Attributes
    ----------
    made
        When a device made the entry, where it reached the shop late; the journal's own time is
        that of entering.
    public
        The words that a person typed in it may go to buyers and insurers.
    """

    made: Instant | None = None
    public: bool = False


class Reasoned(EntryBody, frozen=True):
    """What a person decided, and why."""

    id: Id
    reason: Text


def parse_time(text: str, *, where: str = "") -> datetime:
    """Read an ISO 8601 date and time; without an offset it is a local time of unknown zone.

    Raises
    ------
    InputError
        Another form, or a date that is not in the calendar.
    """
    try:
        return datetime.fromisoformat(text)
    except (ValueError, TypeError):
        raise InputError(
            "not a date and time",
            where=where,
            received=text,
            remedy="Write it as 2026-11-02T09:14:00Z.",
        ) from None
