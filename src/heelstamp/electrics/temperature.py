"""Copper from the temperature of the reading to 20 °C, where windings are compared.

R(T) = R₂₀·(1 + α·(T − 20 °C)) with α = 0.00393 per kelvin for annealed copper of the international
standard (NBS Handbook 100 (1966); IEC 60028 (1925)). α is proportional to conductivity (the same
handbook), and drawn and enamelled copper runs within about one per cent of the standard: its
uncertainty is taken as 0.00004 per kelvin (judgement). Holds near room temperature, for copper, and
for a winding that has the temperature of the room: wait until it has. A pot's carbon track does not
follow copper and is never corrected.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from heelstamp.errors import InputError

ALPHA_20 = 0.00393  # 1/K, annealed copper; NBS Handbook 100 (1966), IEC 60028
ALPHA_STANDARD = 0.00004  # 1/K, one per cent of conductivity; judgement
REFERENCE_C = 20.0
LEAST_C, MOST_C = -10.0, 50.0
"""Rooms in which a winding is read; the straight line was not looked at beyond."""
THERMOMETER_C = 0.5
"""Standard uncertainty of a room thermometer beside the instrument, K. Common practice."""


@dataclass(frozen=True, slots=True)
class AtTwenty:
    """A winding's resistance at 20 °C with its standard uncertainty, ohms."""

    ohm: float
    standard: float


def to_twenty(
    ohm: float,
    temperature_c: float,
    *,
    standard: float = 0.0,
    temperature_standard: float = THERMOMETER_C,
) -> AtTwenty:
    """Reduce a copper resistance to 20 °C.

    Parameters
    ----------
    ohm, standard
        Resistance as read and its standard uncertainty.
    temperature_c, temperature_standard
        Of the winding, °C, and its standard uncertainty, K.

    Raises
    ------
    InputError
        No temperature of a room.

    Examples
    --------
    >>> round(to_twenty(7500.0, 28.0).ohm)
    7271
    """
    if not LEAST_C <= temperature_c <= MOST_C:
        raise InputError(
            "no temperature of a room",
            where="temperature",
            received=f"{temperature_c:g} °C",
            remedy=f"Give it in °C, {LEAST_C:g} to {MOST_C:g}.",
        )
    away = temperature_c - REFERENCE_C
    factor = 1.0 + ALPHA_20 * away
    value = ohm / factor
    relative = math.hypot(
        standard / ohm, ALPHA_20 * temperature_standard / factor, ALPHA_STANDARD * away / factor
    )
    return AtTwenty(value, value * relative)
