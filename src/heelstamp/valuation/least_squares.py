"""Linear least squares to nearly the last digit: Householder QR and iterative refinement.

The flat-prior limit of the price regression, and the check that its arithmetic is sound. Columns
are scaled by powers of two (no rounding), factored by Householder reflections (LAPACK), and the
solution is refined on the augmented system with residuals summed exactly: Björck, "Iterative
refinement of linear least squares solutions I", BIT 7 (1967) 257-278; products are split without
error by Dekker's method (Numerische Mathematik 18 (1971) 224-242).

It does not hold for a design without full column rank, which is refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from heelstamp.errors import InputError

Array = npt.NDArray[np.float64]

REFINEMENTS = 8
"""Most steps of refinement; two or three are usual."""

_SPLITTER = 134217729.0  # 2**27 + 1, Dekker 1971, for doubles


@dataclass(frozen=True)
class LeastSquares:
    """A fit.

    Attributes
    ----------
    coefficients, errors
        Estimates and their standard errors, (p,).
    residuals
        Response less fit, (n,).
    residual_sd
        Root of the residual sum of squares over n - p; 0 when n = p.
    """

    coefficients: Array
    errors: Array
    residuals: Array
    residual_sd: float


def least_squares(design: Array, response: Array) -> LeastSquares:
    """Fit *response* by the columns of *design*.

    Parameters
    ----------
    design
        (n, p), n >= p; bring your own column of ones.
    response
        (n,).

    Raises
    ------
    InputError
        Fewer rows than columns, or columns that depend on each other.
    """
    x, y = np.asarray(design, dtype=np.float64), np.asarray(response, dtype=np.float64)
    rows, columns = x.shape
    if rows < columns:
        raise InputError(
            "fewer observations than coefficients",
            received=f"{rows} for {columns}",
            remedy="Fit fewer columns, or use the regression with priors.",
        )
    scale = np.exp2(-np.round(np.log2(np.maximum(np.abs(x).max(axis=0), np.finfo(float).tiny))))
    x = x * scale
    q, r = np.linalg.qr(x)
    diagonal = np.abs(np.diag(r))
    if diagonal.min() <= rows * np.finfo(float).eps * diagonal.max():
        raise InputError(
            "columns of the design depend on each other",
            received=f"column {int(diagonal.argmin()) + 1}",
            remedy="Take one of them out.",
        )
    beta = np.linalg.solve(r, q.T @ y)
    residual = y - x @ beta
    best = math.inf
    for _ in range(REFINEMENTS):
        one = np.array([_exact(y[i], residual[i], x[i], beta) for i in range(rows)])
        two = np.array([_exact(0.0, 0.0, x[:, j], residual) for j in range(columns)])
        inner = q.T @ one - np.linalg.solve(r.T, two)
        step = np.linalg.solve(r, inner)
        size = float(np.abs(step).max())
        if not size < best / 2:
            break
        best = size
        beta = beta + step
        residual = residual + one - q @ inner
    inverse = np.linalg.inv(r)
    sd = math.sqrt(math.fsum(residual**2) / (rows - columns)) if rows > columns else 0.0
    errors = sd * np.sqrt((inverse**2).sum(axis=1))
    return LeastSquares(beta * scale, errors * scale, residual, sd)


def _exact(start: float, less: float, left: Array, right: Array) -> float:
    """Give start - less - left·right, rounded once."""
    high = left * right
    low = _product_error(left, right, high)
    return math.fsum([start, -less, *(-high).tolist(), *(-low).tolist()])


def _product_error(a: Array, b: Array, product: Array) -> Array:
    a_high, b_high = _high(a), _high(b)
    a_low, b_low = a - a_high, b - b_high
    return a_low * b_low - (((product - a_high * b_high) - a_low * b_high) - a_high * b_low)


def _high(a: Array) -> Array:
    c = _SPLITTER * a
    return np.asarray(c - (c - a))
