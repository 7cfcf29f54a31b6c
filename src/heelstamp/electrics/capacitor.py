"""A tone capacitor's reading against its own mark.

A mark is a nominal value with a tolerance, and a capacitor may move with age: waxed paper takes up
water and then reads high and leaks, film hardly moves (common practice, no source). A reading
outside the tolerance is a fact about the capacitor; it says nothing of who fitted it or when. Read
in circuit at 1 kHz, with the tone pot so turned that its whole track is in series: pickup and pots
beside it still pull the reading, and the meter's own uncertainty does not know that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from heelstamp.errors import InputError

Standing = Literal["inside", "at the edge", "outside"]
TOLERANCE = 0.20
"""Of an unmarked tolerance: ±20 %. Common practice, no source."""
AGEING = {"waxed paper": "often reads high and leaks when old", "film": "hardly moves with age"}
"""What age does to each kind. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class AgainstMark:
    """A reading against the mark.

    Attributes
    ----------
    share
        Reading over mark, less one.
    standard
        Standard uncertainty of that share.
    standing
        ``"at the edge"`` when the edge lies within twice the uncertainty.
    """

    mark_farad: float
    read_farad: float
    tolerance: float
    share: float
    standard: float
    standing: Standing


def against_mark(
    read_farad: float, mark_farad: float, *, standard: float = 0.0, tolerance: float = TOLERANCE
) -> AgainstMark:
    """Compare a reading with the mark.

    Parameters
    ----------
    read_farad, standard
        Reading and its standard uncertainty, farads.
    mark_farad
        What is printed on it, farads.
    tolerance
        Share it may be off, from its mark or its kind.

    Raises
    ------
    InputError
        A value that is not positive, or no tolerance.

    Examples
    --------
    >>> found = against_mark(0.049e-6, 0.047e-6, standard=0.0005e-6)
    >>> round(found.share, 3), found.standing
    (0.043, 'inside')
    """
    for name, value in (("reading", read_farad), ("mark", mark_farad), ("tolerance", tolerance)):
        if not 0.0 < value < math.inf:
            raise InputError(
                "not a positive number",
                where=f"capacitor, {name}",
                received=value,
                remedy="Give the value with its unit, as 0.049 µF.",
            )
    share = read_farad / mark_farad - 1.0
    spread = standard / mark_farad
    room = tolerance - abs(share)
    standing: Standing = "inside" if room > 0 else "outside"
    if abs(room) <= 2.0 * spread:
        standing = "at the edge"
    return AgainstMark(mark_farad, read_farad, tolerance, share, spread, standing)
