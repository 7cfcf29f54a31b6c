"""The law of a stiff string, its stiffness from wire and scale, and its fit to measured partials.

f_n = n f0 sqrt(1 + B n²), pinned ends [fletcher_1964]; f1 = f0 sqrt(1 + B). B = π³ E d⁴ / (64 T L²)
for plain round wire under tension T, or without T, by T = ρ (π d²/4) (2 L f0)², B = π² E d² / (64 ρ
f0² L⁴). Wound strings follow the law with the core's stiffness, B then being measured rather than
computed.

The fit is linear in n²: (f_n/n)² = f0² (1 + B n²). Each partial weighs by its own noise and by an
error of the model common to all, relative to frequency, that is raised until the residuals are no
larger than expected (Mandel and Paule [paule_mandel_1982]): bodies move single partials by more
than noise does. The interval uses Student's t with the partials left over.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

CENT = math.log(2.0) / 1200.0
MODEL_FLOOR_CENTS = 0.004
MODEL_MOST_CENTS = 30.0
OFF_LAW = 4.0
"""Standard deviations from the law at which a partial is left out."""
PRIOR_B, PRIOR_B_SIGMA = 8e-5, 3e-4
"""Weak expectation that keeps the fit of one or two partials finite; nothing beside five."""
_T95 = (6.314, 2.920, 2.353, 2.132, 2.015, 1.943, 1.895, 1.860, 1.833, 1.812)
"""Student's t, 95th percentile for 1 to 10 degrees of freedom (from memory of the usual table)."""


def inharmonicity(
    diameter_m: float, length_m: float, f0_hz: float, modulus_pa: float, density_kg_m3: float
) -> float:
    """B of a plain string from wire, scale and pitch."""
    return float(
        math.pi**2 * modulus_pa * diameter_m**2 / (64.0 * density_kg_m3 * f0_hz**2 * length_m**4)
    )


def inharmonicity_under_tension(
    diameter_m: float, length_m: float, tension_n: float, modulus_pa: float
) -> float:
    """B of a plain string from wire, scale and tension."""
    return float(math.pi**3 * modulus_pa * diameter_m**4 / (64.0 * tension_n * length_m**2))


def partial_hz(number: int, f0_hz: float, b: float) -> float:
    """The frequency of a partial."""
    return float(number * f0_hz * math.sqrt(1.0 + b * number * number))


def stretch_cents(number: int, b: float) -> float:
    """How far a partial lies above the whole multiple of f0, in cents."""
    return float(600.0 * math.log2(1.0 + b * number * number))


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
        The error of the model that the residuals ask for.
    residual_cents
        Of each partial offered, shape (partials,).
    used
        Which partials were kept.
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


def fit_law(numbers: Reals, hz: Reals, hz_sigma: Reals, usable: Flags) -> LawFit:
    """Fit f0 and B to partials.

    Parameters
    ----------
    numbers, hz, hz_sigma
        Shape (partials,): number, frequency and its standard uncertainty.
    usable
        Which may be used; at least one.
    """
    y = (hz / numbers) ** 2
    x = numbers**2
    noise = hz_sigma / hz / CENT
    used = usable.copy()
    model = MODEL_FLOOR_CENTS
    square, slope, cov = 0.0, 0.0, np.zeros((2, 2))
    residual = np.zeros_like(hz)
    for _ in range(12):
        model = _model_error(x, y, noise, used)
        square, slope, cov = _solve(x, y, np.hypot(noise, model), used)
        residual = 0.5 * np.log(y / np.maximum(square + slope * x, 1e-9)) / CENT
        # judged against the law as the others set it, and a scale that a few cannot raise
        spread = np.hypot(noise, max(_robust(residual[used], noise[used]), MODEL_FLOOR_CENTS))
        off = np.where(used, np.abs(residual) / spread, 0.0)
        if used.sum() < 5 or off.max() < OFF_LAW:
            break
        used[int(off.argmax())] = False
    at_one = square + slope
    b = slope / square
    gradient = np.array([1.0, 1.0]) / (2.0 * at_one * CENT)
    b_gradient = np.array([-slope / square**2, 1.0 / square])
    left = int(used.sum()) - 2
    return LawFit(
        f0_hz=math.sqrt(square),
        b=b,
        f1_hz=math.sqrt(at_one),
        cents_sigma=float(math.sqrt(gradient @ cov @ gradient)),
        b_sigma=float(math.sqrt(b_gradient @ cov @ b_gradient)),
        quantile=t95(left),
        model_cents=model,
        residual_cents=residual,
        used=used,
    )


def t95(freedom: int) -> float:
    """Student's 95th percentile, for two-sided 90 % intervals."""
    if freedom < 1:
        return _T95[0]
    if freedom <= len(_T95):
        return _T95[freedom - 1]
    return 1.6449 + 1.53 / freedom


def _solve(x: Reals, y: Reals, sigma_cents: Reals, used: Flags) -> tuple[float, float, Reals]:
    """F0², f0² B and their covariance."""
    spread = 2.0 * y * CENT * sigma_cents
    w = np.where(used, 1.0 / spread**2, 0.0)
    middle = float(np.median(y[used]))
    prior = 1.0 / (PRIOR_B_SIGMA * middle) ** 2
    a11, a12, a22 = float(w.sum()), float((w * x).sum()), float((w * x * x).sum()) + prior
    b1, b2 = float((w * y).sum()), float((w * x * y).sum()) + prior * PRIOR_B * middle
    det = a11 * a22 - a12 * a12
    cov = np.array([[a22, -a12], [-a12, a11]]) / det
    return (a22 * b1 - a12 * b2) / det, (a11 * b2 - a12 * b1) / det, cov


def _model_error(x: Reals, y: Reals, noise: Reals, used: Flags) -> float:
    """Raise the model's error until the sum of squared residuals is what it should be."""
    freedom = int(used.sum()) - 2
    if freedom < 1:
        return 0.1

    def excess(model: float) -> float:
        sigma = np.hypot(noise, model)
        square, slope, _ = _solve(x, y, sigma, used)
        residual = 0.5 * np.log(y / np.maximum(square + slope * x, 1e-9)) / CENT
        return float(((residual / sigma) ** 2)[used].sum()) - freedom

    low, high = MODEL_FLOOR_CENTS, MODEL_MOST_CENTS
    if excess(low) <= 0:
        return low
    for _ in range(9):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if excess(middle) > 0 else (low, middle)
    return math.sqrt(low * high)


def _robust(residual: Reals, noise: Reals) -> float:
    """A scale of the residuals beyond noise from their median, after Hampel."""
    middle = float(np.median(np.abs(residual)))
    beyond = (1.4826 * middle) ** 2 - float(np.median(noise)) ** 2
    return math.sqrt(max(beyond, 0.0))
