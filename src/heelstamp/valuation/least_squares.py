"""Linear least squares without rounding: the normal equations in whole numbers, rounded at the end.

The flat-prior limit of the price regression, and the check that its arithmetic is sound. A double
is a whole number over a power of two, so each column of a design is whole numbers over one of them.
The normal equations are solved exactly by elimination without fractions (Bareiss, "Sylvester's
identity and multistep integer-preserving Gaussian elimination", Mathematics of Computation 22
(1968) 565-578), and every result is rounded once. Nothing hangs on a processor's order of
summation. Time grows as n p^2 + p^3 products of long integers.

It does not hold for a design without full column rank, which is refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from heelstamp.errors import InputError

Array = npt.NDArray[np.float64]
Exact = npt.NDArray[np.object_]
"""Of Python's own numbers without rounding: integers, fractions, decimals."""

_ROOT_BITS = 64  # of a square root before it is rounded to the 53 of a double


@dataclass(frozen=True)
class LeastSquares:
    """A fit; each number is the exact one for the numbers given, rounded once.

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


def least_squares(design: Array | Exact, response: Array | Exact) -> LeastSquares:
    """Fit *response* by the columns of *design*.

    Doubles are taken as they stand. Where rounding to doubles would itself cost digits, as in
    powers of one column, give exact numbers in an array of objects.

    Parameters
    ----------
    design
        (n, p), n >= p; bring your own column of ones.
    response
        (n,).

    Raises
    ------
    InputError
        Fewer rows than columns, a number that is not finite, or columns that depend on each other:
        one lies within n times a double's relative rounding of the space of those before it.
    """
    rows, columns = design.shape
    if rows < columns:
        raise InputError(
            "fewer observations than coefficients",
            received=f"{rows} for {columns}",
            remedy="Fit fewer columns, or use the regression with priors.",
        )
    scaled = [_whole(column) for column in design.T]
    a = np.stack([column for column, _ in scaled], axis=1)
    b, unit = _whole(response)
    gram, right = a.T @ a, a.T @ b
    solved, inverse, determinant = _solve(gram, right, rows)
    left = b * determinant - a @ solved
    freedom = rows - columns
    squares = Fraction(int((left * left).sum()), (determinant * unit) ** 2)
    variance = squares / freedom if freedom else Fraction(0)
    sizes = [size for _, size in scaled]
    return LeastSquares(
        np.array(
            [
                float(Fraction(one * size, determinant * unit))
                for one, size in zip(solved, sizes, strict=True)
            ]
        ),
        np.array(
            [
                _root(variance * Fraction(one * size**2, determinant))
                for one, size in zip(inverse, sizes, strict=True)
            ]
        ),
        np.array([float(Fraction(one, determinant * unit)) for one in left]),
        _root(variance),
    )


def _whole(numbers: Array | Exact) -> tuple[Exact, int]:
    """Return whole numbers, and the one that they are to be divided by."""
    try:
        ratios = [one.as_integer_ratio() for one in numbers.tolist()]
    except (ValueError, OverflowError) as error:  # not a number, infinity
        raise InputError("an observation is no finite number", remedy="Look for gaps.") from error
    unit = math.lcm(*(below for _, below in ratios))
    return np.array([above * (unit // below) for above, below in ratios], dtype=object), unit


def _solve(gram: Exact, right: Exact, rows: int) -> tuple[list[int], list[int], int]:
    """Solve *gram* z = *right*; return z and the inverse's diagonal, both times the determinant."""
    count = len(right)
    work = np.concatenate([gram, right[:, None], np.eye(count, dtype=object)], axis=1)
    noise = Fraction(rows * float(np.finfo(float).eps)) ** 2
    before = 1
    for place in range(count):
        pivot = work[place, place]  # over *before*: the squared distance from the columns before
        if pivot <= noise * before * gram[place, place]:
            raise InputError(
                "columns of the design depend on each other",
                received=f"column {place + 1}",
                remedy="Take one of them out.",
            )
        own = work[place]
        work = (pivot * work - work[:, place, None] * own) // before
        work[place] = own
        before = pivot
    diagonal = [work[place, count + 1 + place] for place in range(count)]
    return work[:, count].tolist(), diagonal, before


def _root(square: Fraction) -> float:
    """Return the square root, whatever the size of *square*."""
    if not square:
        return 0.0
    bits = square.denominator.bit_length() - square.numerator.bit_length()
    shift = _ROOT_BITS + bits // 2
    return math.ldexp(math.isqrt(int(square * Fraction(4) ** shift)), -shift)
