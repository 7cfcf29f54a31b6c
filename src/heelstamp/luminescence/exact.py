"""Sums and solutions that are the same to the last bit on every processor.

A linear-algebra library adds up in an order that depends on the processor and its threads, and the
last bits of a sum with it. Values on a grid of powers of two, few bits each, have sums that a
double holds exactly in any order (IEEE 754: 53 bits); elimination with whole rows uses single
operations alone, each of which is rounded one way. Kept results are rounded besides.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
VALUE_BITS, WEIGHT_BITS = 10, 8
MOST_VALUE = 16.0
"""Two values of 4 + 10 bits, a weight of 8 and 16 000 terms (14 bits) take 50 of 53 bits."""
LINEAR, SHIFT, PERSPECTIVE = 9, 4, 13
"""Decimals of a homography in pixels: under a thousandth of a pixel over 6000."""


def on_grid(values: NDArray[np.floating[Any]]) -> Numbers:
    """Values rounded to 2⁻¹⁰ and kept within ±16."""
    step = float(1 << VALUE_BITS)
    return np.clip(np.round(np.asarray(values, dtype=float) * step) / step, -MOST_VALUE, MOST_VALUE)


def weights_on_grid(weights: Numbers) -> Numbers:
    """Weights from nought to one, rounded to 2⁻⁸."""
    step = float(1 << WEIGHT_BITS)
    return np.asarray(np.round(weights * step) / step, dtype=float)


def solve(normal: Numbers, target: Numbers) -> Numbers:
    """The solution of a symmetric positive definite system, by elimination row by row.

    Parameters
    ----------
    normal, target
        (n, n) and (n, k).
    """
    n = len(normal)
    rows = np.concatenate([normal, target], axis=1)
    for k in range(n):
        factors = rows[k + 1 :, k] / rows[k, k]
        rows[k + 1 :, k:] -= factors[:, None] * rows[k, k:]
    found = np.empty(target.shape)
    for k in range(n - 1, -1, -1):
        found[k] = rows[k, n:] / rows[k, k]
        rows[:k, n:] -= rows[:k, k, None] * found[k]
    return found


def homography(matrix: NDArray[np.floating[Any]]) -> Numbers:
    """A homography of pixels, its last element one, rounded to what a pixel can show."""
    whole = np.asarray(matrix, dtype=float) / float(matrix[2, 2])
    decimals = np.full((3, 3), LINEAR)
    decimals[:2, 2], decimals[2, :2] = SHIFT, PERSPECTIVE
    scale = 10.0**decimals
    return np.asarray(np.round(whole * scale) / scale, dtype=float)
