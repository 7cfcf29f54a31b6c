"""Damped sinusoids fitted to many partials at once: one each, or two that beat.

z(t) = Σ c exp((−d + iω) t), complex least squares in c and s = −d + iω, all partials side by side:
for every s the best c follow at once, and s moves by damped Gauss–Newton steps [levenberg_1944] that
are taken only where they lower the residual; a partial that no longer gains rests. Two components
start from the signal subspace of the lagged points [roy_1989], since from a rough start the residual
of two near ones often stays far above the noise. One component and two are weighed by the Bayesian
information criterion [schwarz_1978] and averaged, so that a doubt between them stays in the
uncertainty. Of two the one stronger at the pluck is meant: a weaker one that decays more slowly wins
on energy later [weinreich_1977]. A steady hum of known frequency within the band is projected out of
data and model alike, which is least squares with its amplitude free.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Complexes = NDArray[np.complex128]
Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

STEPS_ONE, STEPS_TWO = 4, 10
ENOUGH = 0.05
"""Gain of 2 ln likelihood in one step below which a partial rests."""
LAGS = 16
"""Points in a row of lagged ones, of which two components span a plane."""
MARGIN = 2.0
"""Added to the penalty of the information criterion."""
ALIKE = 12.0
"""How steeply a weaker component becomes the one that may be meant, when nearly as strong."""
PLUCKED_S = 0.06
"""Into the stretch: when the components are compared."""
MOST_DECAY = 60.0
HEARD = 1.6
"""Amplitude over noise at which a second component is looked for."""
ROUNDING = 1e-10
"""Share of the energy below which residuals are rounding, and no second component."""
LONGEST_STEP = 3.0
"""Of an exponent in one step, 1/s."""


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


def fit(
    z: Complexes,
    t_s: Reals,
    hum: Complexes | None = None,
    *,
    correlation: float = 1.0,
    near: Modes | None = None,
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
        Components of a fit to nearly the same points, to start two from; None starts afresh.
    """
    count = z.shape[1]
    projected = _project(z, hum)
    s = _predict_one(z, t_s)
    c1, s1, rss1, var1 = _descend(projected, t_s, s[:, None], hum, STEPS_ONE)
    free = max(count - 2 - (hum is not None), 1)
    hz, variance = s1[:, 0].imag.copy(), var1[:, 0] * rss1 / free * correlation / 2.0
    main, level, noise = s1[:, 0].copy(), np.abs(c1[:, 0]), np.sqrt(rss1 / free)
    chance, away, share = np.zeros(len(z)), np.zeros(len(z)), np.zeros(len(z))
    least = ROUNDING * (np.abs(z) ** 2).sum(axis=1)
    points = 2.0 * count / correlation
    criterion = points * np.log(np.maximum(rss1, least) + 1e-300)
    exponents, amplitudes = np.repeat(s1, 2, axis=1), np.repeat(c1, 2, axis=1)
    amplitudes[:, 1] = 0.0
    heard = level * np.exp(np.clip(s1[:, 0].real, -MOST_DECAY, 0.0) * t_s[0]) > HEARD * noise
    rows = np.flatnonzero(heard)
    if len(rows) and count > 8:
        part = None if hum is None else hum[rows]
        start = _subspace(projected[rows], t_s)
        if near is not None:
            start = np.where(near.two[rows, None], near.exponents[rows], start)
        c2, s2, rss2, var2 = _descend(projected[rows], t_s, start, part, STEPS_TWO)
        noise2 = rss2 / max(count - 4 - (hum is not None), 1)
        every = np.arange(len(rows))
        loud = np.abs(c2) * np.exp(np.clip(s2.real, -MOST_DECAY, 2.0) * PLUCKED_S)
        strong = loud.argmax(axis=1)
        weak = 1 - strong
        both = points * np.log(np.maximum(rss2, least[rows]) + 1e-300)
        both = both + 4.0 * np.log(2.0 * count) + MARGIN
        doubt = both - criterion[rows]
        p = 1.0 / (1.0 + np.exp(np.clip(0.5 * doubt, -40.0, 40.0)))
        sound = np.isfinite(rss2) & (s2.real.max(axis=1) < 0.3)
        p = np.where(sound & (s2.real.min(axis=1) > -MOST_DECAY), p, 0.0)
        ratio = loud[every, weak] / np.maximum(loud[every, strong], 1e-30)
        apart = s2[every, weak] - s2[every, strong]
        # which of two nearly as strong ones is meant cannot be told
        other = 1.0 / (1.0 + np.maximum(ratio, 0.01) ** -ALIKE)
        own = var2[every, strong] * noise2 * correlation / 2.0
        own = own + other * (1.0 - other) * apart.imag**2
        single, double = hz[rows], s2[every, strong].imag
        mean = np.where(p > 0, (1.0 - p) * single + p * double, single)
        between = (1.0 - p) * (single - mean) ** 2 + np.where(p > 0, p * (double - mean) ** 2, 0.0)
        variance[rows] = (1.0 - p) * variance[rows] + np.where(p > 0, p * own, 0.0) + between
        hz[rows], chance[rows] = mean, p
        criterion[rows] = np.where(p > 0.5, both, criterion[rows])
        of = np.flatnonzero(p > 0.5)
        into = rows[of]
        main[into] = s2[of, strong[of]]
        level[into], noise[into] = np.abs(c2[of, strong[of]]), np.sqrt(noise2[of])
        away[into], share[into] = apart[of].imag / (2.0 * np.pi), ratio[of]
        order = np.stack([strong[of], weak[of]], axis=1)
        exponents[into] = np.take_along_axis(s2[of], order, axis=1)
        amplitudes[into] = np.take_along_axis(c2[of], order, axis=1)
    return DampedFit(
        hz=hz / (2.0 * np.pi),
        hz_sigma=np.sqrt(np.maximum(variance, 0.0)) / (2.0 * np.pi),
        decay=-main.real,
        level=level,
        noise=noise,
        chance_two=chance,
        criterion=criterion,
        second_hz=away,
        second_share=share,
        modes=Modes(exponents, amplitudes, chance > 0.5),
    )


def _project(a: Complexes, hum: Complexes | None) -> Complexes:
    """Take the hum's part out of the last axis."""
    if hum is None:
        return a
    norm = np.maximum((hum.real**2 + hum.imag**2).sum(axis=-1), 1e-30)
    if a.ndim == 2:
        share = (hum.conj() * a).sum(axis=1) / norm
        return np.asarray(a - share[:, None] * hum)
    share = np.matmul(a, hum.conj()[:, :, None]) / norm[:, None, None]
    return np.asarray(a - share * hum[:, None, :])


def _predict_one(z: Complexes, t_s: Reals) -> Complexes:
    """Start from the phase and decay between neighbouring points."""
    step = t_s[1] - t_s[0]
    forward = np.einsum("pm,pm->p", z[:, :-1].conj(), z[:, 1:])
    ratio = forward / np.maximum((np.abs(z[:, :-1]) ** 2).sum(axis=1), 1e-30)
    rough = np.log(np.where(ratio == 0, 1.0, ratio)) / step
    decay = np.clip(-rough.real, -0.2, MOST_DECAY)
    return np.asarray(-decay + 1j * rough.imag)


def _subspace(z: Complexes, t_s: Reals) -> Complexes:
    """Start two components from the plane that lagged points span, and its shift by one lag."""
    count = z.shape[1]
    lag = max(1, count // (3 * LAGS))
    rows = min(LAGS, count // (2 * lag))
    lagged = z[:, np.arange(count - lag * (rows - 1))[:, None] + lag * np.arange(rows)]
    _, vectors = np.linalg.eigh(np.matmul(lagged.conj().transpose(0, 2, 1), lagged))
    plane = vectors[:, :, -2:].conj()
    now, next_ = plane[:, :-1], plane[:, 1:]
    square = np.matmul(now.conj().transpose(0, 2, 1), now) + 1e-12 * np.eye(2)
    shift = np.linalg.solve(square, np.matmul(now.conj().transpose(0, 2, 1), next_))
    half = 0.5 * (shift[:, 0, 0] + shift[:, 1, 1])
    root = np.sqrt(half * half - np.linalg.det(shift))
    poles = np.stack([half + root, half - root], axis=1)
    return np.asarray(
        np.log(np.where(np.abs(poles) < 1e-6, 1e-6, poles)) / (lag * (t_s[1] - t_s[0]))
    )


def _descend(
    z: Complexes, t_s: Reals, s: Complexes, hum: Complexes | None, steps: int
) -> tuple[Complexes, Complexes, Reals, Reals]:
    """Amplitudes, exponents, residual sums of squares, and variances of s per unit noise.

    Parameters
    ----------
    z
        Shape (partials, points), the hum already projected out.
    s
        Shape (partials, components): to start from.
    """
    points, k = 2.0 * z.shape[1], s.shape[1]
    s = _bounded(s)
    c, e, residual, rss = _amplitudes(z, t_s, s, hum)
    damping = np.full(len(z), 1e-7)
    active = np.arange(len(z))
    for _ in range(steps):
        part = None if hum is None else hum[active]
        columns = _columns(t_s, c[active], s[active], e[active], part)
        left = np.matmul(columns.conj(), columns.transpose(0, 2, 1))
        size = np.einsum("pkk->pk", left).real
        held = np.where(np.arange(2 * k) < k, 1e-9, damping[active, None] + 1e-9) * size + 1e-30
        left[:, np.arange(2 * k), np.arange(2 * k)] += held
        right = np.matmul(columns.conj(), residual[active][:, :, None])
        change = np.linalg.solve(left, right)[:, k:, 0]
        longest = np.maximum(np.abs(change).max(axis=1), 1e-12)
        tried = _bounded(s[active] + change * np.minimum(1.0, LONGEST_STEP / longest)[:, None])
        found = _amplitudes(z[active], t_s, tried, part)
        gain = points * np.log(np.maximum(rss[active], 1e-300) / np.maximum(found[3], 1e-300))
        better = gain > 0
        into = active[better]
        s[into] = tried[better]
        for kept, new in zip((c, e, residual, rss), found, strict=True):
            kept[into] = new[better]
        damping[active] = np.where(
            better,
            np.maximum(damping[active] / 30.0, 1e-9),
            np.maximum(damping[active] * 100, 1e-5),
        )
        rests = np.where(better, gain < ENOUGH, (gain > -1e-7) | (damping[active] > 10.0))
        active = active[~rests]
        if not len(active):
            break
    columns = _columns(t_s, c, s, e, hum)
    variance = np.einsum("pkk->pk", np.linalg.inv(_normal(columns))).real[:, k:]
    return c, s, rss, variance


def _bounded(s: Complexes) -> Complexes:
    return np.asarray(np.clip(s.real, -MOST_DECAY, 2.0) + 1j * s.imag)


def _columns(
    t_s: Reals, c: Complexes, s: Complexes, e: Complexes, hum: Complexes | None
) -> Complexes:
    """What small changes of amplitudes and exponents add, shape (partials, 2 components, points)."""
    bare = e if hum is None else _exponentials(s, t_s)
    return np.concatenate([e, _project(c[:, :, None] * t_s * bare, hum)], axis=1)


def _normal(columns: Complexes) -> Complexes:
    left = np.matmul(columns.conj(), columns.transpose(0, 2, 1))
    size = np.einsum("pkk->pk", left).real
    return np.asarray(left + np.eye(left.shape[1]) * (1e-9 * size + 1e-30)[:, None, :])


def _exponentials(s: Complexes, t_s: Reals) -> Complexes:
    """Exp(s t) for evenly spaced t: few exponentials, then products."""
    count = len(t_s)
    inner = max(1, int(np.sqrt(count)))
    outer = -(-count // inner)
    step = t_s[1] - t_s[0]
    coarse = np.exp(s[:, :, None] * (t_s[0] + step * inner * np.arange(outer)))
    fine = np.exp(s[:, :, None] * (step * np.arange(inner)))
    whole = coarse[:, :, :, None] * fine[:, :, None, :]
    return np.asarray(whole.reshape(*s.shape, outer * inner)[:, :, :count])


def _amplitudes(
    z: Complexes, t_s: Reals, s: Complexes, hum: Complexes | None
) -> tuple[Complexes, Complexes, Complexes, Reals]:
    """The best amplitudes for given exponents, the exponentials, what is left, and its size."""
    e = _project(_exponentials(s, t_s), hum)
    c = np.linalg.solve(_normal(e), np.matmul(e.conj(), z[:, :, None]))[:, :, 0]
    residual = z - np.matmul(c[:, None, :], e)[:, 0]
    return c, e, residual, (residual.real**2 + residual.imag**2).sum(axis=1)
