"""The door: who hands the instrument over, what may be done to it, what lay in its case.

What may follow in custody is asked of the table in `heelstamp.catalogue.custody`; acts that need
the owner's word are those of the parts tree, with acts of treatment that a shop asks consent
for as a matter of common practice (no source). The case stays shut until what
`heelstamp.casework.setup` computes from its readings is past; a clock runs to that moment and then
asks for a reading, it does not say that the case may be opened. *Not asked* is an answer beside
*granted* and *refused*: to choose it takes back what was recorded.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.setup.acclimatisation import SAME_STAY_H, case_advice, taken_at
from heelstamp.casework.setup.records import Reading, read_record
from heelstamp.catalogue import Custody, DossierState, Measurement, PartsTree
from heelstamp.catalogue.bodies.quantities import (
    CASE_TEMPERATURE,
    HUMIDITY,
    QUANTITIES,
    ROOM_TEMPERATURE,
)
from heelstamp.catalogue.custody import HAND_OVERS, possible_events
from heelstamp.errors import InputError

ANSWERS = ("granted", "refused", "not asked")
ALSO_ASKED = ("turn rod", "clean finish", "clean control", "open a solder joint")
"""Acts of treatment for which consent is asked besides the openings."""
CLIMATE: Mapping[str, tuple[str, float]] = {
    "case": (CASE_TEMPERATURE, 0.5),
    "room": (ROOM_TEMPERATURE, 0.5),
    "humidity": (HUMIDITY, 3.0),
}
"""Field: quantity, and the standard uncertainty of a common probe (no source)."""
NO_ROOM = "Whether it may be opened needs the temperature and humidity of the room: read both."
SHUT_CAUTION = (
    "In a case that is opened cold the lacquer gets wet and is shocked: cracks that come now stay. "
    "Leave it shut, flat, away from heaters and sun; do not warm it."
)
"""Common practice, no source."""
LEAST_WEIGHT_G = 300.0
"""Below it a weight is taken for one in kilograms (judgement)."""
SCALE_G = 2.0
"""Uncertainty of a bench scale, g: taken when none is told (common practice)."""


@dataclass(frozen=True, slots=True)
class Passing:
    """A change of custody that is possible now; *hands*: both hands are to be named."""

    event: str
    hands: bool


@dataclass(frozen=True, slots=True)
class Asking:
    """Where the owner stands on one act, and what it opens."""

    act: str
    opens: str
    standing: str
    condition: str


@dataclass(frozen=True, slots=True)
class ShutCase:
    """Whether the case may be opened, and when to look again.

    Attributes
    ----------
    readings
        Temperatures in the case with their times, of this stay, the last one last.
    until, until_95
        Instants (ISO 8601, UTC) at which the best value, and 95 of 100 such cases, clear the dew
        point by the margin; empty when not known.
    """

    open_now: bool
    told: tuple[str, ...]
    readings: tuple[tuple[str, str], ...]
    until: str = ""
    until_95: str = ""


@dataclass(frozen=True, slots=True)
class DoorView:
    """What the door shows."""

    custody: str
    passings: tuple[Passing, ...]
    last: Custody | None
    weights: tuple[tuple[str, Custody], ...]
    climate: Mapping[str, Measurement | None]
    askings: tuple[Asking, ...]
    shut: ShutCase | None


def door_view(state: DossierState, tree: PartsTree) -> DoorView:
    """What the door shows of a dossier."""
    passed = list(state.custody.values())
    return DoorView(
        state.custody_state,
        tuple(Passing(one, one in HAND_OVERS) for one in possible_events(state.custody_state)),
        passed[-1] if passed else None,
        tuple((state.entered[one.id].at[:10], one) for one in passed if one.weight_g is not None),
        {field: _latest(state, row[0]) for field, row in CLIMATE.items()},
        tuple(_asking(state, tree, act) for act in acts_asked(state, tree)),
        shut_case(state),
    )


def shut_case(state: DossierState) -> ShutCase | None:
    """Judge the closed case; None while nothing was read in it."""
    record = read_record(state)
    inside = [(taken_at(state, one), one) for one in record.of("case temperature")]
    timed = sorted(((at, one) for at, one in inside if at is not None), key=_first)
    if not timed:
        return None
    this_stay = timed[-1][0] - timedelta(hours=SAME_STAY_H)
    rows = tuple((iso(at), f"{one.value.value:.1f} °C") for at, one in timed if at >= this_stay)
    try:
        advice = case_advice(state, record)
    except InputError as error:
        return ShutCase(False, (str(error),), rows)
    if advice is None:
        return ShutCase(False, (NO_ROOM,), rows)
    last = timed[-1][0]
    until, until_95 = (
        iso(last + timedelta(hours=hours)) if hours and not advice.open_now else ""
        for hours in (advice.wait_h, advice.wait_to_h)
    )
    told = advice.reasons if advice.open_now else (*advice.reasons, SHUT_CAUTION)
    return ShutCase(advice.open_now, told, rows, until, until_95)


def acts_asked(state: DossierState, tree: PartsTree) -> tuple[str, ...]:
    """The acts to ask for: openings, usual treatments, and whatever else was asked."""
    openings = [one.act for one in tree.openings if one.act and one.consent]
    asked = [one.act for one in state.consents.values()]
    return tuple(dict.fromkeys((*openings, *ALSO_ASKED, *asked)))


def custody_entries(
    state: DossierState,
    stamp: EntryStamp,
    *,
    event: str,
    giver: str,
    receiver: str,
    place: str,
    weight_g: float | None,
    uncertainty_g: float | None,
    note: str,
) -> list[NewEntry]:
    """The change of custody to enter; nothing when this device entered it already."""
    if stamp.id in state.entered:
        return []
    body: dict[str, Any] = {
        "id": stamp.id,
        "event": event,
        "giver": giver.strip(),
        "receiver": receiver.strip(),
        "place": place.strip(),
        "note": note.strip(),
        **stamp.late,
    }
    if weight_g is not None:
        if weight_g < LEAST_WEIGHT_G:
            raise InputError(
                "no instrument is so light",
                where="weight",
                received=f"{weight_g:g} g",
                remedy="Weigh in grams: 3.6 kg is 3600.",
            )
        body["weight_g"] = weight_g
        body["weight_uncertainty_g"] = SCALE_G if uncertainty_g is None else uncertainty_g
    return [NewEntry("custody", {key: one for key, one in body.items() if one != ""})]


def consent_entries(
    state: DossierState, stamp: EntryStamp, *, act: str, answer: str, by: str, condition: str
) -> list[NewEntry]:
    """The owner's word to enter, or the withdrawal of it; nothing when it stands so.

    Raises
    ------
    InputError
        Another answer than the three.
    """
    if answer not in ANSWERS:
        raise InputError("no such answer", received=answer, remedy=f"One of {', '.join(ANSWERS)}.")
    if stamp.id in state.entered:
        return []
    leave = state.leave(act)
    if answer == "not asked":
        given = [one.id for one in state.consents.values() if one.act == act]
        return [
            NewEntry(
                "correction",
                {
                    "id": stamp.id if number == 0 else stamp.second(str(number)),
                    "corrects": one,
                    "reason": "taken back: not asked",
                    "replacement": None,
                    **stamp.late,
                },
            )
            for number, one in enumerate(given)
        ]
    if leave.standing == answer and leave.condition == condition.strip():
        return []
    body = {
        "id": stamp.id,
        "act": act,
        "granted": answer == "granted",
        "by": by.strip(),
        "condition": condition.strip(),
        **stamp.late,
    }
    return [NewEntry("consent", body)]


def climate_entries(
    state: DossierState, stamp: EntryStamp, readings: Mapping[str, float | None]
) -> list[NewEntry]:
    """The readings of case and room to enter.

    Raises
    ------
    InputError
        None was given.
    """
    told = {field: value for field, value in readings.items() if value is not None}
    if not told:
        raise InputError("no reading", remedy="Give the temperature in the case, or the room's.")
    if stamp.second(next(iter(told))) in state.entered:
        return []
    entries: list[NewEntry] = []
    for field, value in told.items():
        quantity, uncertainty = CLIMATE[field]
        body = {
            "id": stamp.second(field),
            "quantity": quantity,
            "part": "case",
            "value": value,
            "unit": QUANTITIES[quantity].unit,
            "uncertainty": uncertainty,
            "stage": "found",
            **stamp.late,
        }
        entries.append(NewEntry("measurement", body))
    return entries


def contents_entries(
    state: DossierState, stamp: EntryStamp, *, item: str, link: str, frames: list[str], note: str
) -> list[NewEntry]:
    """A thing found in the case to enter."""
    if stamp.id in state.entered:
        return []
    body = {
        "id": stamp.id,
        "item": item.strip(),
        "link": link,
        "frames": frames,
        "note": note.strip(),
        **stamp.late,
    }
    return [NewEntry("contents", body)]


def statement_entries(
    state: DossierState, stamp: EntryStamp, *, role: str, about: str, text: str, signed: bool
) -> list[NewEntry]:
    """What somebody says of the instrument, to enter; nothing when this device entered it already.

    Parameters
    ----------
    role
        Who says it, never by name: ``a consignor``.
    signed
        Whether it is signed by whoever says it.
    """
    if stamp.id in state.entered:
        return []
    body = {
        "id": stamp.id,
        "role": role.strip(),
        "about": about.strip(),
        "text": text.strip(),
        "signed": signed,
        **stamp.late,
    }
    return [NewEntry("statement", body)]


def _asking(state: DossierState, tree: PartsTree, act: str) -> Asking:
    leave = state.leave(act)
    opens = next((one.label for one in tree.openings if one.act == act), "")
    return Asking(act, opens, leave.standing, leave.condition)


def iso(time: datetime) -> str:
    """Write an instant in UTC, to the second."""
    return time.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _first(row: tuple[datetime, Reading]) -> datetime:
    return row[0]


def _latest(state: DossierState, quantity: str) -> Measurement | None:
    found = [one for one in state.measurements.values() if one.quantity == quantity]
    return found[-1] if found else None
