"""Which note sounds: the fundamental whose stiff partials explain the peaks.

Every strong peak is taken as each of its possible partials in turn. A candidate gains by the height
of the peaks it explains, loses by the height of those it does not, and loses for every partial
below the highest explained one that is not there: half the true pitch explains all peaks but misses
every other partial, twice the true pitch leaves half of the peaks unexplained. The best candidates
are then followed partial by partial, the stiffness B fitted along the way, so that stretched upper
partials are not lost. Weights were set on simulated notes.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.spectrum_peaks import Peaks

Reals = NDArray[np.float64]
Whole = NDArray[np.int64]

LOWEST_HZ, HIGHEST_HZ = 27.0, 1500.0
SEEDS = 14
"""Strongest peaks that are tried as partials 1 to `SEED_PARTIALS`."""
SEED_PARTIALS = 9
FOLLOWED = 4
SCORED_PARTIALS = 24
MISSING = 0.33
UNEXPLAINED = 0.7
FULL_DB = 60.0
"""The highest peak weighs 1, one this far below it nothing; the square lies between."""
NEAR = 0.028
"""Distance from a whole multiple, in fundamentals, that is still a low partial."""
STRETCH = 2.0e-4
"""n³ times this, in fundamentals, is how far above its multiple a partial may lie: B = 4e-4."""
MOST_B = 1.2e-3
USUAL_B = 5e-5


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A fundamental with the partials followed from it.

    Attributes
    ----------
    f0_hz, b
        Of the stiff-string law that the peaks follow.
    numbers, peaks
        Partial numbers and the index of each one's peak.
    score
        Height explained less height missed.
    """

    f0_hz: float
    b: float
    numbers: Whole
    peaks: Whole
    score: float

    def partial_hz(self, numbers: NDArray[np.integer]) -> Reals:
        """The law's frequencies."""
        n = numbers.astype(np.float64)
        return np.asarray(n * self.f0_hz * np.sqrt(1.0 + self.b * n * n))


def find_note(
    peaks: Peaks, *, low_hz: float = LOWEST_HZ, high_hz: float = HIGHEST_HZ
) -> Candidate | None:
    """Find the best fundamental between two frequencies; None when no peak allows one.

    Parameters
    ----------
    peaks
        Of the sounding note, mains harmonics taken out.
    """
    if not len(peaks.hz):
        return None
    weights = weigh(peaks)
    seeds = np.argsort(peaks.level_db)[-SEEDS:]
    numbers = np.arange(1, SEED_PARTIALS + 1)
    tried = (peaks.hz[seeds][:, None] / numbers[None, :]).ravel()
    tried = tried[(tried >= low_hz) & (tried <= high_hz)]
    if not len(tried):
        return None
    scores = _scores(tried, peaks, weights)
    best: list[Candidate] = []
    for place in np.argsort(scores)[::-1]:
        f0 = float(tried[place])
        if any(abs(math.log2(f0 / one.f0_hz)) < 0.02 for one in best):
            continue
        best.append(follow(peaks, weights, f0))
        if len(best) == FOLLOWED:
            break
    return max(best, key=lambda one: one.score)


def weigh(peaks: Peaks) -> Reals:
    """Each peak's weight by its level."""
    below = (peaks.level_db - peaks.level_db.max()) / FULL_DB
    return np.asarray(np.clip(1.0 + below, 0.0, 1.0))


def _scores(tried: Reals, peaks: Peaks, weights: Reals) -> Reals:
    ratio = peaks.hz[None, :] / tried[:, None]
    # a stretched partial lies above its multiple: rounding is biased downwards accordingly
    number = np.maximum(np.rint(ratio - 0.5 * np.minimum(STRETCH * ratio**3, 0.4)), 1.0)
    off = ratio - number
    most = np.minimum(NEAR + STRETCH * number**3, 0.42)
    near = np.maximum(NEAR, 0.8 * peaks.resolution_hz / tried)[:, None]
    explained = (off > -near) & (off < most + near - NEAR) & (number <= SCORED_PARTIALS)
    gain = np.where(explained, weights, 0.0).sum(axis=1)
    loss = UNEXPLAINED * (weights.sum() - gain)
    highest = np.where(explained, number, 0.0).max(axis=1)
    present = np.zeros((len(tried), SCORED_PARTIALS + 1), dtype=bool)
    rows, columns = np.nonzero(explained)
    present[rows, number[rows, columns].astype(int)] = True
    missing = highest - present[:, 1:].sum(axis=1)
    return np.asarray(gain - loss - MISSING * missing)


def follow(peaks: Peaks, weights: Reals, f0_hz: float, *, b: float = USUAL_B) -> Candidate:
    """Follow the partials upwards from a rough fundamental, fitting f0 and B to those found.

    Parameters
    ----------
    weights
        Of the peaks, 0 to 1.
    f0_hz
        Good to 3 % or so.
    b
        Stiffness to begin with.
    """
    f0 = f0_hz
    numbers: list[int] = []
    found: list[int] = []
    taken: set[int] = set()
    missed_in_a_row = 0
    law = _Law(f0_hz, peaks.resolution_hz, b)
    hz, levels = peaks.hz.tolist(), peaks.level_db.tolist()
    top = hz[-1]
    for n in range(1, 61):
        expected = n * f0 * math.sqrt(1.0 + b * n * n)
        if expected > top * 1.02 or missed_in_a_row > 8:
            break
        slack = max(1.2 * peaks.resolution_hz, f0 * _slack(n, len(numbers)))
        low, high = bisect_left(hz, expected - slack), bisect_right(hz, expected + slack)
        place = max(range(low, high), key=levels.__getitem__, default=-1)
        if place < 0 or place in taken:
            missed_in_a_row += 1
            continue
        missed_in_a_row = 0
        numbers.append(n)
        found.append(place)
        taken.add(place)
        f0, b = law.with_partial(n, hz[place])
    missing = (numbers[-1] if numbers else 0) - len(numbers)
    gain = float(weights[found].sum())
    loss = UNEXPLAINED * (float(weights.sum()) - gain)
    return Candidate(
        f0,
        b,
        np.array(numbers, dtype=np.int64),
        np.array(found, dtype=np.int64),
        gain - loss - MISSING * missing,
    )


def _slack(n: int, known: int) -> float:
    """How far off a partial may lie, in fundamentals; narrower once a few are known."""
    return NEAR + (0.06 if known < 3 else 0.004) * min(n, 10) / 10.0


class _Law:
    """f0² and f0² B by least squares over (f/n)², one partial after the other.

    Weakly expects the B it is given. The spread of (f/n)² is 2 f δ/n² for an uncertainty δ of f.
    """

    def __init__(self, f0_hz: float, resolution_hz: float, b: float) -> None:
        self._delta = 0.1 * resolution_hz
        square = f0_hz * f0_hz
        self._a11 = self._a12 = self._b1 = 0.0
        self._a22 = 1.0 / (1e-4 * square) ** 2
        self._usual = b
        self._b2 = b * square * self._a22

    def with_partial(self, n: int, hz: float) -> tuple[float, float]:
        """Take a partial in; give f0 and B."""
        x, y = float(n * n), (hz / n) ** 2
        w = (x / (2.0 * hz * self._delta)) ** 2
        self._a11 += w
        self._a12 += w * x
        self._a22 += w * x * x
        self._b1 += w * y
        self._b2 += w * x * y
        det = self._a11 * self._a22 - self._a12 * self._a12
        square = (self._a22 * self._b1 - self._a12 * self._b2) / det
        slope = (self._a11 * self._b2 - self._a12 * self._b1) / det
        if square <= 0:
            return hz / n, self._usual
        return math.sqrt(square), min(max(slope / square, -1e-4), MOST_B)
