"""A measured value: what, where it was read, in which condition of the strings, and how sure.

Measurement is E16 of the CIDOC Conceptual Reference Model. What the quantity is stands in one word
of a closed vocabulary (`heelstamp.catalogue.bodies.quantities`) or in free words that no part of
the program reads; everything else that is known of the reading has a field of its own.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from heelstamp.catalogue.bodies.base import EntryBody, FindingDigest, Id, NotNegative, Stage, Text
from heelstamp.catalogue.bodies.quantities import DOWN, HEARD, JACK, PANEL, QUANTITIES
from heelstamp.catalogue.conversion import join_place
from heelstamp.errors import HeelstampError, InputError
from heelstamp.units import Quantity

Fret = Annotated[int, msgspec.Meta(ge=0, le=40)]
StringNumber = Annotated[int, msgspec.Meta(ge=1, le=20)]
Semitones = Annotated[float, msgspec.Meta(ge=0.0, le=24.0)]
Side = Literal["treble", "bass"]
Role = Literal["read", "predicted", "intended"]
Strings = Literal["on", "off", "new"]

_NEVER_NEGATIVE = frozenset({"mass", "resistance", "capacitance", "inductance", "irradiance"})
_ABSOLUTE_ZERO_C = -273.15  # SI Brochure, 9th ed., 2.3.1: 0 K


class _Part(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """A record within a measurement."""


class Place(_Part, frozen=True):
    """Where on the neck and strings a reading was taken.

    Attributes
    ----------
    fret
        Over which fret; of fret heights and places, of which fret.
    capo, held
        Fret at which a capo sat, and at which the string was held down.
    string
        Number of the string, the highest sounding first.
    side
        Treble or bass.
    """

    fret: Fret | None = None
    capo: Fret | None = None
    held: Fret | None = None
    string: StringNumber | None = None
    side: Side | None = None


class AtJack(_Part, frozen=True):
    """How the controls stood for a reading at the jack.

    Attributes
    ----------
    volume
        Full; swept slowly, the greatest reading counts; at nothing.
    selector
        Which pickup is on, as ``neck pickup``; empty where there is but one.
    """

    volume: Literal["full", "swept", "nothing"]
    selector: str = ""


class PanelShot(_Part, frozen=True):
    """One channel of a photograph of the reference panel under the lamp.

    Attributes
    ----------
    settings
        The camera's, as it writes them.
    stray_light
        Whether stray light was taken away.
    """

    channel: Literal["red", "green", "blue"]
    settings: str = ""
    stray_light: Literal["taken away", "unknown"] = "unknown"


class Heard(_Part, frozen=True):
    """The recordings a value was heard in.

    Attributes
    ----------
    recordings
        Ids, in the order in which the finding takes them.
    note
        Name of the nearest note, as ``E2``; of a pitch.
    finding
        Digest of the finding.
    """

    recordings: list[Id] = msgspec.field(default_factory=list)
    note: str = ""
    finding: FindingDigest | None = None


class Measurement(EntryBody, frozen=True):
    """A value with unit and standard uncertainty (0: not known), as found, planned or final.

    Attributes
    ----------
    role
        Read; predicted by the plan; intended by a person.
    at
        Where it was read.
    down
        Semitones that all strings were tuned down.
    strings
        On as they were; off; or the new set, before rod and saddles were moved.
    tool, typed
        What it was read with, and how it was typed where that was in another unit.
    """

    id: Id
    quantity: Text
    part: Text
    value: float
    unit: str
    stage: Stage
    uncertainty: NotNegative = 0.0
    role: Role = "read"
    at: Place | None = None
    down: Semitones = 0.0
    strings: Strings = "on"
    jack: AtJack | None = None
    panel: PanelShot | None = None
    heard: Heard | None = None
    temperature: float | None = None
    tool: str = ""
    typed: str = ""
    frames: list[Id] = msgspec.field(default_factory=list)
    note: str = ""

    @property
    def measured(self) -> Quantity:
        """The value as a quantity."""
        return Quantity(self.value, self.unit, self.uncertainty)

    @property
    def place(self) -> Place:
        """Where it was read; nowhere in particular when not told."""
        return self.at if self.at is not None else Place()


def check_measurement(body: Measurement, where: str) -> None:
    """Refuse an impossible value, and fields that the quantity does not have.

    Raises
    ------
    InputError
        Names the field.
    """
    _check_value(body, where)
    row = QUANTITIES.get(body.quantity)
    if row is None:
        _refuse_fields(body, (DOWN,), where)
        return
    if body.measured.kind != Quantity(0.0, row.unit).kind:
        raise InputError(
            f"{body.quantity} is not measured in {body.unit}",
            where=join_place(where, "field unit"),
            received=body.unit,
            remedy=f"Give it in {row.unit}, or in another unit of the same kind.",
        )
    _refuse_fields(body, row.fields, where)
    for name in Place.__struct_fields__:
        if getattr(body.place, name) is not None and name not in row.place:
            raise InputError(
                f"{body.quantity} has no {name}",
                where=join_place(where, f"field at.{name}"),
                received=getattr(body.place, name),
                remedy="It has " + (", ".join(row.place) or "no place") + ".",
            )
    for name in (JACK, PANEL):
        if name in row.fields and getattr(body, name) is None:
            raise InputError(
                f"{body.quantity} does not say how it was read",
                where=join_place(where, f"field {name}"),
                remedy=f"Give {name}.",
            )


def _refuse_fields(body: Measurement, allowed: tuple[str, ...], where: str) -> None:
    for name in (DOWN, JACK, PANEL, HEARD):
        if getattr(body, name) and name not in allowed:
            raise InputError(
                f"{body.quantity} has no such field",
                where=join_place(where, f"field {name}"),
                remedy="Take it out, or give the quantity that has it: "
                + ", ".join(key for key, row in QUANTITIES.items() if name in row.fields)
                + ".",
            )


def _check_value(body: Measurement, where: str) -> None:
    try:
        measured = body.measured
    except HeelstampError as error:
        raise InputError(
            error.what,
            where=join_place(where, "field unit"),
            received=error.received,
            remedy=error.remedy,
        ) from None
    below = measured.kind in _NEVER_NEGATIVE and body.value < 0
    if below or (measured.kind == "temperature" and measured.to("°C").value < _ABSOLUTE_ZERO_C):
        raise InputError(
            f"a {measured.kind} cannot be so low",
            where=join_place(where, "field value"),
            received=f"{body.value:g} {body.unit}",
            remedy="Measure again, or correct the sign or unit.",
        )
    if body.temperature is not None and body.temperature < _ABSOLUTE_ZERO_C:
        raise InputError(
            "colder than absolute zero",
            where=join_place(where, "field temperature"),
            received=body.temperature,
            remedy="Give the room's temperature in °C.",
        )
