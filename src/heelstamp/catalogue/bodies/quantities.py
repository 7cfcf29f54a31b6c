"""The closed vocabulary of what the program itself reads back from measurements.

A measurement's quantity is one of these words, or any other that no part of the program reads.
Each has the unit it is read in, and what else may be said of it in fields of its own: where it was
read (`FRET` and so on, fields of `heelstamp.catalogue.bodies.measurement.Place`), how far the
strings were tuned down, at which selector position, of which recordings. The words are the
bench's (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

RELIEF = "relief"
ACTION = "action"
SCALE_LENGTH = "scale length"
FRETS = "number of frets"
JOINT_FRET = "fret at the joint"
SHIM = "thickness of the shim"
POCKET = "length of the pocket"
INTONATION = "intonation"
WORST_INTONATION = "worst intonation error"
FRET_HEIGHT = "height of fret"
FRET_PLACE = "place of fret"
CROWN_HEIGHT = "height of the crown"
CROWN_WIDTH = "width of the crown"
BOARD_CHORD = "chord of the fingerboard"
BOARD_RISE = "rise of the fingerboard"
NUT_CLEARANCE = "clearance over the 1st fret"
SADDLE_LOWERED = "saddle lowered"
SADDLE_RAISED = "saddle raised"
STRING_TENSION = "string tension"
STRING_DIAMETER = "string diameter"
CASE_TEMPERATURE = "temperature inside the case"
ROOM_TEMPERATURE = "temperature of the room"
HUMIDITY = "relative humidity of the room"
WEIGHT = "weight without case"
ROD_DRIVE = "across flats of the rod"
ROD_KEY = "across flats of the key"
ROD_SLOT = "width of the slot of the rod"
ROD_BLADE = "thickness of the blade"
IRRADIANCE = "UV-A irradiance"
PANEL_GLOW = "panel glow"
JACK_RESISTANCE = "resistance at the jack"
PITCH = "pitch"
CRACKLE = "crackle events per turn"

FRET, CAPO, HELD, STRING, SIDE = "fret", "capo", "held", "string", "side"
"""Fields of a place."""
DOWN, JACK, PANEL, HEARD = "down", "jack", "panel", "heard"
"""Fields of a measurement that only some quantities have."""


@dataclass(frozen=True, slots=True)
class QuantityRow:
    """A quantity's unit, the fields of its place, and the other fields that it may have."""

    unit: str
    place: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()


QUANTITIES: dict[str, QuantityRow] = {
    RELIEF: QuantityRow("mm", (FRET, CAPO, HELD, STRING, SIDE), (DOWN,)),
    ACTION: QuantityRow("mm", (FRET, CAPO, STRING, SIDE), (DOWN,)),
    SCALE_LENGTH: QuantityRow("mm"),
    FRETS: QuantityRow("1"),
    JOINT_FRET: QuantityRow("1"),
    SHIM: QuantityRow("mm"),
    POCKET: QuantityRow("mm"),
    INTONATION: QuantityRow("cent", (FRET, STRING), (HEARD,)),
    WORST_INTONATION: QuantityRow("cent"),
    FRET_HEIGHT: QuantityRow("mm", (FRET, STRING, SIDE)),
    FRET_PLACE: QuantityRow("mm", (FRET,)),
    CROWN_HEIGHT: QuantityRow("mm", (FRET, STRING, SIDE)),
    CROWN_WIDTH: QuantityRow("mm", (FRET, STRING, SIDE)),
    BOARD_CHORD: QuantityRow("mm", (FRET,)),
    BOARD_RISE: QuantityRow("mm", (FRET,)),
    NUT_CLEARANCE: QuantityRow("mm", (HELD, STRING, SIDE), (DOWN,)),
    SADDLE_LOWERED: QuantityRow("mm", (STRING, SIDE)),
    SADDLE_RAISED: QuantityRow("mm", (STRING, SIDE)),
    STRING_TENSION: QuantityRow("N", (STRING,)),
    STRING_DIAMETER: QuantityRow("mm", (STRING,)),
    CASE_TEMPERATURE: QuantityRow("°C"),
    ROOM_TEMPERATURE: QuantityRow("°C"),
    HUMIDITY: QuantityRow("% RH"),
    WEIGHT: QuantityRow("g"),
    ROD_DRIVE: QuantityRow("mm"),
    ROD_KEY: QuantityRow("mm"),
    ROD_SLOT: QuantityRow("mm"),
    ROD_BLADE: QuantityRow("mm"),
    IRRADIANCE: QuantityRow("W/m²"),
    PANEL_GLOW: QuantityRow("1", (), (PANEL,)),
    JACK_RESISTANCE: QuantityRow("kΩ", (), (JACK,)),
    PITCH: QuantityRow("Hz", (), (HEARD,)),
    CRACKLE: QuantityRow("1/turn", (), (HEARD,)),
}
