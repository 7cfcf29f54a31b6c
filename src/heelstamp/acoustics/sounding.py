"""Which single note sounds: hum put aside, a second note found out, the named string checked."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics import notes, refusals
from heelstamp.acoustics.finding import Reason
from heelstamp.acoustics.mains import Mains, find_mains
from heelstamp.acoustics.note_search import HIGHEST_HZ, LOWEST_HZ, Candidate, find_note
from heelstamp.acoustics.one_string import foreign, one_string, second_polarisations
from heelstamp.acoustics.spectrum_peaks import Peaks

NAMED_WITHIN = 2.5
"""Semitones about a named note in which the sounding one must lie."""
PREFER_NAMED = 0.75
"""Share of the best score at which the named note is believed."""
SECOND_DB = 26.0
"""A second note is told when its highest peak is this near to the highest of all."""
SECOND_PEAKS = 2
HUM_BELOW_DB = 6.0
"""A comb is hum only where it lies this far below the highest peak."""
COMB_NEAR = 0.003
_NUMBERS = np.arange(1, 80)
_PAIRS = ((2, 3), (3, 4), (4, 5), (5, 6), (3, 5), (2, 5), (5, 8), (3, 7), (4, 7), (5, 7))


@dataclass(frozen=True, slots=True, eq=False)
class Sounding:
    """The note that sounds.

    Attributes
    ----------
    candidate
        Its rough law.
    mains
        Hum beside it, or None.
    hum_db
        Level of each hum peak, by harmonic number.
    midi
        The named note, or the nearest one.
    top_db
        Level of its highest peak.
    """

    candidate: Candidate
    mains: Mains | None
    hum_db: dict[int, float]
    midi: int
    top_db: float


def choose_note(peaks: Peaks, midi: int | None) -> Sounding | Reason:
    """Choose the note, or say why there is none.

    Parameters
    ----------
    midi
        Of the named note; None when it is to be found.
    """
    if not len(peaks.hz):
        return refusals.silent()
    mains, rest = _without_hum(peaks)
    free = find_note(rest)
    if free is None:
        return refusals.silent()
    chosen = free
    if midi is not None:
        named = _named(rest, midi, free)
        if named is None:
            sounding = notes.name_of(notes.nearest(free.f0_hz))
            return refusals.wrong_string(notes.name_of(midi), sounding, free.f0_hz)
        chosen = named
    chosen, second = _second_note(rest, chosen)
    if second is not None:
        comb = find_mains(peaks) if mains is None else None
        if comb is not None and _on_comb(chosen.f0_hz, comb.hz):
            return refusals.hum_above(comb.hz)
        return refusals.two_notes(chosen.f0_hz, second)
    hum_db = (
        {}
        if mains is None
        else {round(float(peaks.hz[i]) / mains.hz): float(peaks.level_db[i]) for i in mains.peaks}
    )
    found = notes.nearest(chosen.f0_hz) if midi is None else midi
    return Sounding(chosen, mains, hum_db, found, float(rest.level_db.max()))


def _without_hum(peaks: Peaks) -> tuple[Mains | None, Peaks]:
    mains = find_mains(peaks)
    if mains is None:
        return None, peaks
    kept = np.ones(len(peaks.hz), dtype=bool)
    kept[mains.peaks] = False
    others = peaks.level_db[kept].max() if kept.any() else -np.inf
    if peaks.level_db[mains.peaks].max() > others - HUM_BELOW_DB:
        return None, peaks  # a string tuned to the comb, or nothing but hum: its decay will tell
    return mains, _part(peaks, kept)


def _on_comb(hz: float, mains_hz: float) -> bool:
    return abs(hz / mains_hz - max(1, round(hz / mains_hz))) < COMB_NEAR


def _part(peaks: Peaks, kept: NDArray[np.bool_]) -> Peaks:
    return Peaks(
        peaks.hz[kept], peaks.level_db[kept], peaks.over_floor_db[kept], peaks.resolution_hz
    )


def _named(peaks: Peaks, midi: int, free: Candidate) -> Candidate | None:
    """The candidate about the named note, or None when another note explains far more."""
    expected = notes.hz_of(midi)
    if abs(12.0 * math.log2(free.f0_hz / expected)) <= NAMED_WITHIN:
        return free
    ratio = 2.0 ** (NAMED_WITHIN / 12.0)
    low, high = max(LOWEST_HZ, expected / ratio), min(HIGHEST_HZ, expected * ratio)
    near = find_note(peaks, low_hz=low, high_hz=high) if low < high else None
    if near is None or near.score < PREFER_NAMED * free.score or free.score <= 0:
        return None
    return near


def _second_note(peaks: Peaks, chosen: Candidate) -> tuple[Candidate, float | None]:
    """The string that explains most, and the fundamental of a second note, or None."""
    strong = peaks.level_db > peaks.level_db.max() - SECOND_DB
    law = chosen.partial_hz(_NUMBERS)
    left = foreign(peaks, law, chosen.f0_hz)
    left &= ~second_polarisations(peaks, law, left & strong)
    if int((left & strong).sum()) >= SECOND_PEAKS:
        other = one_string(peaks, chosen, strong, SECOND_PEAKS - 1)
        if other is chosen:
            second = find_note(_part(peaks, left))
            lowest = float(peaks.hz[left & strong].min())
            return chosen, lowest if second is None else second.f0_hz
        chosen = other
    return chosen, _two_of_a_chord(peaks, chosen)


def _two_of_a_chord(peaks: Peaks, chosen: Candidate) -> float | None:
    """Tell two notes in a simple ratio, which together look like partials of a note below both."""
    strong = peaks.level_db[chosen.peaks] > peaks.level_db.max() - SECOND_DB
    present = {int(n) for n in chosen.numbers[strong] if n <= 24}
    for p, q in _PAIRS:
        explained = {n for n in present if n % p == 0 or n % q == 0}
        if 1 in present or explained != present:
            continue
        first, second = ({n for n in present if n % one == 0} for one in (p, q))
        if len(first - second) >= SECOND_PEAKS and len(second - first) >= SECOND_PEAKS:
            return float(chosen.f0_hz * q)
    return None
