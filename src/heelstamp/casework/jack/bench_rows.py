"""Readings at the jack as entries: volume full, the greatest in the sweep, volume at nothing.

They are what `heelstamp.casework.jack` reads. Both readings of a pickup are
entered in one press at one temperature. A reading taken again corrects the one that stands, because
two readings of the same thing would leave it open which of them counts; both stay in the journal.
The last digit typed is the last that the meter shows, and its uncertainty comes from the meter's
accuracy, ±(0.5 % + 1 digit) for a common 3½-digit meter (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.jack import JackFinding
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.setup.reading import read_plain
from heelstamp.catalogue import AtJack, DossierState, PartsTree, body_data
from heelstamp.catalogue.bodies.quantities import JACK_RESISTANCE
from heelstamp.electrics import Resonance, read_meter
from heelstamp.errors import InputError
from heelstamp.wording.about_electrics import ohms

PLACES: Mapping[str, tuple[str, str]] = {
    "full": ("full", "Volume full"),
    "sweep": ("swept", "Greatest while the knob is swept"),
    "zero": ("nothing", "Volume at nothing, if it is not 0"),
}
"""Field: how the volume stands, and what the bench calls it."""
STEPS: Mapping[str, str] = {"full": "0.01", "sweep": "0.1", "zero": "0.01"}
"""kΩ: steps of a 3½-digit meter on its ranges of 20 and 200 kΩ."""
STAGES = ("found", "final")
ROOM_C = (-10.0, 50.0)


@dataclass(frozen=True, slots=True)
class JackRow:
    """What one set of readings came to, in words; empty where it is not known."""

    name: str
    pot: str
    pickup: str
    twenty: str
    place: str
    resonance: str


def pickups_of(tree: PartsTree) -> dict[str, str]:
    """The pickups that may be on, as quantities name them: ``neck pickup``, by part."""
    return {
        key: f"{key.removeprefix('pickup').strip('_').replace('_', ' ')} pickup".strip()
        for key in tree.keys
        if key.startswith("pickup")
    }


def standing(state: DossierState, selection: str, stage: str) -> dict[str, Any]:
    """The readings that stand for a pickup at a stage, by field."""
    found = {}
    for field, (volume, _) in PLACES.items():
        how = AtJack(volume=volume, selector=selection)  # type: ignore[arg-type]
        named = [
            one for one in state.measurements.values() if one.jack == how and one.stage == stage
        ]
        if named:
            found[field] = named[-1]
    return found


def jack_entries(
    state: DossierState,
    tree: PartsTree,
    stamp: EntryStamp,
    *,
    part: str,
    stage: str,
    readings: Mapping[str, str],
    temperature: str,
) -> list[NewEntry]:
    """The readings of one pickup to enter.

    Parameters
    ----------
    readings
        By field of `PLACES`, in kΩ as the meter shows them; empty ones are left out.
    temperature
        Of the room, °C.

    Raises
    ------
    InputError
        No such pickup or stage, one of the two readings or the temperature is missing or cannot be.
    """
    pickups = pickups_of(tree)
    if part not in pickups or stage not in STAGES:
        raise InputError(
            "no such pickup or stage",
            received=f"{part}, {stage}",
            remedy=f"Pickups: {', '.join(pickups.values())}; stages: {', '.join(STAGES)}.",
        )
    if stamp.second("full") in state.entered:
        return []
    for field in ("full", "sweep"):
        if not readings.get(field, "").strip():
            raise InputError(
                "two readings are needed",
                where=PLACES[field][1],
                remedy="Read the volume full, and the greatest while the knob is swept slowly.",
            )
    degrees = read_plain(temperature, where="Room, °C")
    if not ROOM_C[0] <= degrees <= ROOM_C[1]:
        raise InputError(
            "not the temperature of a room", received=temperature, remedy="Give it in °C."
        )
    stands = standing(state, pickups[part], stage)
    entries: list[NewEntry] = []
    for field, text in readings.items():
        if not text.strip():
            continue
        body = _body(stamp, field, pickups[part], part, text) | {
            "stage": stage,
            "temperature": degrees,
        }
        if field not in stands:
            entries.append(NewEntry("measurement", body))
            continue
        earlier = stands[field]
        replacement = {key: one for key, one in body.items() if key != "made"} | {"id": earlier.id}
        if replacement != body_data(earlier):
            entries.append(
                NewEntry(
                    "correction",
                    {
                        "id": body["id"],
                        "corrects": earlier.id,
                        "reason": "read again",
                        "replacement": replacement,
                        **stamp.late,
                    },
                )
            )
    return entries


def _peak(peak: Resonance) -> str:
    at, doubt = peak.frequency_hz / 1e3, peak.frequency_standard / 1e3
    height = f"{peak.peak_db:+.1f}".replace("-", "\u2212")
    return f"{at:.2f} ± {doubt:.2f} kHz, {height} ± {peak.peak_standard:.1f} dB"


def _body(stamp: EntryStamp, field: str, selection: str, part: str, text: str) -> dict[str, Any]:
    if field == "zero" and read_plain(text, where=PLACES[field][1]) == 0.0:
        ohm, standard = 0.0, 0.0
    else:
        read_plain(text, where=PLACES[field][1])
        reading = read_meter(f"{text.strip()}k", where=PLACES[field][1])
        ohm, standard = reading.ohm, reading.standard
    return {
        "id": stamp.second(field),
        "quantity": JACK_RESISTANCE,
        "jack": {"volume": PLACES[field][0], "selector": selection},
        "part": part if field == "full" else "pot_volume",
        "value": round(ohm / 1e3, 6),
        "unit": "kΩ",
        "uncertainty": round(standard / 1e3, 5),
        **stamp.late,
    }


def jack_rows(finding: JackFinding) -> tuple[JackRow, ...]:
    """A row for each pickup and stage."""
    rows = []
    for one in finding.pickups:
        chosen, twenty, peak = one.result.chosen, one.twenty, one.resonance
        degrees = one.readings.temperature_c
        rows.append(
            JackRow(
                one.name,
                "" if chosen is None else ohms(chosen.pot.ohm, chosen.pot.standard),
                ""
                if chosen is None
                else ohms(chosen.pickup.ohm, chosen.pickup.standard)
                + ("" if degrees is None else f" at {degrees:g} °C"),
                "" if twenty is None else ohms(twenty.ohm, twenty.standard),
                "" if one.place is None else f"{one.place} the range seen",
                "" if peak is None else _peak(peak),
            )
        )
    return tuple(rows)
