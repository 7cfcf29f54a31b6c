"""The loaded resonance: where the response is highest, how high, and how well both are known.

Height is told against the response far below the resonance (1 Hz). Uncertainty by linear
propagation of independent inputs with numerical derivatives (JCGM 100:2008, 5.1.2 and 5.1.3, note
2). Without a loss across the winding the height is an upper bound: covers, magnets and plates damp
it. A circuit that only falls has no resonance, and then none is given.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from heelstamp.electrics.circuit import Controls, Load, Pickup, level_db
from heelstamp.errors import InputError

LOW_HZ, HIGH_HZ = 100.0, 40_000.0
_POINTS = 240
_PLATEAU_HZ = 1.0
_LEAST_DB = 0.01
"""A rise of less is no resonance."""


@dataclass(frozen=True, slots=True)
class Circuit:
    """Pickup, controls and load together."""

    pickup: Pickup
    controls: Controls
    load: Load

    def changed(self, name: str, factor: float) -> Circuit:
        """The circuit with one value, named ``part.field``, times *factor*."""
        part, _, field = name.partition(".")
        try:
            owner = getattr(self, part)
            value = getattr(owner, field)
        except AttributeError:
            raise InputError("no such value of the circuit", received=name) from None
        changed: Circuit = replace(self, **{part: replace(owner, **{field: value * factor})})
        return changed


@dataclass(frozen=True, slots=True)
class Resonance:
    """Frequency (Hz) and height (dB) of the peak with standard uncertainties."""

    frequency_hz: float
    frequency_standard: float
    peak_db: float
    peak_standard: float


def peak(circuit: Circuit) -> tuple[float, float] | None:
    """Frequency and height of the highest point; None when the response only falls."""
    parts = (circuit.pickup, circuit.controls, circuit.load)
    low, high = math.log(LOW_HZ), math.log(HIGH_HZ)
    base = float(level_db(np.array([_PLATEAU_HZ]), *parts)[0])
    at = 0.0
    for _ in range(4):  # each grid is 80 times finer: 1e-8 of the frequency in the end
        grid = np.linspace(low, high, _POINTS)
        level = level_db(np.exp(grid), *parts)
        best = int(level.argmax())
        if best in (0, _POINTS - 1):
            return None
        low, high = float(grid[best - 1]), float(grid[best + 1])
        at = float(grid[best])
        height = float(level[best]) - base
    return (math.exp(at), height) if height >= _LEAST_DB else None


def resonance(circuit: Circuit, relative: Mapping[str, float]) -> Resonance | None:
    """The loaded resonance with its uncertainty.

    Parameters
    ----------
    circuit
        Best values.
    relative
        Relative standard uncertainty of each uncertain value, by ``part.field``, as
        ``{"pickup.inductance_h": 0.02}``.

    Raises
    ------
    InputError
        A value that the circuit does not have, or no uncertainty.
    """
    for name, share in relative.items():
        if not 0.0 <= share < 1.0:
            raise InputError("no relative uncertainty", where=name, received=share)
    middle = peak(circuit)
    if middle is None:
        for name in relative:
            circuit.changed(name, 1.0)
        return None
    of_frequency = of_height = 0.0
    for name, share in relative.items():
        step = 1e-3
        above, below = peak(circuit.changed(name, 1 + step)), peak(circuit.changed(name, 1 - step))
        if above is None or below is None:
            continue  # the peak vanishes within a thousandth: its height is nothing anyway
        of_frequency = math.hypot(of_frequency, (above[0] - below[0]) / (2 * step) * share)
        of_height = math.hypot(of_height, (above[1] - below[1]) / (2 * step) * share)
    return Resonance(middle[0], of_frequency, middle[1], of_height)
