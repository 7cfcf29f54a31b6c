"""The dose clock: lamp on and lamp off as entries, and how near unprotected eyes came to the limit.

*On* enters a time under the lamp that says since when; *off* corrects it with its end and the
minutes that went by. A lamp that is on is seen by every device, and any of them may
turn its clock off. Minutes are counted between the times that the devices told, so a device
without a connection counts right; the journal's own time is that of entering.

The limit is that of ``luminescence.exposure`` (ICNIRP 2004: 10⁴ J/m² within eight hours), summed by
``casework.lamp``. What it does not know: other lamps of the day, other dossiers, and whether
anyone was near. At 80 % it warns, which is judgement.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from heelstamp.casework.lamp import UNIT, LampLog, lamp_log
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.catalogue import DossierState, Exposure, body_data
from heelstamp.catalogue.bodies.quantities import IRRADIANCE
from heelstamp.catalogue.entries import parse_time
from heelstamp.errors import ConflictError, InputError
from heelstamp.luminescence.exposure import GOGGLES, UVA_EYE_LIMIT_J_M2, permitted_seconds
from heelstamp.wording import about_lamp

PART = "finish"
WARN_SHARE = 0.8
LONGEST_S = 8 * 3600.0
MOST_W_M2 = 10_000.0


@dataclass(frozen=True, slots=True)
class Clock:
    """What the clock shows.

    Attributes
    ----------
    level
        Irradiance at the eyes, W/m²; None when none was entered.
    since
        ISO time since which the lamp is on; empty when it is off.
    earlier_s, limit_s
        Seconds under the lamp today before that, and until the limit at this irradiance.
    warn_s
        Seconds at which the clock warns.
    log
        The lamp log, if there is an irradiance.
    """

    level: float | None
    since: str
    earlier_s: float
    limit_s: float | None
    warn_s: float | None
    log: LampLog | None
    cautions: tuple[str, ...] = (GOGGLES, about_lamp.one_dossier.say())


def clock_of(state: DossierState, now: str) -> Clock:
    """What the clock shows at *now* (ISO, UTC)."""
    running = lamp_on(state)
    levels = [one for one in state.measurements.values() if one.quantity == IRRADIANCE]
    log = lamp_log(state) if any(one.value > 0 for one in levels) else None
    today = now[:10]
    earlier = 60.0 * sum(
        one.minutes or 0.0
        for id_, one in state.of(Exposure).items()
        if state.entered[id_].at[:10] == today
    )
    limit = permitted_seconds(log.irradiance) if log else None
    return Clock(
        log.irradiance if log else None,
        running.since or "" if running else "",
        earlier,
        limit,
        WARN_SHARE * limit if limit is not None else None,
        log,
    )


def lamp_on(state: DossierState) -> Exposure | None:
    """Find the lamp that is on, if one is."""
    found = [one for one in state.of(Exposure).values() if one.since and one.until is None]
    return found[-1] if found else None


def irradiance_entries(state: DossierState, stamp: EntryStamp, level: float) -> list[NewEntry]:
    """The entry of an irradiance at the eyes.

    Raises
    ------
    InputError
        Not above nought, or one that no lamp at a bench has.
    """
    if stamp.id in state.entered:
        return []
    if not 0 < level <= MOST_W_M2:
        raise InputError(
            "an irradiance that no lamp at a bench has",
            where="irradiance",
            received=level,
            remedy="Give W/m² at the eyes, from the lamp's data sheet or a meter.",
        )
    return [
        NewEntry(
            "measurement",
            {
                "id": stamp.id,
                "quantity": IRRADIANCE,
                "part": PART,
                "value": level,
                "unit": UNIT,
                "stage": "found",
                "note": "at the eyes, without goggles",
                **stamp.late,
            },
        )
    ]


def on_entries(state: DossierState, stamp: EntryStamp) -> list[NewEntry]:
    """The entry of *lamp on*.

    Raises
    ------
    ConflictError
        It is on already.
    """
    if stamp.id in state.entered:
        return []
    if (running := lamp_on(state)) is not None:
        raise ConflictError(
            "the lamp is on already",
            where=state.instrument.tag,
            received=running.since,
            remedy="Turn it off first, here or on the device that turned it on.",
        )
    return [
        NewEntry("exposure", {"id": stamp.id, "part": PART, "since": _when(stamp), **stamp.late})
    ]


def off_entries(state: DossierState, stamp: EntryStamp) -> list[NewEntry]:
    """The correction that turns the clock off, with the minutes that went by.

    Raises
    ------
    ConflictError
        The lamp is off.
    InputError
        The times told are not in order, or more than eight hours apart.
    """
    if stamp.id in state.entered:
        return []
    running = lamp_on(state)
    if running is None:
        raise ConflictError("the lamp is off", where=state.instrument.tag, remedy="Turn it on.")
    since, until = str(running.since), _when(stamp)
    seconds = (parse_time(until) - parse_time(since)).total_seconds()
    if not 0 <= seconds <= LONGEST_S:
        raise InputError(
            "a time under the lamp that cannot be",
            where=state.instrument.tag,
            received=f"{since} to {until}",
            remedy="Take the entry back if the lamp was left on in the book only, or set the "
            "device's clock.",
        )
    minutes = round(max(seconds, 1.0) / 60.0, 3)
    replacement = {**body_data(running), "until": until, "minutes": minutes}
    return [
        NewEntry(
            "correction",
            {
                "id": stamp.id,
                "corrects": running.id,
                "reason": "lamp off",
                "replacement": replacement,
                **stamp.late,
            },
        )
    ]


def limit_words(clock: Clock) -> str:
    """Tell the limit at the entered irradiance, in words."""
    limit = f"{UVA_EYE_LIMIT_J_M2:.0f} J/m² in eight hours (ICNIRP 2004)"
    if clock.limit_s is None or clock.level is None:
        return f"Limit for eyes without goggles: {limit}. Enter the irradiance to count towards it."
    return f"At {clock.level:g} W/m² the limit, {limit}, is reached after {told(clock.limit_s)}."


def told(seconds: float) -> str:
    """Write a time as minutes and seconds."""
    whole = round(seconds)
    return f"{whole // 60} min {whole % 60:02d} s"


def _when(stamp: EntryStamp) -> str:
    """The time that the device told, else that of the shop, in UTC."""
    told_time = parse_time(stamp.made or stamp.at, where="field made")
    if told_time.tzinfo is None:
        raise InputError("a time without a zone", where="field made", received=stamp.made)
    now = parse_time(stamp.at)
    return _utc(min(told_time, now.astimezone(UTC)))


def _utc(time: datetime) -> str:
    return time.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
