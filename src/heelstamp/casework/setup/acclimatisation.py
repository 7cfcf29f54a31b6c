"""The cold case: kept shut until its lacquer cannot get wet or be shocked.

Reads the temperatures inside the closed case with the times at which they were entered, and the
room's temperature and humidity. In an examination file there are no times; then the dew point and
whether the last reading clears it are all that can be said. A reading that reached the shop late
counts from when the device took it. Readings more than a day before the last are
of another stay and left out: a case follows its room within hours.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from heelstamp.casework.setup.records import Reading, SetupRecord
from heelstamp.catalogue import DossierState
from heelstamp.catalogue.entries import parse_time
from heelstamp.mechanics.condensation import CaseReading, SafeToOpen, safe_to_open

SECONDS_PER_HOUR = 3600.0
SAME_STAY_H = 24.0
"""Readings of the case further apart do not belong together; judgement."""
APART_H = 1 / 3
"""Readings closer together than this tell no rate: the later counts alone; judgement."""


def case_advice(state: DossierState, record: SetupRecord) -> SafeToOpen | None:
    """Judge whether the case may be opened; None when case, room or humidity were not read."""
    inside = record.of("case temperature")
    room, humidity = record.last("room temperature"), record.last("humidity")
    if not inside or room is None or humidity is None:
        return None
    times = {one.id: taken for one in inside if (taken := taken_at(state, one)) is not None}
    if len(times) < len(inside):
        alone = (CaseReading(0.0, inside[-1].value),)
        return safe_to_open(alone, room.value, humidity.value)
    by_time = _apart({times[one.id]: one for one in inside})  # of two at one time the later entry
    last = max(by_time)
    hours = {at: (at - last).total_seconds() / SECONDS_PER_HOUR for at in sorted(by_time)}
    readings = tuple(
        CaseReading(since, by_time[at].value)
        for at, since in hours.items()
        if since >= -SAME_STAY_H
    )
    return safe_to_open(readings, room.value, humidity.value)


def _apart(by_time: Mapping[datetime, Reading]) -> dict[datetime, Reading]:
    """Readings that stand far enough apart, from the last one backwards."""
    kept: dict[datetime, Reading] = {}
    for at in sorted(by_time, reverse=True):
        if not kept or (min(kept) - at).total_seconds() >= APART_H * SECONDS_PER_HOUR:
            kept[at] = by_time[at]
    return kept


def taken_at(state: DossierState, reading: Reading) -> datetime | None:
    """When a reading was taken; None in an examination file, which has no times."""
    entered = state.entered[reading.id]
    made = state.measurements[reading.id].made
    if made is not None:
        return parse_time(made)
    return parse_time(entered.at) if entered.at else None
