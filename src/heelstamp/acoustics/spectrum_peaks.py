"""The peaks of one spectrum: where, how high, and how far above the noise about them.

A Hann window (sidelobes below −31 dB and falling by 18 dB an octave [harris_1978]) and a parabola
through the logarithm of the three highest bins; that is good to some hundredths of a bin, enough to
find partials, not to measure them. The floor is the median level of a band, so that it holds as
long as peaks fill less than half of it. Below 300 Hz, where noise of rooms and amplifiers climbs
steeply within one band, a peak must stand out of the bins on either side of it as well. A bin of
noise stands 14 dB above the median once in 10⁷ (its power is exponentially distributed).
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]

ABOVE_FLOOR_DB = 14.0
RANGE_DB = 65.0
"""Peaks further below the highest are not taken: sidelobes and what no fit would use."""
BAND_HZ = 240.0
LOWEST_HZ = 24.0
"""No string's partial lies below."""
LOCAL_BELOW_HZ = 300.0
LOCAL_BINS, OWN_BINS = 22, 3
"""Bins on each side that a low peak is judged by, and those nearest that are its own."""
SHADOW_BINS, SHADOW_DB = 9.0, 14.0
"""A peak this near to one this much higher is its sidelobe, or no partial of its own."""
HIGHEST_HZ = 6500.0
MOST = 90
SMOOTH_SIZES = tuple(
    sorted(2**a * 3**b * 5**c for a in range(4, 20) for b in range(4) for c in range(4))
)


@dataclass(frozen=True, slots=True, eq=False)
class Peaks:
    """Peaks in rising order of frequency.

    Attributes
    ----------
    hz, level_db, over_floor_db
        Frequency, level relative to full scale, and level above the band's floor.
    resolution_hz
        One bin of the window before padding.
    """

    hz: Reals
    level_db: Reals
    over_floor_db: Reals
    resolution_hz: float


def smooth_size(most: int) -> int:
    """The longest length up to *most* that is a product of 2, 3 and 5: quick to transform."""
    place = bisect_right(SMOOTH_SIZES, most)
    return SMOOTH_SIZES[place - 1] if place else most


@dataclass(frozen=True, slots=True, eq=False)
class Spectrum:
    """The Fourier transform of one stretch of sound, without a window.

    Attributes
    ----------
    values
        Shape (count // 2 + 1,).
    count
        Samples transformed.
    rate_hz
        Samples a second.
    """

    values: NDArray[np.complexfloating]
    count: int
    rate_hz: int

    @property
    def step_hz(self) -> float:
        """Distance of bins."""
        return self.rate_hz / self.count


def transform(samples: NDArray[np.floating], rate_hz: int) -> Spectrum:
    """Transform a stretch, shortened to a length that is quick to transform.

    Single precision: its rounding lies 130 dB below the sound, under any recorder's noise.
    """
    count = smooth_size(len(samples))
    part = np.asarray(samples[:count], dtype=np.float32)
    return Spectrum(np.fft.rfft(part), count, rate_hz)


def find_peaks(spectrum: Spectrum) -> Peaks:
    """Find the peaks of a stretch of sound below 6.5 kHz."""
    count, step = spectrum.count, spectrum.step_hz
    used = min(count // 2 - 1, int(HIGHEST_HZ / step))
    raw = spectrum.values[: used + 2].astype(np.complex128)
    # a Hann window over the whole stretch is this sum of three neighbouring bins
    hann = np.empty(used + 1, dtype=np.complex128)
    hann[1:] = 0.5 * raw[1:-1] - 0.25 * (raw[:-2] + raw[2:])
    hann[0] = 0.5 * (raw[0] - raw[1])
    power = hann.real**2 + hann.imag**2
    level = 10.0 * np.log10(power * (16.0 / count**2) + 1e-24)
    floor = _floor(level, max(16, int(BAND_HZ / step)))
    inner = level[1:-1]
    top = float(level[int(LOWEST_HZ / step) :].max())
    places = (
        np.flatnonzero(
            (inner >= level[:-2])
            & (inner > level[2:])
            & (inner > floor[1:-1] + ABOVE_FLOOR_DB)
            & (inner > top - RANGE_DB)
        )
        + 1
    )
    places = places[places * step >= LOWEST_HZ]
    places = places[_out_of_its_bins(level, places) | (places * step >= LOCAL_BELOW_HZ)]
    if len(places) > MOST:
        places = np.sort(places[np.argsort(level[places])[-MOST:]])
    places = _unshadowed(places, level[places])
    left, middle, right = level[places - 1], level[places], level[places + 1]
    bend = left - 2.0 * middle + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
    return Peaks(
        hz=np.asarray((places + shift) * step, dtype=np.float64),
        level_db=middle - 0.25 * (left - right) * shift,
        over_floor_db=middle - floor[places],
        resolution_hz=step,
    )


def _out_of_its_bins(level: Reals, places: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Whether each peak stands out of the bins on either side of it."""
    beside = np.arange(OWN_BINS + 1, LOCAL_BINS + 1)
    around = places[:, None] + np.concatenate([-beside[::-1], beside])
    local = np.median(level[np.clip(around, 0, len(level) - 1)], axis=1)
    return np.asarray(level[places] > local + ABOVE_FLOOR_DB)


def _unshadowed(places: NDArray[np.intp], level: Reals) -> NDArray[np.intp]:
    """Leave out peaks that stand in the shadow of a far higher neighbour."""
    near = np.abs(places[:, None] - places[None, :]) < SHADOW_BINS
    higher = level[None, :] > level[:, None] + SHADOW_DB
    return np.asarray(places[~(near & higher).any(axis=1)])


def _floor(level: Reals, width: int) -> Reals:
    """The median of each band, joined by straight lines between the bands' middles."""
    bands = max(1, len(level) // width)
    medians = np.median(level[: bands * width].reshape(bands, width), axis=1)
    middles = (np.arange(bands) + 0.5) * width
    return np.asarray(np.interp(np.arange(len(level)), middles, medians))
