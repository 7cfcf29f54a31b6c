"""Partials brought down to nought: one Fourier transform, one narrow band for each.

The spectrum about each partial is weighted with a Gaussian and transformed back with few points. A
Gaussian band answers in a Gaussian time: nothing from beyond `EDGE_SIGMAS` of it reaches a point,
so that the ends of the stretch need only be left out, and neighbouring partials, five band widths
or more away, are 110 dB down. A damped sinusoid passes such a band as the same damped sinusoid,
scaled.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.spectrum_peaks import Spectrum

Complexes = NDArray[np.complex128]
Reals = NDArray[np.float64]

WIDTH_SHARE = 0.17
"""Standard deviation of the band as a share of the distance of partials."""
WIDTH_MAX_HZ = 20.0
EDGE_SIGMAS = 4.0
CUT_SIGMAS = 4.3
STEP_SIGMAS = 2.2
"""Distance of the points kept: noise correlates by exp(−2.2²/4) = 0.30 from one to the next."""


@dataclass(frozen=True, slots=True, eq=False)
class Basebands:
    """Partials demodulated about their expected frequencies.

    Attributes
    ----------
    z
        Shape (partials, points).
    centre_hz
        Shape (partials,): frequency that was brought to nought.
    t_s
        Shape (points,): time from the beginning of the stretch.
    correlation
        Sum of the autocorrelation of white noise over all points, 1 when they share nothing.
    """

    z: Complexes
    centre_hz: Reals
    t_s: Reals
    correlation: float


def width_hz(f0_hz: float) -> float:
    """The band's standard deviation for partials *f0_hz* apart."""
    return min(WIDTH_SHARE * f0_hz, WIDTH_MAX_HZ)


def demodulate(spectrum: Spectrum, partials_hz: Reals, f0_hz: float) -> Basebands:
    """Demodulate partials.

    Parameters
    ----------
    spectrum
        Of the stretch to use.
    partials_hz
        Expected frequencies, each good to a fifth of a band width or so.
    f0_hz
        Their distance.
    """
    step = spectrum.step_hz
    sigma = width_hz(f0_hz)
    half = int(CUT_SIGMAS * sigma / step)
    points = 2 * half + 2
    offsets = np.arange(-half, half + 1)
    centres = np.clip(
        np.rint(partials_hz / step).astype(int), half, len(spectrum.values) - half - 1
    )
    shape = np.exp(-0.5 * (offsets * step / sigma) ** 2)
    bands = np.zeros((len(centres), points), dtype=np.complex128)
    bands[:, offsets % points] = spectrum.values[centres[:, None] + offsets[None, :]] * shape
    z = np.fft.ifft(bands, axis=1) * (2.0 * points / spectrum.count)
    whole = spectrum.count / spectrum.rate_hz
    spacing = whole / points
    sigma_t = 1.0 / (2.0 * np.pi * sigma)
    stride = max(1, round(STEP_SIGMAS * sigma_t / spacing))
    first = int(np.ceil(EDGE_SIGMAS * sigma_t / spacing))
    last = int((whole - EDGE_SIGMAS * sigma_t) / spacing)
    keep = np.arange(first, last + 1, stride)
    lags = np.arange(1, 6) * stride * spacing / sigma_t
    correlation = 1.0 + 2.0 * float(np.exp(-(lags**2) / 4.0).sum())
    return Basebands(
        z[:, keep], centres * step, np.asarray(keep * spacing, dtype=np.float64), correlation
    )
