"""Hum of the mains: which system, its frequency, and which peaks it makes.

Networks run at 50 or 60 Hz and stay within about 0.1 Hz of it; the harmonics are exact multiples
and do not decay. The system is accepted when at least three of its multiples stand as peaks that
lie on one comb within 0.03 % or a quarter of a bin, the lowest of them among the first three
harmonics.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.spectrum_peaks import Peaks

SYSTEMS_HZ = (50.0, 60.0)
DRIFT = 2.5e-3
"""Share of its frequency by which a network may be off: 0.12 Hz in 50."""
LEAST_HARMONICS = 3
HIGHEST_HARMONIC = 40


@dataclass(frozen=True, slots=True, eq=False)
class Mains:
    """Mains hum of a recording.

    Attributes
    ----------
    hz
        Measured frequency of the network.
    peaks
        Indices of the peaks it makes.
    """

    hz: float
    peaks: NDArray[np.intp]


def find_mains(peaks: Peaks) -> Mains | None:
    """Find the comb of a network among the peaks; None when there is none."""
    best: Mains | None = None
    for system in SYSTEMS_HZ:
        number = np.rint(peaks.hz / system)
        allowed = np.maximum(0.25 * peaks.resolution_hz, DRIFT * system * np.maximum(number, 1.0))
        fits = (
            (number >= 1)
            & (number <= HIGHEST_HARMONIC)
            & (np.abs(peaks.hz - number * system) < np.minimum(allowed, 0.25 * system))
        )
        places = np.flatnonzero(fits)
        if len(places) < LEAST_HARMONICS:
            continue
        n = number[places]
        ratio = peaks.hz[places] / n
        allowed_off = np.maximum(0.25 * peaks.resolution_hz, 3e-4 * peaks.hz[places])
        # each peak in turn sets the comb; the one that most others follow is taken
        off = np.abs(ratio[None, :] - ratio[:, None]) * n[None, :]
        follow = off < allowed_off[None, :]
        close = follow[follow.sum(axis=1).argmax()]
        if close.sum() < LEAST_HARMONICS or n[close].min() > 3:
            continue
        weight = n[close] ** 2
        hz = float((weight * ratio[close]).sum() / weight.sum())
        if best is None or close.sum() > len(best.peaks):
            best = Mains(hz, places[close])
    return best
