"""How many turns a winding may have: its resistance at 20 °C, the wire, and the length of a turn.

turns = R₂₀ / (ohms per metre × mean length of a turn). American gauges follow ASTM B258: diameter
0.005 in × 92^((36 − n)/39). Resistance per metre of annealed copper: 1.7241·10⁻⁸ Ωm over the
section (IEC 60028). Winding wire of IEC 60317-0-1 is tabulated at 58.5 m/(Ω mm²), 0.9 % less.
Neither gauge nor mean turn is seen without taking a pickup apart, so both come as ranges and so
does the answer. Wire stretched while it was wound is thinner than its
gauge, and a few per cent more ohms are then taken for turns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from heelstamp.errors import InputError

COPPER_OHM_M = 1.7241e-8  # annealed, 20 °C; IEC 60028, NBS Handbook 100 (1966)
IEC_CONDUCTIVITY = 58.5e6  # m/(Ω m²): 58.5 m/(Ω mm²), nominal values of IEC 60317-0-1; from memory
INCH_MM = 25.4


@dataclass(frozen=True, slots=True)
class Range:
    """From ``low`` to ``high``, both included.

    Raises
    ------
    InputError
        Not positive, or the wrong way round.
    """

    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0.0 < self.low <= self.high < math.inf:
            raise InputError(
                "not a range of positive numbers",
                received=f"{self.low:g} to {self.high:g}",
                remedy="Give the smaller number first.",
            )


def awg_diameter_mm(gauge: int) -> float:
    """The bare diameter of an American gauge by the rule of ASTM B258, mm.

    Examples
    --------
    >>> round(awg_diameter_mm(42), 6)
    0.063341
    """
    return float(0.005 * 92.0 ** ((36 - gauge) / 39.0) * INCH_MM)


def copper_ohm_per_m(diameter_mm: float) -> float:
    """Ohms per metre of round annealed copper at 20 °C.

    Examples
    --------
    >>> round(copper_ohm_per_m(0.063341), 3)
    5.471
    """
    return COPPER_OHM_M / (math.pi / 4.0 * (diameter_mm / 1000.0) ** 2)


def winding_ohm_per_m(diameter_mm: float) -> float:
    """Ohms per metre at 58.5 m/(Ω mm²), which the nominal values of IEC 60317-0-1 follow."""
    return 1.0 / (IEC_CONDUCTIVITY * math.pi / 4.0 * (diameter_mm / 1000.0) ** 2)


def turns(ohm_20: Range, ohm_per_m: Range, mean_turn_mm: Range) -> Range:
    """The range of turns that a resistance allows.

    Examples
    --------
    >>> found = turns(Range(6470, 6490), Range(5.444, 5.472), Range(145, 165))
    >>> round(found.low), round(found.high)
    (7166, 8222)
    """
    low = ohm_20.low / (ohm_per_m.high * mean_turn_mm.high / 1000.0)
    high = ohm_20.high / (ohm_per_m.low * mean_turn_mm.low / 1000.0)
    return Range(low, high)
