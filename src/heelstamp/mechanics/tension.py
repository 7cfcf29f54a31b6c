"""Tension of strings at pitch, of a whole set, and what a change of set or tuning does to it.

T = μ (2 L f)² for an ideal string of mass per metre μ and sounding length L at frequency f
(Mersenne's law; any handbook of acoustics). Stiffness raises f by less than 0.5 cent at the open
string and is left out, which overstates T by less than 0.06 %. The sounding length is taken as the
scale length for every string; the saddles' set-back of 1 to 4 mm would add 0.3 to 1.2 %, alike for
two sets on one instrument. Notes are those of equal temperament on A4 = 440 Hz (ISO 16:1975).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate, total

A4_HZ = 440.0  # ISO 16:1975
NEWTON_PER_POUND = 4.4482216152605  # lb × 9.80665 m/s², exact
STANDARD_GRAVITY = 9.80665  # m/s², SI Brochure 9th ed.

CUT_LENGTH_MM = Estimate.of(1000.0, 60.0, "length of a fitted string")
"""From ball to trimmed end, windings included; judgement, alike for two sets on one instrument."""

_NOTE = re.compile(r"([A-Ga-g])([#♯b♭]?)(-?\d)")
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_A4 = 57  # steps above C0


def note_hz(name: str) -> float:
    """The frequency of a note such as ``E4`` or ``Bb2``, Hz.

    Raises
    ------
    InputError
        No such note.

    Examples
    --------
    >>> round(note_hz("E2"), 6)
    82.406889
    """
    match = _NOTE.fullmatch(name.strip())
    if match is None:
        raise InputError(
            "not a note", received=name, remedy="Write letter, sharp or flat, octave: E4, F#3, Bb2."
        )
    steps = _STEPS[match[1].upper()] + 12 * int(match[3])
    steps += {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[match[2]]
    return float(A4_HZ * 2.0 ** ((steps - _A4) / 12.0))


def shifted(frequency_hz: float, semitones: float) -> float:
    """A frequency moved by *semitones*, downwards when negative."""
    return float(frequency_hz * 2.0 ** (semitones / 12.0))


def tension_ratio(semitones: float) -> float:
    """The factor of the tension when all strings move by *semitones*: 0.794 a tone down."""
    return float(2.0 ** (semitones / 6.0))


def tension_n(mass_kg_m: Estimate, length_mm: Estimate, frequency_hz: float) -> Estimate:
    """The tension in N of one string.

    Parameters
    ----------
    mass_kg_m
        Mass per metre.
    length_mm
        Sounding length.
    frequency_hz
        Pitch of the open string, taken as exact: a cent is 0.12 % of tension.
    """
    return mass_kg_m * (length_mm * (2e-3 * frequency_hz)).squared()


@dataclass(frozen=True, slots=True)
class TunedString:
    """A string of known mass at a pitch.

    Attributes
    ----------
    number
        1 is the highest.
    label
        As the player would name it: ``.024 wound``.
    mass_kg_m, tension_n
        Mass per metre, and tension in newton.
    """

    number: int
    label: str
    note: str
    frequency_hz: float
    mass_kg_m: Estimate
    tension_n: Estimate


@dataclass(frozen=True, slots=True)
class TunedSet:
    """All strings of an instrument at pitch, the highest first."""

    strings: tuple[TunedString, ...]
    length_mm: Estimate

    @property
    def tension_n(self) -> Estimate:
        """Tension in all, N."""
        return total([one.tension_n for one in self.strings])

    @property
    def mass_g(self) -> Estimate:
        """Mass of the set as it hangs on the instrument, g; ball ends not counted."""
        return total([one.mass_kg_m for one in self.strings]) * CUT_LENGTH_MM

    def moved(self, semitones: float) -> TunedSet:
        """The same set with every string moved by *semitones*."""
        strings = tuple(
            TunedString(
                one.number,
                one.label,
                f"{one.note} {semitones:+g}",
                shifted(one.frequency_hz, semitones),
                one.mass_kg_m,
                one.tension_n * tension_ratio(semitones),
            )
            for one in self.strings
        )
        return TunedSet(strings, self.length_mm)


def tuned(
    masses: tuple[tuple[str, Estimate], ...], notes: tuple[str, ...], length_mm: Estimate
) -> TunedSet:
    """Put strings, each a label and a mass per metre in kg/m, at their notes.

    Raises
    ------
    InputError
        Not as many notes as strings, a note that is none, or a length not above nought.
    """
    if len(masses) != len(notes) or not masses:
        raise InputError(
            "a note for each string, and at least one string",
            received=f"{len(masses)} strings, {len(notes)} notes",
            remedy="Give the notes from the highest string to the lowest, as E4 B3 G3 D3 A2 E2.",
        )
    if not length_mm.value > 0:
        raise InputError(
            "a sounding length must be above nought",
            received=f"{length_mm.value:g} mm",
            remedy="Give twice the distance from the nut to the twelfth fret.",
        )
    strings = []
    for number, ((label, mass), note) in enumerate(zip(masses, notes, strict=True), start=1):
        frequency = note_hz(note)
        pull = tension_n(mass, length_mm, frequency)
        strings.append(TunedString(number, label, note, frequency, mass, pull))
    return TunedSet(tuple(strings), length_mm)


@dataclass(frozen=True, slots=True)
class TensionChange:
    """From one set or tuning to another: newton string by string and in all, and the ratio."""

    each_n: tuple[Estimate, ...]
    total_n: Estimate
    ratio: Estimate
    mass_g: Estimate


def change(before: TunedSet, after: TunedSet) -> TensionChange:
    """Compare two sets; what they share (scale, density) cancels as far as it should.

    Raises
    ------
    InputError
        Different numbers of strings.
    """
    if len(before.strings) != len(after.strings):
        raise InputError(
            "two sets of different numbers of strings",
            received=f"{len(before.strings)} and {len(after.strings)}",
            remedy="Compare sets for the same instrument.",
        )
    each = tuple(
        b.tension_n - a.tension_n for a, b in zip(before.strings, after.strings, strict=True)
    )
    return TensionChange(
        each, total(list(each)), after.tension_n / before.tension_n, after.mass_g - before.mass_g
    )
