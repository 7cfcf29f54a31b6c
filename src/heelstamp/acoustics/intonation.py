"""Intonation of a set of strings: how far the twelfth fret lies from the open string's octave.

The number is 12th − open − 1200 cents, from the fitted strings 1 s after the pluck, with the
uncertainty of both; the recorder's clock falls out. The settled pitches are not compared: where a
note glides for long they are extrapolated. A pressed string of half the length has four times the
stiffness, by B(fret) = B(open) · 2^(fret/6) (B goes with 1/(f0² L⁴) and f0 with 1/L, hence with
1/L²): the ratio found is shown beside it, as a check that both notes are of one string. What to do
about the cents is not said here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from heelstamp.acoustics.finding import NotePitch
from heelstamp.acoustics.notes import nearest
from heelstamp.errors import InputError

OCTAVE = 12
MOST_OFF = 100.0
"""Cents off the fret at which two notes are no longer one string open and fretted."""
RATIO_SLACK = 0.10
"""A ratio of B is remarkable only beyond this share of the law's, noise allowed for."""


@dataclass(frozen=True, slots=True)
class StringIntonation:
    """One string, open and at a fret.

    Attributes
    ----------
    string
        1 is the treble string.
    fret
        Semitones between the two notes.
    cents, cents_sigma
        Fretted note above fret · 100 cents from the open one, and its standard uncertainty.
    quantile
        Factor from there to half of the 90 % interval.
    b_ratio, b_ratio_sigma
        B fretted over B open, divided by 2^(fret/6): 1 when one string made both.
    one_string
        False when the ratio speaks against it.
    """

    string: int
    fret: int
    cents: float
    cents_sigma: float
    quantile: float
    b_ratio: float
    b_ratio_sigma: float
    one_string: bool


def b_at_fret(b_open: float, fret: float) -> float:
    """The stiffness of a string pressed at a fret."""
    return float(b_open * 2.0 ** (fret / 6.0))


def string_intonation(
    string: int, open_note: NotePitch, fretted: NotePitch, fret: int = OCTAVE
) -> StringIntonation:
    """Compare a fretted note with the open string.

    Raises
    ------
    InputError
        One of the two was refused, or they lie another number of semitones apart.
    """
    for one, name in ((open_note, "open"), (fretted, f"fret {fret}")):
        if not one.measured:
            raise InputError(
                "no pitch to compare",
                where=f"string {string}, {name}",
                received=one.reasons[0].found,
                remedy=one.reasons[0].remedy,
            )
    low, high = _values(open_note), _values(fretted)
    apart = high[0] - low[0]
    if abs(apart - 100.0 * fret) > MOST_OFF:
        raise InputError(
            f"the two notes are not {fret} semitones apart",
            where=f"string {string}",
            received=f"{apart:.1f} cents",
            remedy="Name recordings of one string, first open, then fretted.",
        )
    ratio = high[2] / b_at_fret(low[2], fret) if low[2] > 0 else math.inf
    spread = (
        abs(ratio) * math.hypot(low[3] / low[2], high[3] / high[2])
        if low[2] > 0 < high[2]
        else math.inf
    )
    quantile = max(open_note.quantile, fretted.quantile)
    return StringIntonation(
        string=string,
        fret=fret,
        cents=apart - 100.0 * fret,
        cents_sigma=math.hypot(low[1], high[1]),
        quantile=quantile,
        b_ratio=ratio,
        b_ratio_sigma=spread,
        one_string=not abs(ratio - 1.0) > RATIO_SLACK + 2.0 * spread,
    )


def _values(note: NotePitch) -> tuple[float, float, float, float]:
    assert note.midi is not None
    assert note.later_cents is not None
    assert note.later_cents_sigma is not None
    assert note.b is not None
    assert note.b_sigma is not None
    from_zero = 100.0 * note.midi + note.later_cents
    return from_zero, note.later_cents_sigma, note.b, note.b_sigma


def pair_up(measured: Sequence[NotePitch], fret: int = OCTAVE) -> list[tuple[int, int]]:
    """Find which notes are the open and the fretted one of a string, by their names.

    Notes come in any order; each open note takes the first later or earlier one *fret* semitones
    above that no other has taken.

    Returns
    -------
    list of (index of open, index of fretted), the highest open note first.
    """
    sounding = [
        (nearest(one.f1_hz), place) for place, one in enumerate(measured) if one.f1_hz is not None
    ]
    taken: set[int] = set()
    pairs: list[tuple[int, int]] = []
    for midi, place in sorted(sounding):
        if place in taken:
            continue
        above = [p for m, p in sounding if m == midi + fret and p not in taken and p != place]
        if above:
            partner = min(above, key=lambda p: (p < place, p))
            taken |= {place, partner}
            pairs.append((place, partner))
    return pairs[::-1]
