"""The machine's clock against the journal: where time runs back, times are not sure.

A journal only grows, so an entry cannot have been made before the one it follows. Where its time
says so, a clock was set wrongly, and nobody can tell from the journal alone at which of the two
entries. The new entry is kept all the same, and a note of its own says that the clock is unsure.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Literal

from heelstamp.catalogue.bodies.base import EntryBody, Id, Instant

SLACK = timedelta(minutes=2)
"""Two machines that write to one shop, and entries that waited for their turn, differ so much."""


class Clock(EntryBody, frozen=True):
    """A note that the clock ran back against the journal: the times around it are not sure.

    ``last`` is the time of the entry that went before the ones entered with this note.
    """

    id: Id
    clock: Literal["unsure"]
    last: Instant


def ran_back(last: str, at: str) -> bool:
    """Whether a clock that gives *at* was set back since *last*, by more than writers differ."""
    return datetime.fromisoformat(last) - datetime.fromisoformat(at) > SLACK


def unsure_times(times: Sequence[str]) -> frozenset[int]:
    """Places, from 0, of the entries whose times contradict that of another.

    Parameters
    ----------
    times
        UTC times in the order of the journal; empty ones are passed over.
    """
    read = [datetime.fromisoformat(one) if one else None for one in times]
    found = set()
    latest: datetime | None = None
    for place, time in enumerate(read):
        if time is None:
            continue
        if latest is not None and latest - time > SLACK:
            found.add(place)
        latest = time if latest is None else max(latest, time)
    earliest: datetime | None = None
    for place in range(len(read) - 1, -1, -1):
        time = read[place]
        if time is None:
            continue
        if earliest is not None and time - earliest > SLACK:
            found.add(place)
        earliest = time if earliest is None else min(earliest, time)
    return frozenset(found)
