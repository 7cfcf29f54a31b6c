"""The stiff string's law fitted to partials, over every way in which they may stray from it.

(f_n/n)² = f0² (1 + B n²) is linear in n² − 1, with f1² as its value at n = 1. Beside its noise a
partial strays, in cents, by an error common to all (τ: bodies, windings), by a share κ of its own
width in frequency where a second polarisation could hide in it (a split too small to be seen shifts
a partial by a share of it), and by β/n, as the give of a bridge does. How large these are nobody
knows beforehand: every point of a grid is fitted, with errors of Student's t with four degrees, so
that single strayers count little [lange_1989], and weighs by its likelihood with the restricted
factor |XᵀWX|^(−1/2) [patterson_1971]. f1, B and their variances are means over the grid, the spread
between its points included. Where second polarisations hide in all partials alike their shifts
have one sign and no scatter shows them: a tenth of the widths, all together, is added, and a share
of the bridge's pulls, which for B may turn their sign at any partial, as about a resonance. Nothing
is left out: a partial left out makes B too sure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.stiff_string import CENT, t95

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

COMMON_CENTS = (0.001, *(0.004 * 3000.0 ** (k / 8.0) for k in range(9)))
WIDTH_SHARES = (0.0, 0.03, 0.12, 0.45)
BRIDGE_CENTS = (0.0, 0.03, 0.12, 0.5)
FREEDOM = 4.0
ROUNDS = 4
HIDDEN = 0.1
"""Shift of all partials alike by hidden polarisations, in their widths. Set on simulated notes."""
TOGETHER = 0.7
"""Share of the bridge's pulls that may have one sign. Set on simulated notes."""
LITTLE = 0.2
"""Share of its weight that Student's t leaves to a partial that is said to lie off the law."""
PRIOR_B, PRIOR_B_SIGMA = 8e-5, 3e-4
"""Weak expectation that keeps the fit of one or two partials finite; nothing beside five."""
_GRID = np.array(
    [(t, k, b) for t in COMMON_CENTS for k in WIDTH_SHARES for b in BRIDGE_CENTS], dtype=np.float64
)


@dataclass(frozen=True, slots=True, eq=False)
class LawFit:
    """A fitted string.

    Attributes
    ----------
    f0_hz, b
        Of the law.
    f1_hz
        f0 sqrt(1 + B).
    cents_sigma
        Standard uncertainty of f1 in cents.
    b_sigma
        Standard uncertainty of B.
    quantile
        Factor from standard uncertainty to half of the 90 % interval.
    model_cents
        By how much the partials stray from the law beside their noise.
    residual_cents
        Of each partial offered, shape (partials,).
    used
        Which partials count with more than a little of their weight.
    by_one, by_bend
        Shape (partials,): by how many cents f1 moves, and by how much B, for a cent of each.
    """

    f0_hz: float
    b: float
    f1_hz: float
    cents_sigma: float
    b_sigma: float
    quantile: float
    model_cents: float
    residual_cents: Reals
    used: Flags
    by_one: Reals
    by_bend: Reals


def fit_law(
    numbers: Reals, hz: Reals, hz_sigma: Reals, usable: Flags, width_cents: Reals | None = None
) -> LawFit:
    """Fit f0 and B to partials.

    Parameters
    ----------
    numbers, hz, hz_sigma
        Shape (partials,): number, frequency and its standard uncertainty.
    usable
        Which may be used; at least one.
    width_cents
        Shape (partials,): half width in frequency by which a hidden second polarisation shifts a
        partial, decay over 2π f; 0 where none can hide. None: nowhere.
    """
    n, x = numbers[usable], numbers[usable] ** 2 - 1.0
    raw = (hz[usable] / n) ** 2
    middle = float(np.median(raw))
    y = raw / middle
    noise = hz_sigma[usable] / hz[usable] / CENT
    width = np.zeros(len(n)) if width_cents is None else width_cents[usable]
    share, bridge = _GRID[:, 1:2] * width, _GRID[:, 2:3] / n
    spread2 = noise**2 + _GRID[:, 0:1] ** 2 + share**2 + bridge**2
    scale2 = spread2 * (2.0 * y * CENT) ** 2
    fitted = _student(x, y, scale2)
    at_one, slope, cov, trust, score = fitted
    chance = np.exp(score - score.max())
    chance /= chance.sum()
    one, bent = float(chance @ at_one), float(chance @ slope)
    ones_var = float(chance @ (cov[:, 0] + (at_one - one) ** 2))
    stiff = slope / (at_one - slope)
    b = bent / (one - bent)
    b_var = float(chance @ (cov[:, 2] / (at_one - slope) ** 2 + (stiff - b) ** 2))
    every = 0.5 * np.log((hz / numbers) ** 2 / (middle * _floor(one + bent * (numbers**2 - 1.0))))
    used = usable.copy()
    used[usable] = chance @ trust > LITTLE
    left = len(n) - 2
    by_one, by_bend = _shares(x, y, scale2, trust, chance)
    beside, pulled = HIDDEN * width, TOGETHER * float(chance @ _GRID[:, 2]) / n
    hidden = float(by_one @ (beside + pulled))
    # a resonance of the bridge pulls partials below it one way and those above it the other
    bends = by_bend @ (beside + pulled) - 2.0 * np.append(0.0, np.cumsum(by_bend * pulled))
    hidden_b = float(np.sqrt((bends**2).mean()))
    return LawFit(
        f0_hz=math.sqrt(middle * max(one - bent, 1e-9)),
        b=b,
        f1_hz=math.sqrt(middle * one),
        cents_sigma=math.hypot(math.sqrt(ones_var) / (2.0 * one * CENT), hidden),
        b_sigma=math.hypot(math.sqrt(b_var), hidden_b),
        quantile=1.645 * max(1.0, t95(left) / t95(6)),
        model_cents=float(chance @ _GRID[:, 0]),
        residual_cents=np.asarray(every / CENT),
        used=used,
        by_one=_among(usable, by_one),
        by_bend=_among(usable, by_bend),
    )


def _student(x: Reals, y: Reals, scale2: Reals) -> tuple[Reals, Reals, Reals, Reals, Reals]:
    """Fit every point of the grid.

    Returns
    -------
    value at n = 1, slope, (variance of the value, covariance, variance of the slope), each
    partial's trust, and the logarithm of the point's restricted likelihood
    """
    prior = 1.0 / PRIOR_B_SIGMA**2
    points = len(scale2)
    # from all partials, and from the lower half: high ones may agree on another polarisation
    scale2 = np.concatenate([scale2, scale2])
    plain = 1.0 / scale2
    trust = np.ones_like(scale2)
    trust[points:, x > np.median(x)] = 1e-3
    at_one = slope = np.zeros(len(scale2))
    off2 = np.zeros_like(scale2)
    for _ in range(ROUNDS + 1):
        w = plain * trust
        wx = w * x
        a11, a12, a22 = w.sum(1), wx.sum(1), wx @ x + prior
        b1, b2 = w @ y, wx @ y + prior * PRIOR_B
        det = a11 * a22 - a12 * a12
        at_one, slope = (a22 * b1 - a12 * b2) / det, (a11 * b2 - a12 * b1) / det
        off2 = (y - at_one[:, None] - slope[:, None] * x) ** 2 * plain
        trust = (FREEDOM + 1.0) / (FREEDOM + off2)
    peak = -0.5 * (FREEDOM + 1.0) * np.log1p(off2 / FREEDOM).sum(1)
    better = np.arange(points) + points * (peak[points:] > peak[:points])
    at_one, slope, off2, trust = at_one[better], slope[better], off2[better], trust[better]
    scale2, plain = scale2[:points], plain[:points]
    known = plain * ((FREEDOM + 1.0) / (FREEDOM + 3.0))
    kx = known * x
    a11, a12, a22 = known.sum(1), kx.sum(1), kx @ x + prior
    det = a11 * a22 - a12 * a12
    cov = np.stack([a22, -a12, a11], axis=1) / det[:, None]
    score = (-0.5 * np.log(scale2) - 0.5 * (FREEDOM + 1.0) * np.log1p(off2 / FREEDOM)).sum(
        1
    ) - 0.5 * np.log(det)
    score = score - 0.5 * prior * (slope - PRIOR_B) ** 2
    return at_one, slope, cov, np.minimum(trust, 1.0), score


def _shares(x: Reals, y: Reals, scale2: Reals, trust: Reals, chance: Reals) -> tuple[Reals, Reals]:
    """How much a cent of each partial moves f1 in cents, and B, over the grid."""
    w = trust / scale2
    wx = w * x
    a11, a12, a22 = w.sum(1), wx.sum(1), wx @ x + 1.0 / PRIOR_B_SIGMA**2
    det = (a11 * a22 - a12 * a12)[:, None]
    one = (a22[:, None] * w - a12[:, None] * wx) / det
    bend = (a11[:, None] * wx - a12[:, None] * w) / det
    return np.asarray(chance @ one * y), np.asarray(chance @ bend * y * 2.0 * CENT)


def _among(usable: Flags, values: Reals) -> Reals:
    every = np.zeros(len(usable))
    every[usable] = values
    return every


def _floor(law: Reals) -> Reals:
    return np.maximum(law, 1e-9)
