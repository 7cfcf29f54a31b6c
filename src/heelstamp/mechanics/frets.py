"""Where frets lie: equal temperament and two workshop rules; scale length from any two frets.

Equal temperament: x_n = L (1 − 2^(−n/12)). Rule of 18: each fret takes an eighteenth of what is
left, x_n = L (1 − (17/18)^n), 12.5 cent flat at the twelfth fret. Rule of 17.817: the same with
17.817, a rounding of 1/(1 − 2^(−1/12)) = 17.817 153 7…, which misses the twelfth fret by 2 µm on a
guitar's scale. The workshop rules are common practice; the arithmetic is checked against a table in
`tests/published/test_fret_tables.py`. Lengths in mm from the front edge of the nut.
"""

from __future__ import annotations

import math
from enum import StrEnum

from heelstamp.errors import InputError

MOST_FRETS = 36


class FretRule(StrEnum):
    """How the places of the frets were laid out."""

    EQUAL = "equal temperament"
    EIGHTEEN = "rule of 18"
    SEVENTEEN_817 = "rule of 17.817"


_LEFT = {
    FretRule.EQUAL: 2.0 ** (-1.0 / 12.0),
    FretRule.EIGHTEEN: 17.0 / 18.0,
    FretRule.SEVENTEEN_817: 16.817 / 17.817,
}


def fret_share(number: float, rule: FretRule = FretRule.EQUAL) -> float:
    """The distance of a fret from the nut as a share of the scale length.

    Raises
    ------
    InputError
        Below the nut or beyond 36 frets.
    """
    if not 0 <= number <= MOST_FRETS:
        raise InputError(
            "no such fret", received=number, remedy=f"Frets run from 0 (nut) to {MOST_FRETS}."
        )
    return float(1.0 - _LEFT[rule] ** number)


def fret_place(scale_mm: float, number: float, rule: FretRule = FretRule.EQUAL) -> float:
    """The distance of a fret from the nut, mm.

    Examples
    --------
    >>> round(fret_place(647.7, 12, FretRule.EIGHTEEN), 3)
    321.495
    """
    return scale_mm * fret_share(number, rule)


def pitch_error_cents(scale_mm: float, should_mm: float, is_mm: float) -> float:
    """How sharp a note is, in cents, whose fret lies at *is_mm* instead of *should_mm*.

    The string is taken as sounding from the fret to *scale_mm*.
    """
    return 1200.0 * math.log2((scale_mm - should_mm) / (scale_mm - is_mm))
