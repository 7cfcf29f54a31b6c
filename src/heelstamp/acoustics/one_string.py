"""Whether one stiff string explains peaks that a rough law leaves over.

The search follows partials upwards and can leave the right branch: high partials of a string whose
stiffness it misses then look like those of a second note. Before that is said, every stiffness a
string may have is tried on the fundamental, and on the octave below it, each with the fundamental
that its low partials ask for. High partials may lie further off, as those of real strings do: six
thousandths of their frequency, ten cents. An octave played along is not taken for it: it leaves
even partials over alone, and two peaks for one partial. Limits are judgement, set on simulated
notes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.note_search import LOWEST_HZ, MOST_B, Candidate, follow, weigh
from heelstamp.acoustics.spectrum_peaks import Peaks

Flags = NDArray[np.bool_]
Reals = NDArray[np.float64]

NEAR_PARTIAL = 0.05
NEAR_SHARE = 0.006
NEAR_MOST = 0.3
"""A peak within these of a partial is its own: fundamentals, shares of its number, at most."""
STIFFNESSES = np.concatenate([[0.0], np.geomspace(4e-6, MOST_B, 36)])
SPLIT_CENTS = 6.0
"""Between two polarisations of one partial, at most."""
LOW = 6
"""Partials up to this number set the fundamental."""
SUBOCTAVE_ODD = 3
_NUMBERS = np.arange(1, 80)


def foreign(peaks: Peaks, law_hz: Reals, f0_hz: float) -> Flags:
    """Which peaks lie beside every partial of a law, shape (peaks,).

    Parameters
    ----------
    law_hz
        Shape (partials,): frequencies of partials 1, 2, 3, ….
    """
    apart = np.abs(peaks.hz[:, None] - law_hz[None, :]).min(axis=1)
    return np.asarray(apart > np.maximum(NEAR_PARTIAL * f0_hz, 4.0 * peaks.resolution_hz))


def second_polarisations(peaks: Peaks, law_hz: Reals, left: Flags) -> Flags:
    """Which peaks left over are a partial's second polarisation, shape (peaks,).

    It lies within a few cents of its partial, which high up is far in Hz. Where only every second
    or third partial has one, a note an octave or a twelfth above makes them, and none is named.

    Parameters
    ----------
    law_hz
        Shape (partials,): frequencies of partials 1, 2, 3, ….
    left
        Shape (peaks,): peaks beside every partial.
    """
    apart = np.abs(np.log2(peaks.hz[:, None] / law_hz[None, :])) * 1200.0
    near = left & (apart.min(axis=1) < SPLIT_CENTS)
    numbers = apart.argmin(axis=1)[near] + 1
    return np.asarray(near & (np.gcd.reduce(numbers) == 1))


def _left_over(peaks: Peaks, law_hz: Reals, f0_hz: float) -> Flags:
    """Which peaks a refitted law does not explain: beside its partials, or second ones of one."""
    apart = np.abs(peaks.hz[:, None] - law_hz[None, :])
    place = apart.argmin(axis=1)
    share = np.clip(NEAR_SHARE * (place + 1), NEAR_PARTIAL, NEAR_MOST)
    over = apart.min(axis=1) > np.maximum(share * f0_hz, 4.0 * peaks.resolution_hz)
    doubled = max(NEAR_PARTIAL * f0_hz, 4.0 * peaks.resolution_hz)
    louder = peaks.level_db[None, :] > peaks.level_db[:, None]
    beside = np.abs(peaks.hz[:, None] - peaks.hz[None, :]) > doubled
    same = place[:, None] == place[None, :]
    return np.asarray(over | (same & louder & beside & ~over[None, :]).any(axis=1))


def one_string(peaks: Peaks, chosen: Candidate, strong: Flags, most_foreign: int) -> Candidate:
    """The string near a candidate that leaves the fewest strong peaks over.

    Parameters
    ----------
    peaks
        Of the sounding note.
    chosen
        What the search followed.
    strong
        Shape (peaks,): which peaks count.
    most_foreign
        How many may be left over by a string that is put in the candidate's place.

    Returns
    -------
    Candidate
        *chosen* itself when no other explains the peaks.
    """
    law = chosen.partial_hz(_NUMBERS)
    beside = strong & foreign(peaks, law, chosen.f0_hz)
    numbers = np.abs(peaks.hz[beside][:, None] - law[None, :]).argmin(axis=1) + 1
    if np.gcd.reduce(numbers) > 1:
        return chosen  # every second or third one only: a note an octave or a twelfth above
    best, least = chosen, most_foreign + 1
    for base in (chosen.f0_hz, chosen.f0_hz / 2.0):
        if base < LOWEST_HZ:
            continue
        for b in STIFFNESSES:
            f0 = _fundamental(peaks, base, float(b))
            law = _NUMBERS * f0 * np.sqrt(1.0 + b * _NUMBERS**2.0)
            over = int((_left_over(peaks, law, f0) & strong).sum())
            if over < least and (base == chosen.f0_hz or _has_odd(peaks, law, f0, strong)):
                best = follow(peaks, weigh(peaks), f0, b=float(b))
                least = over
        if best is not chosen:
            break
    return best


def _fundamental(peaks: Peaks, base: float, b: float) -> float:
    """The fundamental that the low partials near *base* ask for."""
    number = np.rint(peaks.hz / base)
    low = (number >= 1) & (number <= LOW) & (np.abs(peaks.hz / base - number) < 2 * NEAR_PARTIAL)
    if not low.any():
        return base
    n = number[low]
    own = peaks.hz[low] / (n * np.sqrt(1.0 + b * n * n))
    loud = np.argsort(peaks.level_db[low])[-LOW:]
    return float(np.median(own[loud]))


def _has_odd(peaks: Peaks, law_hz: Reals, f0_hz: float, strong: Flags) -> bool:
    """Whether the octave below is a string of its own: odd partials that no fifth would make."""
    apart = np.abs(peaks.hz[:, None] - law_hz[None, :])
    number = apart.argmin(axis=1) + 1
    own = strong & (apart.min(axis=1) < NEAR_PARTIAL * f0_hz) & (number % 2 == 1)
    odd = {int(n) for n in number[own]}
    return len(odd) >= SUBOCTAVE_ODD and len({n for n in odd if n % 3 and n % 5}) >= 2
