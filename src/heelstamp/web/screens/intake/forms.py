"""Forms of Intake."""

from __future__ import annotations

from pydantic import Field

from heelstamp.web.forms import EntryForm, Humidity, Ids, Line, Number, Prose, Word


class Custody(EntryForm):
    """A change of custody, with the weight if it was weighed; *screen* is where it was entered."""

    event: Word
    giver: Word = ""
    receiver: Word = ""
    place: Word = ""
    weight_g: Number = None
    uncertainty_g: Number = None
    note: Prose = ""
    screen: Word = ""


class Consent(EntryForm):
    """The owner's word on one act, or its taking back."""

    act: Word
    answer: Word
    by: Word = "a consignor"
    condition: Line = ""


class Climate(EntryForm):
    """Temperature inside the closed case and of the room in °C, its relative humidity in %."""

    case: Number = None
    room: Number = None
    humidity: Humidity = None


class Found(EntryForm):
    """A thing found in the case, and what ties it to the instrument."""

    item: Line
    link: Word
    frames: Ids = Field(default_factory=list)
    note: Prose = ""
    public: bool = False


class Said(EntryForm):
    """What somebody says of the instrument, by role and never by name."""

    role: Word
    about: Line
    text: Prose
    signed: bool = False
    public: bool = False
