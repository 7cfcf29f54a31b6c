"""A measured value with its unit and standard uncertainty.

Units are those of the bench; conversion factors are exact by definition (SI Brochure, 9th ed.,
2019; international inch 25.4 mm and avoirdupois pound 453.59237 g by the agreement of 1959).
Uncertainty is a standard uncertainty (one standard deviation) and combines in quadrature for
independent inputs (JCGM 100:2008, 5.1.2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from heelstamp.errors import HeelstampError, InputError


class UnitError(HeelstampError):
    """A unit is unknown, or two quantities of different kinds were mixed."""


# unit: (kind, factor to the kind's first unit, offset in that unit)
_UNITS: dict[str, tuple[str, float, float]] = {
    "mm": ("length", 1.0, 0.0),
    "cm": ("length", 10.0, 0.0),
    "m": ("length", 1000.0, 0.0),
    "in": ("length", 25.4, 0.0),
    "g": ("mass", 1.0, 0.0),
    "kg": ("mass", 1000.0, 0.0),
    "lb": ("mass", 453.59237, 0.0),
    "oz": ("mass", 28.349523125, 0.0),
    "°C": ("temperature", 1.0, 0.0),
    "K": ("temperature", 1.0, -273.15),
    "°F": ("temperature", 5.0 / 9.0, -160.0 / 9.0),
    "Ω": ("resistance", 1.0, 0.0),
    "kΩ": ("resistance", 1e3, 0.0),
    "MΩ": ("resistance", 1e6, 0.0),
    "pF": ("capacitance", 1e-6, 0.0),
    "nF": ("capacitance", 1e-3, 0.0),
    "µF": ("capacitance", 1.0, 0.0),
    "H": ("inductance", 1.0, 0.0),
    "mH": ("inductance", 1e-3, 0.0),
    "N": ("force", 1.0, 0.0),
    "Hz": ("frequency", 1.0, 0.0),
    "kHz": ("frequency", 1e3, 0.0),
    "cent": ("interval", 1.0, 0.0),
    "°": ("angle", 1.0, 0.0),
    "turn": ("angle", 360.0, 0.0),
    "% RH": ("relative humidity", 1.0, 0.0),
    "W/m²": ("irradiance", 1.0, 0.0),
    "s": ("time", 1.0, 0.0),
    "min": ("time", 60.0, 0.0),
    "px/mm": ("resolution", 1.0, 0.0),
    "1/turn": ("rate", 1.0, 0.0),
    "1": ("number", 1.0, 0.0),
}
_SPELLINGS = {
    "ohm": "Ω",
    "kohm": "kΩ",
    "Mohm": "MΩ",
    "uF": "µF",
    "μF": "µF",
    "C": "°C",
    "degC": "°C",
    "F": "°F",
    "degF": "°F",
    "deg": "°",
    "cents": "cent",
    "%RH": "% RH",
    "turns": "turn",
    "W/m2": "W/m²",
    "inch": "in",
    "": "1",
    "kOhm": "kΩ",
    "Ohm": "Ω",
    "Ω": "Ω",
}


def unit_name(text: str) -> str:
    """The one spelling of a unit that records keep.

    Raises
    ------
    UnitError
        No such unit; the message lists those there are.
    """
    unit = _SPELLINGS.get(text, text)
    if unit not in _UNITS:
        raise UnitError(
            "unknown unit", received=text, remedy="Units: " + ", ".join(sorted(_UNITS)) + "."
        )
    return unit


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with unit and standard uncertainty (same unit; for temperatures, of a difference).

    Raises
    ------
    UnitError
        The unit is unknown.
    InputError
        The value is not finite, or the uncertainty is negative.

    Examples
    --------
    >>> Quantity(25.4, "mm", 0.05).to("in")
    Quantity(value=1.0, unit='in', uncertainty=0.0019685039370078744)
    """

    value: float
    unit: str
    uncertainty: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "unit", unit_name(self.unit))
        if not (math.isfinite(self.value) and math.isfinite(self.uncertainty)):
            raise InputError("a quantity must be finite", received=self.value, remedy="Measure.")
        if self.uncertainty < 0:
            raise InputError(
                "an uncertainty cannot be negative",
                received=self.uncertainty,
                remedy="Give one standard deviation, or 0 when it is not known.",
            )

    @property
    def kind(self) -> str:
        """Kind of quantity: length, mass, resistance, …."""
        return _UNITS[self.unit][0]

    def to(self, unit: str) -> Quantity:
        """Convert to another unit of the same kind."""
        name = unit_name(unit)
        kind, factor, offset = _UNITS[self.unit]
        other_kind, other_factor, other_offset = _UNITS[name]
        if kind != other_kind:
            raise UnitError(
                f"{self.unit} is a unit of {kind}, {name} of {other_kind}",
                received=self,
                remedy="Convert only within one kind.",
            )
        value = (self.value * factor + offset - other_offset) / other_factor
        return Quantity(value, name, self.uncertainty * factor / other_factor)

    def __add__(self, other: Quantity) -> Quantity:
        same = other.to(self.unit)
        combined = math.hypot(self.uncertainty, same.uncertainty)
        return Quantity(self.value + same.value, self.unit, combined)

    def __sub__(self, other: Quantity) -> Quantity:
        same = other.to(self.unit)
        combined = math.hypot(self.uncertainty, same.uncertainty)
        return Quantity(self.value - same.value, self.unit, combined)

    def __str__(self) -> str:
        """Write value, uncertainty and unit, to one digit of the uncertainty, two below 2."""
        unit = "" if self.unit == "1" else f" {self.unit}"
        if self.uncertainty == 0:
            return f"{self.value:g}{unit}".replace("-", "−")
        size = math.floor(math.log10(self.uncertainty))
        digits = 2 if self.uncertainty < 2 * 10.0**size else 1  # JCGM 100:2008, 7.2.6: at most 2
        places = max(0, digits - 1 - size)
        value = f"{self.value:.{places}f}".replace("-", "−")
        return f"{value} ± {self.uncertainty:.{places}f}{unit}"
