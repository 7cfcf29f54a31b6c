"""What a pickup gives to an amplifier: the small-signal response of the passive circuit.

The pickup is an electromotive force behind its winding resistance and inductance, with the
winding's capacitance, and what its cover and magnets lose, across its terminals. Across the same
terminals lies the tone control, a rheostat in series with a capacitor; the volume pot divides
towards the jack, where cable capacitance and the input's resistance hang. A ladder network: each
admittance is added from the far end (any text on network analysis; checked against a nodal solver
and a circuit simulator). Holds for small signals up to about 20 kHz, for one pickup, for a
capacitance that is one lump and losses that do not depend on frequency; a second pickup in
parallel or a cover's eddy currents ask for more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.electrics.jack import TRACK_END, WIRINGS, Wiring
from heelstamp.errors import InputError

Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pickup:
    """Winding: ohms, henries, farads, and a loss in parallel in ohms (infinite: none)."""

    resistance_ohm: float
    inductance_h: float
    capacitance_f: float
    loss_ohm: float = math.inf

    def __post_init__(self) -> None:
        _positive("pickup", self.resistance_ohm, self.inductance_h, self.loss_ohm)
        _not_negative("pickup", self.capacitance_f)


@dataclass(frozen=True, slots=True)
class Controls:
    """Volume pot and tone control.

    Attributes
    ----------
    volume_ohm, volume
        Track, and the share of it below the wiper: 1 is full.
    tone_ohm, tone
        Rheostat, and the share of it in circuit: 1 is full treble.
    tone_capacitor_f
        0 for no tone control.
    """

    volume_ohm: float
    tone_ohm: float = 250e3
    tone_capacitor_f: float = 0.0
    volume: float = 1.0
    tone: float = 1.0
    wiring: Wiring = TRACK_END

    def __post_init__(self) -> None:
        _positive("volume pot", self.volume_ohm)
        _positive("tone pot", self.tone_ohm)
        _not_negative("tone capacitor", self.tone_capacitor_f)
        if not 0.0 < self.volume <= 1.0 or not 0.0 <= self.tone <= 1.0:
            raise InputError(
                "a knob's place is a share of its track",
                received=f"volume {self.volume:g}, tone {self.tone:g}",
                remedy="Give the volume above 0 and up to 1, the tone 0 to 1.",
            )
        if self.wiring not in WIRINGS:
            raise InputError("no such wiring", received=self.wiring, remedy="; ".join(WIRINGS))


@dataclass(frozen=True, slots=True)
class Load:
    """What hangs at the jack: cable capacitance and input resistance."""

    cable_f: float = 500e-12
    input_ohm: float = 1e6

    def __post_init__(self) -> None:
        _not_negative("cable", self.cable_f)
        _positive("input", self.input_ohm)


def response(frequency_hz: Floats, pickup: Pickup, controls: Controls, load: Load) -> Complex:
    """Output voltage over electromotive force.

    Parameters
    ----------
    frequency_hz
        Shape (n,), above 0.

    Returns
    -------
    array
        Complex, shape (n,).

    Raises
    ------
    InputError
        A frequency that is not above 0.
    """
    frequency = np.asarray(frequency_hz, float)
    if not np.all(frequency > 0):
        raise InputError("a frequency must be above 0 Hz", received=float(frequency.min()))
    s = 2j * np.pi * frequency
    series = pickup.resistance_ohm + s * pickup.inductance_h
    across = s * pickup.capacitance_f + 1.0 / pickup.loss_ohm
    if controls.tone_capacitor_f > 0:
        across = across + s * controls.tone_capacitor_f / (
            1.0 + s * controls.tone_capacitor_f * controls.tone_ohm * controls.tone
        )
    lower = 1.0 / (controls.volume_ohm * controls.volume)
    upper = controls.volume_ohm * (1.0 - controls.volume)
    jack = s * load.cable_f + 1.0 / load.input_ohm
    if controls.wiring == TRACK_END:
        jack = jack + lower
    else:
        across = across + lower
    divider = 1.0 / (1.0 + upper * jack)  # jack voltage over the pickup's terminals
    return np.asarray(divider / (1.0 + series * (across + jack * divider)), np.complex128)


def level_db(frequency_hz: Floats, pickup: Pickup, controls: Controls, load: Load) -> Floats:
    """The response in dB, 0 where all of the electromotive force arrives."""
    return np.asarray(20.0 * np.log10(np.abs(response(frequency_hz, pickup, controls, load))))


def _positive(where: str, *values: float) -> None:
    if not all(value > 0 for value in values):
        raise InputError(
            "a resistance or inductance must be above nothing",
            where=where,
            received=", ".join(f"{value:g}" for value in values),
        )


def _not_negative(where: str, *values: float) -> None:
    if not all(0.0 <= value < math.inf for value in values):
        raise InputError(
            "not a capacitance", where=where, received=", ".join(f"{value:g}" for value in values)
        )
