"""The cold case: kept shut until its lacquer cannot get wet or be shocked.

Reads the temperatures inside the closed case with the times at which they were entered, and the
room's temperature and humidity. In an examination file there are no times; then the dew point and
whether the last reading clears it are all that can be said.
"""

from __future__ import annotations

from heelstamp.casework.setup.records import SetupRecord
from heelstamp.catalogue import DossierState
from heelstamp.catalogue.entries import parse_time
from heelstamp.mechanics.condensation import CaseReading, SafeToOpen, safe_to_open

SECONDS_PER_HOUR = 3600.0


def case_advice(state: DossierState, record: SetupRecord) -> SafeToOpen | None:
    """Judge whether the case may be opened; None when case, room or humidity were not read."""
    inside = record.of("case temperature")
    room, humidity = record.last("room temperature"), record.last("humidity")
    if not inside or room is None or humidity is None:
        return None
    times = [state.entered[one.id].at for one in inside]
    if all(times):
        start = parse_time(times[0])
        hours = [(parse_time(at) - start).total_seconds() / SECONDS_PER_HOUR for at in times]
        readings = tuple(CaseReading(at, one.value) for at, one in zip(hours, inside, strict=True))
    else:
        readings = (CaseReading(0.0, inside[-1].value),)
    return safe_to_open(readings, room.value, humidity.value)
