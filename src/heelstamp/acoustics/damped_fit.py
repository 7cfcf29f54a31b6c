"""Damped sinusoids fitted to many partials at once: one each, or two that beat.

z(t) = Σ c exp((−d + iω) t), complex least squares in c and s = −d + iω, all partials side by side:
(`damped_descent`). One component and two are weighed by the Bayesian information criterion
[schwarz_1978] and averaged, so that a doubt between them stays in the uncertainty. Of two the one
stronger at the pluck is meant: a weaker one that decays more slowly wins on energy later
[weinreich_1977]. A steady hum of known frequency within the band is projected out of data and model
alike, which is least squares with its amplitude free.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.damped_descent import (
    MOST_DECAY,
    STEPS_ONE,
    STEPS_TWO,
    descend,
    predict_one,
    project,
    subspace,
)

Complexes = NDArray[np.complex128]
Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

MARGIN = 2.0
"""Added to the penalty of the information criterion."""
ALIKE = 12.0
"""How steeply a weaker component becomes the one that may be meant, when nearly as strong."""
PLUCKED_S = 0.06
"""Into the stretch: when the components are compared."""
HEARD = 1.6
"""Amplitude over noise at which a second component is looked for."""
IDLE_GAIN = 8.0
"""Gain of two components, in 2 ln likelihood, far below which they are none the likelier."""
MOST_GROWTH = 0.3
"""1/s: what grows faster is no component."""
LEAST_POINTS = 8
ROUNDING = 1e-10
"""Share of the energy below which residuals are rounding, and no second component."""


@dataclass(frozen=True, slots=True, eq=False)
class Modes:
    """Components of the likelier model of each partial, for what is fitted beside them.

    Attributes
    ----------
    exponents, amplitudes
        Shape (partials, 2), the one stronger at the pluck first; amplitude 0 where there is one.
    two
        Shape (partials,): whether two are likelier.
    """

    exponents: Complexes
    amplitudes: Complexes
    two: Flags

    def with_two(
        self, rows: NDArray[np.intp], exponents: Complexes, amplitudes: Complexes
    ) -> Modes:
        """The same with two components in some partials."""
        s, c, two = self.exponents.copy(), self.amplitudes.copy(), self.two.copy()
        s[rows], c[rows], two[rows] = exponents, amplitudes, True
        return Modes(s, c, two)


@dataclass(frozen=True, slots=True, eq=False)
class DampedFit:
    """What was fitted; every array has shape (partials,).

    Attributes
    ----------
    hz
        Frequency, from the band's centre, of the component stronger at the pluck; mean over one
        component and two by their weights.
    hz_sigma
        Standard uncertainty: residual noise, and what one and two components differ by.
    decay
        Of that component, 1/s.
    level
        Its amplitude at t = 0.
    noise
        Standard deviation of the residual, of one complex point.
    chance_two
        Weight of the two components against the one.
    criterion
        Bayesian information criterion of the better of both, up to a constant of the data.
    second_hz, second_share
        Distance of the weaker from the stronger, and its share of the amplitude at the pluck; 0
        unless two are likelier.
    modes
        The components themselves.
    pair
        Two components wherever two were looked for, likelier or not.
    single
        Exponent of the one component alone.
    """

    hz: Reals
    hz_sigma: Reals
    decay: Reals
    level: Reals
    noise: Reals
    chance_two: Reals
    criterion: Reals
    second_hz: Reals
    second_share: Reals
    modes: Modes
    pair: Modes
    single: Complexes


def fit(
    z: Complexes,
    t_s: Reals,
    hum: Complexes | None = None,
    *,
    correlation: float = 1.0,
    near: DampedFit | None = None,
) -> DampedFit:
    """Fit one or two damped sinusoids to each partial.

    Parameters
    ----------
    z
        Shape (partials, points), demodulated.
    t_s
        Shape (points,), evenly spaced.
    hum
        Shape (partials, points): unit phasor of a hum in each band, zero where there is none.
    correlation
        Sum of the noise's autocorrelation over all points: what neighbouring points share.
    near
        A fit to nearly the same points, to start from; None starts afresh.
    """
    count = z.shape[1]
    found = _Both.fitted(z, t_s, hum, near)
    one, two, rows = found.one, found.two, found.rows
    count, hums = z.shape[1], hum is not None
    noise2 = one.rss / max(count - 2 - hums, 1)
    points = 2.0 * count / correlation
    least = ROUNDING * (np.abs(z) ** 2).sum(axis=1)
    criterion = points * np.log(np.maximum(one.rss, least) + 1e-300)
    hz, variance = one.s[:, 0].imag.copy(), one.variance[:, 0] * noise2 * correlation / 2.0
    chance, away, share = np.zeros(len(z)), np.zeros(len(z)), np.zeros(len(z))
    modes = Modes(np.repeat(one.s, 2, axis=1), one.c * np.array([1.0, 0.0]), chance > 0.5)
    pair = modes.with_two(rows, two.s, two.c)
    if len(rows):
        noise2_two = two.rss / max(count - 4 - hums, 1)
        both = points * np.log(np.maximum(two.rss, least[rows]) + 1e-300)
        both = both + 4.0 * np.log(2.0 * count) + MARGIN
        p = 1.0 / (1.0 + np.exp(np.clip(0.5 * (both - criterion[rows]), -40.0, 40.0)))
        sound = np.isfinite(two.rss) & (two.s.real.max(axis=1) < MOST_GROWTH)
        p = np.where(sound & (two.s.real.min(axis=1) > -MOST_DECAY), p, 0.0)
        loud = two.loud()
        ratio = loud[:, 1] / np.maximum(loud[:, 0], 1e-30)
        apart = two.s[:, 1] - two.s[:, 0]
        # which of two nearly as strong ones is meant cannot be told
        other = 1.0 / (1.0 + np.maximum(ratio, 0.01) ** -ALIKE)
        own = two.variance[:, 0] * noise2_two * correlation / 2.0
        own = own + other * (1.0 - other) * apart.imag**2
        single, double = hz[rows], two.s[:, 0].imag
        mean = np.where(p > 0, (1.0 - p) * single + p * double, single)
        between = (1.0 - p) * (single - mean) ** 2 + np.where(p > 0, p * (double - mean) ** 2, 0.0)
        variance[rows] = (1.0 - p) * variance[rows] + np.where(p > 0, p * own, 0.0) + between
        hz[rows], chance[rows] = mean, p
        criterion[rows] = np.where(p > 0.5, both, criterion[rows])
        of = np.flatnonzero(p > 0.5)
        noise2[rows[of]] = noise2_two[of]
        away[rows[of]], share[rows[of]] = apart[of].imag / (2.0 * np.pi), ratio[of]
        modes = modes.with_two(rows[of], two.s[of], two.c[of])
    return DampedFit(
        hz=hz / (2.0 * np.pi),
        hz_sigma=np.sqrt(np.maximum(variance, 0.0)) / (2.0 * np.pi),
        decay=-modes.exponents[:, 0].real,
        level=np.abs(modes.amplitudes[:, 0]),
        noise=np.sqrt(noise2),
        chance_two=chance,
        criterion=criterion,
        second_hz=away,
        second_share=share,
        modes=modes,
        pair=pair,
        single=one.s[:, 0],
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Least:
    """A least-squares fit: exponents and amplitudes (rows, components), strongest first."""

    c: Complexes
    s: Complexes
    rss: Reals
    variance: Reals

    def loud(self) -> Reals:
        """Amplitudes shortly after the pluck."""
        return _loud(self.c, self.s)


@dataclass(frozen=True, slots=True, eq=False)
class _Both:
    """One component fitted to all partials, and two to those that stand out of the noise."""

    one: _Least
    two: _Least
    rows: NDArray[np.intp]

    @classmethod
    def fitted(
        cls, z: Complexes, t_s: Reals, hum: Complexes | None, near: DampedFit | None
    ) -> _Both:
        projected, count = project(z, hum), z.shape[1]
        begin = predict_one(z, t_s) if near is None else near.single
        one = _Least(*descend(projected, t_s, begin[:, None], hum, STEPS_ONE))
        noise = np.sqrt(one.rss / max(count - 2 - (hum is not None), 1))
        fallen = np.exp(np.clip(one.s[:, 0].real, -MOST_DECAY, 0.0) * t_s[0])
        rows = np.flatnonzero(np.abs(one.c[:, 0]) * fallen > HEARD * noise)
        if count <= LEAST_POINTS:
            rows = rows[:0]
        part = None if hum is None else hum[rows]
        if near is None:
            start = subspace(projected[rows], t_s) if len(rows) else np.zeros((0, 2), complex)
        else:
            start = near.pair.exponents[rows]
            afresh = np.flatnonzero(~near.pair.two[rows])
            if len(afresh):
                start[afresh] = subspace(projected[rows[afresh]], t_s)
        idle = None if near is not None else one.rss[rows] * np.exp(-IDLE_GAIN / (2.0 * count))
        c, s, rss, variance = descend(projected[rows], t_s, start, part, STEPS_TWO, idle=idle)
        order = np.argsort(-_loud(c, s), axis=1)
        c, s = np.take_along_axis(c, order, axis=1), np.take_along_axis(s, order, axis=1)
        variance = np.take_along_axis(variance, order, axis=1)
        return cls(one, _Least(c, s, rss, variance), rows)


def _loud(c: Complexes, s: Complexes) -> Reals:
    return np.asarray(np.abs(c) * np.exp(np.clip(s.real, -MOST_DECAY, 2.0) * PLUCKED_S))
