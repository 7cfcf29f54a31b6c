"""A measured value beside the values seen on others: inside or outside the range, and no more.

A range seen is that of those that were measured, not a limit of what a maker made: with n values
drawn from one kind, another of the same kind falls outside their range with probability 2/(n + 1)
(order statistics; Wilks, *Annals of Mathematical Statistics* 12 (1941) 91-96). Being outside has
many causes, among them a maker's own variation, so that no cause is named here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from heelstamp.errors import InputError

Place = Literal["inside", "at the edge of", "outside"]


@dataclass(frozen=True, slots=True)
class SeenRange:
    """Least and largest value that was seen, in one unit, on ``count`` instruments (None: unsaid).

    Raises
    ------
    InputError
        The range is the wrong way round, or its count is less than two.
    """

    low: float
    high: float
    count: int | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low < self.high):
            raise InputError(
                "not a range of values seen",
                received=f"{self.low:g} to {self.high:g}",
                remedy="Give the least first, as 6.3k-7.1k.",
            )
        if self.count is not None and self.count < 2:
            raise InputError(
                "a range of fewer than two", received=self.count, remedy="Give how many were seen."
            )

    @property
    def chance_outside(self) -> float | None:
        """Probability that one more of the same kind falls outside; None when no count is known."""
        return None if self.count is None else 2.0 / (self.count + 1)


def place_in(value: float, standard: float, seen: SeenRange) -> Place:
    """Say where a value lies; ``at the edge of`` when an edge is within twice its uncertainty."""
    nearest = min(abs(value - seen.low), abs(value - seen.high))
    if nearest <= 2.0 * standard:
        return "at the edge of"
    return "inside" if seen.low < value < seen.high else "outside"
