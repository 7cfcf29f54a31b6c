"""Names of notes and their frequencies in equal temperament, A4 = 440 Hz (ISO 16:1975).

Octaves are numbered as in scientific pitch notation: C4 is middle C, MIDI 60. Sharps and flats are
written "#" or "♯", "b" or "♭"; a flat is named as the sharp below it.
"""

from __future__ import annotations

import math
import re

from heelstamp.errors import InputError

A4_HZ = 440.0  # ISO 16:1975
A4_MIDI = 69
_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_FORM = re.compile(r"([A-Ga-g])([#♯b♭]?)(-?\d)")
LOWEST, HIGHEST = 21, 96
"""A0 to C7: below a five-string bass, above the last fret of a guitar."""


def midi_of(name: str) -> int:
    """The MIDI number of a note's name.

    Raises
    ------
    InputError
        Not a letter A to G, an accidental at will, and an octave; or outside A0 to C7.
    """
    found = _FORM.fullmatch(name.strip())
    if found is None:
        raise InputError(
            "not the name of a note",
            received=name,
            remedy="Write letter, accidental and octave: E2, F#3, Bb1; the low string is E2.",
        )
    letter, accidental, octave = found.groups()
    step = _NAMES.index(letter.upper()) + {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[accidental]
    midi = 12 * (int(octave) + 1) + step
    if not LOWEST <= midi <= HIGHEST:
        raise InputError(
            "a note no string here sounds", received=name, remedy="Give one from A0 to C7."
        )
    return midi


def name_of(midi: int) -> str:
    """The name of a MIDI number, sharps only."""
    return f"{_NAMES[midi % 12]}{midi // 12 - 1}"


def hz_of(midi: float, a4_hz: float = A4_HZ) -> float:
    """The frequency of a MIDI number, which may have a fraction, in Hz."""
    return float(a4_hz * 2.0 ** ((midi - A4_MIDI) / 12.0))


def nearest(hz: float, a4_hz: float = A4_HZ) -> int:
    """The MIDI number of the nearest note."""
    return round(A4_MIDI + 12.0 * math.log2(hz / a4_hz))


def cents(hz: float, from_hz: float) -> float:
    """The interval from one frequency to another in cents; positive when *hz* is higher."""
    return float(1200.0 * math.log2(hz / from_hz))
