"""The setup's readings among a dossier's measurements, by what their quantity says in words.

A measurement's quantity is free text; these words are understood, in any order after the first:

- ``relief at the 8th fret, capo at the 1st`` with ``tuned down a tone`` (or ``a semitone``, ``3
  semitones``), ``strings off``, ``new strings``, ``predicted``, ``intended``, ``held at the 16th``
- ``action at the 12th fret, treble`` (or ``bass``) with ``new strings``, ``predicted`` and
  ``intended``
- ``scale length``; ``number of frets``; ``fret at the joint``
- ``thickness of the shim``; ``length of the pocket``
- ``intonation at the 12th fret, 3rd string``; ``worst intonation error``
- ``height of fret 7``; ``place of fret 7``; ``clearance over the 1st fret, held at the 3rd, 6th
  string``; ``clearance over the 1st fret, open, treble``
- ``temperature inside the case``, ``temperature of the room``, ``relative humidity of the room``

Quantities with other words are none of a setup's and are left alone.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from heelstamp.catalogue import DossierState, Measurement
from heelstamp.errors import HeelstampError
from heelstamp.mechanics import Estimate

Role = Literal["read", "predicted", "intended"]
Side = Literal["treble", "bass", ""]

# subject: (pattern of the beginning, unit, standard uncertainty taken when none was recorded)
_SUBJECTS: dict[str, tuple[str, str, float]] = {
    "relief": (r"relief\b", "mm", 0.03),
    "action": (r"action\b", "mm", 0.05),
    "scale": (r"scale length\b", "mm", 0.5),
    "frets": (r"number of frets\b", "1", 0.0),
    "joint": (r"fret at the joint\b", "1", 0.0),
    "shim": (r"thickness of the shim\b", "mm", 0.02),
    "pocket": (r"length of the pocket\b", "mm", 0.5),
    "intonation": (r"intonation\b", "cent", 1.0),
    "worst intonation": (r"worst intonation error\b", "cent", 1.0),
    "fret height": (r"height of fret \d+\b", "mm", 0.02),
    "fret place": (r"place of fret \d+\b", "mm", 0.1),
    "nut clearance": (r"clearance over the 1st fret\b", "mm", 0.03),
    "saddle": (r"saddle (?:lowered|raised)\b", "mm", 0.05),
    "tension": (r"string tension\b", "N", 0.0),
    "case temperature": (r"temperature inside the case\b", "°C", 0.5),
    "room temperature": (r"temperature of the room\b", "°C", 0.5),
    "humidity": (r"relative humidity of the room\b", "% RH", 3.0),
    "weight": (r"weight without case\b", "g", 2.0),
    "rod drive": (r"across flats of the rod\b", "mm", 0.02),
    "rod key": (r"across flats of the key\b", "mm", 0.02),
}
_NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5}
_DOWN = re.compile(r"tuned down (a|\d+|two|three|four|five) (tone|semitone)s?")
_ORDINAL = r"(\d+)(?:st|nd|rd|th)"


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of the setup.

    Attributes
    ----------
    value
        In the subject's unit; its source of uncertainty is the id of the entry.
    role
        Read, predicted or intended.
    new_strings
        Whether it was read under the new set, before anything else was moved.
    fret, capo, held, string
        As named; None when not.
    down
        Semitones that all strings were tuned down; None with the strings off.
    uncertainty_taken
        Whether the entry gave no uncertainty and the usual one was taken.
    """

    id: str
    subject: str
    value: Estimate
    stage: str
    role: Role
    side: Side
    new_strings: bool
    fret: int | None
    capo: int | None
    held: int | None
    string: int | None
    down: float | None
    uncertainty_taken: bool


@dataclass(frozen=True, slots=True)
class SetupRecord:
    """All readings of a setup, in the order of entry."""

    readings: tuple[Reading, ...]

    def of(self, subject: str, **wanted: object) -> tuple[Reading, ...]:
        """Give the readings of a subject whose fields are as *wanted*."""
        return tuple(
            one
            for one in self.readings
            if one.subject == subject and all(getattr(one, k) == v for k, v in wanted.items())
        )

    def last(self, subject: str, **wanted: object) -> Reading | None:
        """Give the latest of them, or None."""
        found = self.of(subject, **wanted)
        return found[-1] if found else None


def read_record(state: DossierState) -> SetupRecord:
    """Pick out a setup's readings."""
    found = [reading_of(one) for one in state.measurements.values()]
    return SetupRecord(tuple(one for one in found if one is not None))


def reading_of(body: Measurement) -> Reading | None:
    """Read one measurement, or give None when it is none of a setup's."""
    words = " ".join(body.quantity.lower().split())
    subject = next((name for name, row in _SUBJECTS.items() if re.match(row[0], words)), None)
    if subject is None:
        return None
    _, unit, usual = _SUBJECTS[subject]
    try:
        measured = body.measured.to(unit)
    except HeelstampError:
        return None  # a quantity of another kind that happens to begin alike
    value, uncertainty = measured.value, measured.uncertainty
    if subject == "saddle" and words.startswith("saddle lowered"):
        value = -value
    return Reading(
        id=body.id,
        subject=subject,
        value=Estimate.of(value, uncertainty or usual, body.id),
        stage=body.stage,
        role="predicted" if "predicted" in words else "intended" if "intended" in words else "read",
        side="treble" if "treble" in words else "bass" if "bass" in words else "",
        new_strings="new strings" in words,
        fret=_number(rf"at the {_ORDINAL} fret|of fret (\d+)", words),
        capo=_number(rf"capo at the {_ORDINAL}", words),
        held=_number(rf"held at the {_ORDINAL}", words),
        string=_number(rf"{_ORDINAL} string", words),
        down=_down(words),
        uncertainty_taken=uncertainty == 0 and usual > 0,
    )


def _number(pattern: str, words: str) -> int | None:
    match = re.search(pattern, words)
    return next((int(one) for one in match.groups() if one), None) if match else None


def _down(words: str) -> float | None:
    if "strings off" in words:
        return None
    match = _DOWN.search(words)
    if match is None:
        return 0.0
    count = 1 if match[1] == "a" else _NUMBERS.get(match[1]) or int(match[1])
    return float(count * (2 if match[2] == "tone" else 1))
