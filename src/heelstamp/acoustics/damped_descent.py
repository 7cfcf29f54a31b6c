"""Exponents and amplitudes of damped sinusoids by least squares, many partials side by side.

For every set of exponents s the best amplitudes follow at once; s moves by damped Gauss–Newton
steps [levenberg_1944] that are taken only where they lower the residual, and a partial that no
longer gains rests. Two components start from the signal subspace of lagged points [roy_1989]: from
a rough start two near ones often end far above the noise.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Complexes = NDArray[np.complex128]
Reals = NDArray[np.float64]

STEPS_ONE, STEPS_TWO = 3, 10
FEW_STEPS = 3
ENOUGH = 0.2
"""Gain of 2 ln likelihood in one step below which a partial rests."""
LAGS = 16
"""Points in a row of lagged ones, of which two components span a plane."""
MOST_DECAY = 60.0
LONGEST_STEP = 3.0
"""Of an exponent in one step, 1/s."""


def project(a: Complexes, hum: Complexes | None) -> Complexes:
    """Take the hum's part out of the last axis."""
    if hum is None:
        return a
    norm = np.maximum((hum.real**2 + hum.imag**2).sum(axis=-1), 1e-30)
    if a.ndim == 2:
        share = (hum.conj() * a).sum(axis=1) / norm
        return np.asarray(a - share[:, None] * hum)
    share = np.matmul(a, hum.conj()[:, :, None]) / norm[:, None, None]
    return np.asarray(a - share * hum[:, None, :])


def predict_one(z: Complexes, t_s: Reals) -> Complexes:
    """Start from the phase and decay between neighbouring points."""
    step = t_s[1] - t_s[0]
    forward = np.einsum("pm,pm->p", z[:, :-1].conj(), z[:, 1:])
    ratio = forward / np.maximum((np.abs(z[:, :-1]) ** 2).sum(axis=1), 1e-30)
    rough = np.log(np.where(ratio == 0, 1.0, ratio)) / step
    decay = np.clip(-rough.real, -0.2, MOST_DECAY)
    return np.asarray(-decay + 1j * rough.imag)


def subspace(z: Complexes, t_s: Reals) -> Complexes:
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


def descend(
    z: Complexes,
    t_s: Reals,
    s: Complexes,
    hum: Complexes | None,
    steps: int,
    *,
    idle: Reals | None = None,
) -> tuple[Complexes, Complexes, Reals, Reals]:
    """Amplitudes, exponents, residual sums of squares, and variances of s per unit noise.

    Parameters
    ----------
    z
        Shape (partials, points), the hum already projected out.
    s
        Shape (partials, components): to start from.
    idle
        Shape (partials,): what is left, above which a partial is not worth more than a few steps.
    """
    points, k = 2.0 * z.shape[1], s.shape[1]
    s = _bounded(s)
    c, e, residual, rss = _amplitudes(z, t_s, s, hum)
    damping = np.full(len(z), 1e-7)
    active = np.arange(len(z))
    for step in range(steps):
        part = None if hum is None else hum[active]
        columns = columns_of(t_s, c[active], s[active], e[active], part)
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
        if idle is not None and step + 1 >= FEW_STEPS:
            rests |= rss[active] > idle[active]
        active = active[~rests]
        if not len(active):
            break
    columns = columns_of(t_s, c, s, e, hum)
    variance = np.einsum("pkk->pk", np.linalg.inv(normal(columns))).real[:, k:]
    return c, s, rss, variance


def _bounded(s: Complexes) -> Complexes:
    return np.asarray(np.clip(s.real, -MOST_DECAY, 2.0) + 1j * s.imag)


def columns_of(
    t_s: Reals, c: Complexes, s: Complexes, e: Complexes, hum: Complexes | None
) -> Complexes:
    """What small changes of amplitudes, then of exponents, add; (partials, columns, points)."""
    bare = e if hum is None else exponentials(s, t_s)
    return np.concatenate([e, project(c[:, :, None] * t_s * bare, hum)], axis=1)


def normal(columns: Complexes) -> Complexes:
    """The normal matrix of each partial's columns, held against rounding."""
    left = np.matmul(columns.conj(), columns.transpose(0, 2, 1))
    size = np.einsum("pkk->pk", left).real
    return np.asarray(left + np.eye(left.shape[1]) * (1e-9 * size + 1e-30)[:, None, :])


def exponentials(s: Complexes, t_s: Reals) -> Complexes:
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
    e = project(exponentials(s, t_s), hum)
    c = np.linalg.solve(normal(e), np.matmul(e.conj(), z[:, :, None]))[:, :, 0]
    residual = z - np.matmul(c[:, None, :], e)[:, 0]
    size = (residual.real**2 + residual.imag**2).sum(axis=1)
    return np.asarray(c), e, np.asarray(residual), np.asarray(size)
