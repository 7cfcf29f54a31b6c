"""How often, and for how long, a switch bounces when it is thrown.

Each contact that makes or breaks is a click. Clicks of one throw lie close together; throws are
made apart. Resolution is that of the 0.5 ms window: contacts less than a millisecond apart count as
one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelstamp.acoustics.control_events import Event

RESOLUTION_S = 0.001
APART_S = 0.15
"""Throws of the hand are farther apart. Judgement."""


@dataclass(frozen=True, slots=True)
class Throw:
    """One throw: when it began (s), its clicks, and from the first to the last of them (s)."""

    at_s: float
    clicks: int
    duration_s: float


def throws(events: Sequence[Event]) -> tuple[Throw, ...]:
    """Group events, found with a merging time of `RESOLUTION_S`, into throws."""
    groups: list[list[Event]] = []
    for one in events:
        if groups and one.at_s - groups[-1][-1].at_s <= APART_S:
            groups[-1].append(one)
        else:
            groups.append([one])
    return tuple(
        Throw(group[0].at_s, len(group), group[-1].at_s - group[0].at_s) for group in groups
    )
