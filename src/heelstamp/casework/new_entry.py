"""What a device says of an entry it made: its id, and when it was made if that was earlier.

A device gives the id, so that what it sends twice is entered once. An entry that reaches the shop
late keeps the time at which it was made in a field of its own: the journal's time is that of
entering.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

from heelstamp.catalogue.entries import parse_time
from heelstamp.errors import InputError


class NewEntry(NamedTuple):
    """An entry to be made: its kind, and its body as the journal's schema has it."""

    kind: str
    body: Mapping[str, Any]


LATE = timedelta(minutes=2)
"""An entry that reaches the shop later than this after it was made says when it was made."""


@dataclass(frozen=True, slots=True)
class EntryStamp:
    """Id of the entry to be made, the time at which the device took it or empty, the time now."""

    id: str
    made: str
    at: str

    @property
    def late(self) -> dict[str, str]:
        """Field ``made`` of the entry, where it was not made just now; else nothing.

        Raises
        ------
        InputError
            The time cannot be read, or has no zone.
        """
        if not self.made:
            return {}
        taken, entered = parse_time(self.made, where="field made"), parse_time(self.at)
        if taken.tzinfo is None:
            raise InputError("a time without a zone", where="field made", received=self.made)
        return {"made": _utc(taken)} if entered - taken > LATE else {}

    def second(self, word: str) -> str:
        """An id for another entry of the same press."""
        return f"{self.id}.{word}"


def _utc(time: datetime) -> str:
    return time.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
