"""A value with its standard uncertainty, kept apart by where the uncertainty comes from.

Two results that rest on the same reading, the density of the same wire say, share that part of
their uncertainty: in their difference it cancels, in their sum it adds up straight. Each estimate
therefore carries one signed contribution per named source, and arithmetic propagates them by
first-order differences (JCGM 100:2008, 5.1.2 and 5.2.2, with sources that are independent of each
other). It stops holding where a function bends within one standard uncertainty; intervals are those
of a normal distribution.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from statistics import NormalDist
from types import MappingProxyType

from heelstamp.errors import InputError
from heelstamp.units import Quantity

_NONE: Mapping[str, float] = MappingProxyType({})


def _none() -> Mapping[str, float]:
    return _NONE


Z_90 = NormalDist().inv_cdf(0.95)
"""Half width of a 90 % interval in standard uncertainties, 1.645."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard uncertainty by source.

    Attributes
    ----------
    value
        Best value, in the unit that the name of whoever holds it tells.
    parts
        Source of uncertainty → signed contribution, one standard deviation, same unit.

    Examples
    --------
    >>> rule = Estimate.of(10.0, 0.3, "rule")
    >>> (rule - rule).uncertainty, (rule + rule).uncertainty
    (0.0, 0.6)
    """

    value: float
    parts: Mapping[str, float] = field(default_factory=_none)

    @classmethod
    def of(cls, value: float, uncertainty: float, source: str) -> Estimate:
        """A value whose whole uncertainty comes from one *source*.

        Raises
        ------
        InputError
            Not finite, or a negative uncertainty.
        """
        if not (math.isfinite(value) and math.isfinite(uncertainty)) or uncertainty < 0:
            raise InputError(
                "a value and its uncertainty must be finite, the latter not negative",
                where=source,
                received=f"{value} ± {uncertainty}",
                remedy="Measure again, and give one standard deviation.",
            )
        return cls(float(value), {source: float(uncertainty)} if uncertainty else _NONE)

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty, all sources together."""
        return math.hypot(*self.parts.values())

    def interval(self, level: float = 0.90) -> tuple[float, float]:
        """The central interval of a normal distribution."""
        reach = NormalDist().inv_cdf(0.5 + level / 2.0) * self.uncertainty
        return self.value - reach, self.value + reach

    def quantity(self, unit: str) -> Quantity:
        """Value and uncertainty with their unit."""
        return Quantity(self.value, unit, self.uncertainty)

    def mapped(self, value: float, slope: float) -> Estimate:
        """A function's *value* here, and its *slope* times every contribution."""
        return Estimate(value, {source: slope * part for source, part in self.parts.items()})

    def __add__(self, other: Estimate | float) -> Estimate:
        if not isinstance(other, Estimate):
            return Estimate(self.value + other, self.parts)
        return Estimate(self.value + other.value, _merged(self.parts, 1.0, other.parts, 1.0))

    def __sub__(self, other: Estimate | float) -> Estimate:
        if not isinstance(other, Estimate):
            return Estimate(self.value - other, self.parts)
        return Estimate(self.value - other.value, _merged(self.parts, 1.0, other.parts, -1.0))

    def __mul__(self, other: Estimate | float) -> Estimate:
        if not isinstance(other, Estimate):
            return self.mapped(self.value * other, other)
        parts = _merged(self.parts, other.value, other.parts, self.value)
        return Estimate(self.value * other.value, parts)

    def __truediv__(self, other: Estimate | float) -> Estimate:
        if not isinstance(other, Estimate):
            return self.mapped(self.value / other, 1.0 / other)
        value = self.value / other.value
        parts = _merged(self.parts, 1.0 / other.value, other.parts, -value / other.value)
        return Estimate(value, parts)

    def __radd__(self, other: float) -> Estimate:
        return self + other

    def __rsub__(self, other: float) -> Estimate:
        return Estimate(other - self.value, _merged(self.parts, -1.0, _NONE, 1.0))

    def __rmul__(self, other: float) -> Estimate:
        return self * other

    def __neg__(self) -> Estimate:
        return self.mapped(-self.value, -1.0)

    def squared(self) -> Estimate:
        """The square."""
        return self.mapped(self.value**2, 2.0 * self.value)


def exact(value: float) -> Estimate:
    """A value without uncertainty: a count, a definition, a chosen target."""
    return Estimate(float(value))


def total(values: tuple[Estimate, ...] | list[Estimate]) -> Estimate:
    """Add up, shared sources together."""
    summed = exact(0.0)
    for one in values:
        summed = summed + one
    return summed


def combine(function: Callable[..., float], *arguments: Estimate) -> Estimate:
    """Put estimates through any smooth function.

    Each source moves all arguments it touches at once, one standard uncertainty to either side
    (JCGM 100:2008, 5.1.3, note 2), so that shared sources are treated as shared.
    """
    centre = tuple(one.value for one in arguments)
    parts: dict[str, float] = {}
    for source in {name for one in arguments for name in one.parts}:
        shift = tuple(one.parts.get(source, 0.0) for one in arguments)
        above = function(*(c + s for c, s in zip(centre, shift, strict=True)))
        below = function(*(c - s for c, s in zip(centre, shift, strict=True)))
        parts[source] = (above - below) / 2.0
    return Estimate(function(*centre), dict(sorted(parts.items())))


def _merged(
    first: Mapping[str, float], by: float, second: Mapping[str, float], times: float
) -> Mapping[str, float]:
    merged = {source: by * part for source, part in first.items()}
    for source, part in second.items():
        merged[source] = merged.get(source, 0.0) + times * part
    return merged
