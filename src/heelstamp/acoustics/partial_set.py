"""The partials of one note, measured: bands, glide, damped sinusoids, and which may be used."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.basebands import Basebands, demodulate, width_hz
from heelstamp.acoustics.damped_fit import DampedFit, fit
from heelstamp.acoustics.glide import Course, Glide, course_of, find_glide
from heelstamp.acoustics.glide_fit import fit_glide
from heelstamp.acoustics.mains import Mains
from heelstamp.acoustics.sounding import Sounding
from heelstamp.acoustics.spectrum_peaks import Spectrum
from heelstamp.acoustics.stiff_string import CENT

Reals = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Flags = NDArray[np.bool_]

SETTLED_S = 0.2
"""Since the pluck: earlier points serve the glide alone."""
MOST_PARTIALS = 28
HIGHEST_HZ = 6500.0
LEAST_SNR_DB = 6.0
EXPECTED_OFF = 0.15
"""Share of f0 by which a partial may lie off the law of the search."""
HUM_NEAR_HZ = 0.6
HUM_BANDS = 2.5
MOST_DECAY = 30.0
THIRD_DIFFERENCES = 20.0 - 30.0 * 0.30
"""Variance of third differences of noise, neighbours correlated by .30 (`basebands`)."""
GLIDING = 14
"""Strongest partials that the course of a glide is fitted to."""
GLIDE_GAIN, GLIDE_SHARE = 16.0, 0.6
"""Of the information criterion, all together, and the share of partials that must gain."""


@dataclass(frozen=True, slots=True, eq=False)
class PartialSet:
    """Partials of a note; arrays have shape (partials,).

    Attributes
    ----------
    numbers, hz, hz_sigma
        Settled frequency with its standard uncertainty from noise.
    fitted
        The damped sinusoids.
    snr_db
        Of the first settled point over the residual.
    usable
        Whether each may enter the fit of the law; ``why_not`` tells why not.
    glide, course
        What all have in common.
    """

    numbers: Reals
    hz: Reals
    hz_sigma: Reals
    fitted: DampedFit
    snr_db: Reals
    usable: Flags
    why_not: tuple[str, ...]
    glide: Glide
    course: Course

    @property
    def width_cents(self) -> Reals:
        """Half width of each partial, decay over 2π f, where a second polarisation may hide."""
        width = np.maximum(self.fitted.decay, 0.0) / (2.0 * np.pi * self.hz) / CENT
        return np.asarray(width * np.sqrt(1.0 - self.fitted.chance_two))


def measure(spectrum: Spectrum, sounding: Sounding, begin_s: float) -> PartialSet:
    """Measure the partials of a note.

    Parameters
    ----------
    spectrum
        Of the stretch.
    begin_s
        Time from the pluck to the beginning of the stretch.
    """
    candidate = sounding.candidate
    numbers = np.arange(1, MOST_PARTIALS + 1)
    expected = candidate.partial_hz(numbers)
    within = expected < min(0.45 * spectrum.rate_hz, HIGHEST_HZ)
    numbers, expected = numbers[within], expected[within]
    bands = demodulate(spectrum, expected, candidate.f0_hz)
    since = bands.t_s + begin_s
    late = since >= SETTLED_S
    if late.sum() < 12:
        late = np.arange(len(since)) >= 0
    hum, near_hum = _hum(bands, sounding, candidate.f0_hz)
    late_hum = None if hum is None else hum[:, late]
    first = fit(bands.z[:, late], bands.t_s[late], late_hum, correlation=bands.correlation)
    glide = _glide(bands, first, hum, numbers.astype(np.float64), begin_s=begin_s)
    fitted = first
    if glide.accepted:
        z = _without(bands, first, glide.fall.ahead_s(since))
        fitted = fit(z[:, late], bands.t_s[late], late_hum, correlation=bands.correlation)
    hz = bands.centre_hz + fitted.hz
    snr = _snr(fitted, bands.t_s[late][0])
    why = _why_not(hz, expected, snr, fitted=fitted, hum_off=near_hum, f0_hz=candidate.f0_hz)
    usable = np.array([not reason for reason in why])
    settled = bands.z * np.exp(-2j * np.pi * fitted.hz[:, None] * bands.t_s)
    course = course_of(settled[usable], hz[usable], fitted.noise[usable], since)
    return PartialSet(
        numbers.astype(np.float64), hz, fitted.hz_sigma, fitted, snr, usable, why, glide, course
    )


def _glide(
    bands: Basebands, first: DampedFit, hum: Complexes | None, numbers: Reals, *, begin_s: float
) -> Glide:
    """The glide of the partials, accepted or not."""
    since = bands.t_s + begin_s
    hz = bands.centre_hz + first.hz
    resting = bands.z * np.exp(-2j * np.pi * first.hz[:, None] * bands.t_s)
    # what one or two steady components leave of a glide is no noise
    noise = np.minimum(first.noise, _fast_noise(resting))
    snr = _snr(replace(first, noise=noise), SETTLED_S - begin_s)
    sure = np.flatnonzero(snr > 2 * LEAST_SNR_DB)
    rough = find_glide(resting[sure], hz[sure], noise[sure], since)
    if not rough.worth_a_try:
        return rough
    best = np.sort(sure[np.argsort(snr[sure])[::-1][:GLIDING]])
    hums = None if hum is None else hum[best]
    steady = fit(bands.z[best], bands.t_s, hums, correlation=bands.correlation).criterion
    fall, doubt, gliding = fit_glide(
        bands.z[best],
        bands.t_s,
        since,
        hums,
        correlation=bands.correlation,
        hz=hz[best],
        numbers=numbers[best],
        rough=rough.fall,
        without=float(steady.sum()),
    )
    pulls = np.repeat(np.median(doubt.pulls, axis=0)[None, :], len(hz), axis=0)
    pulls[best] = doubt.pulls
    return replace(
        rough,
        cents=float(fall.at(np.zeros(1))[0]),
        tau_s=fall.time_s(),
        sigma_cents=math.sqrt(max(float(doubt.covariance[0, 0]), 0.0)),
        accepted=_agreed(steady - gliding.criterion),
        fall=fall,
        doubt=replace(doubt, pulls=pulls),
    )


def _fast_noise(resting: Complexes) -> Reals:
    """Standard deviation of a point by third differences, which slow courses hardly enter."""
    third = np.diff(resting, n=3, axis=1)
    return np.asarray(np.sqrt((np.abs(third) ** 2).mean(axis=1) / THIRD_DIFFERENCES))


def _without(bands: Basebands, first: DampedFit, ahead_s: Reals) -> Complexes:
    """The bands with a glide taken out."""
    hz = bands.centre_hz + first.hz
    return np.asarray(bands.z * np.exp(-2j * np.pi * hz[:, None] * ahead_s))


def _agreed(gain: Reals) -> bool:
    """Whether partials say that they glide, rather than beat with a second polarisation.

    Parameters
    ----------
    gain
        Shape (partials,): by how much the criterion is lower with the course taken out.
    """
    return bool(gain.sum() > GLIDE_GAIN and (gain > 0).mean() >= GLIDE_SHARE)


def _snr(fitted: DampedFit, first_s: float) -> Reals:
    level = fitted.level * np.exp(-np.clip(fitted.decay, -1.0, 60.0) * first_s)
    return np.asarray(20.0 * np.log10(np.maximum(level, 1e-30) / np.maximum(fitted.noise, 1e-30)))


def _hum(bands: Basebands, sounding: Sounding, f0_hz: float) -> tuple[Complexes | None, Reals]:
    """The hum's phasor in each band, and how near it lies to the partial in Hz."""
    far = np.full(len(bands.centre_hz), np.inf)
    mains: Mains | None = sounding.mains
    if mains is None:
        return None, far
    harmonic = np.maximum(np.rint(bands.centre_hz / mains.hz), 1.0)
    off = harmonic * mains.hz - bands.centre_hz
    heard = np.array([int(k) in sounding.hum_db for k in harmonic]) | (harmonic <= 12)
    within = heard & (np.abs(off) < HUM_BANDS * width_hz(f0_hz))
    phasor = np.where(within[:, None], np.exp(2j * np.pi * off[:, None] * bands.t_s), 0.0)
    return phasor, np.where(within, off, np.inf)


def _why_not(
    hz: Reals, expected: Reals, snr: Reals, *, fitted: DampedFit, hum_off: Reals, f0_hz: float
) -> tuple[str, ...]:
    told: list[str] = []
    hum_near = np.abs(hum_off - fitted.hz)
    for place in range(len(hz)):
        if not np.isfinite(snr[place]) or snr[place] < LEAST_SNR_DB:
            told.append("too weak")
        elif abs(hz[place] - expected[place]) > EXPECTED_OFF * f0_hz:
            told.append("another sound lies there")
        elif hum_near[place] < HUM_NEAR_HZ:
            told.append("too near to mains hum")
        elif fitted.decay[place] > MOST_DECAY:
            told.append("dies too fast")
        else:
            told.append("")
    return tuple(told)
