"""Volume pot and pickup from two readings at the output jack, nothing de-soldered.

Direct current, so capacitors carry none. Let the pot's track be R and the pickup p.

*Pickup at the track's end, output at the wiper.* With the share x of the track below the wiper,
the jack sees xR beside (1 − x)R + p; the two add up to R + p, so their parallel value is largest,
(R + p)/4, where they are equal. With the volume full it is Rp/(R + p). From ``full`` and the
greatest reading ``sweep``, S = 4·sweep and P = full·S are sum and product of the two: the roots
of z² − Sz + P. The larger is the pot: were the pickup the larger, the reading would nowhere exceed
the one with the volume full, and ``sweep`` = ``full``.

*Pickup at the wiper, output at the track's end* (each volume independent of the other). The jack
sees (1 − x)R + (xR beside p), which falls all the way: the greatest reading is R, with the volume
at nothing, and p = full·R/(R − full).

Which of the two is wired is told by a third reading with the volume at nothing (none, or the
greatest), or else by the pot's nominal value and tolerance, if that decides. Circuit algebra by
Ohm's law; uncertainty by linear propagation (JCGM 100:2008, 5.1.2). Holds when one volume pot lies
between pickup and jack, every capacitor blocks direct current, and no resistor bridges the pot.
With two pickups on, p is both in parallel.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product
from typing import Literal

from heelstamp.electrics.meter import Reading
from heelstamp.errors import InputError

Wiring = Literal["pickup at the track's end", "pickup at the wiper"]
TRACK_END: Wiring = "pickup at the track's end"
WIPER: Wiring = "pickup at the wiper"
WIRINGS: tuple[Wiring, ...] = (TRACK_END, WIPER)

NOMINAL_OHM = (100e3, 250e3, 500e3, 1e6)
"""Volume pots of passive instruments. Common practice, no source."""
TOLERANCE = 0.20
"""Of a carbon pot about its nominal value, as marked ±20 %. Common practice, no source."""
END_SHARE = 0.02
"""Most of the track that is left at the end of a sound pot's turn. Judgement."""

CONDITIONS = (
    "one volume pot lies between the pickup and the jack",
    "the capacitors do not leak: a leak lies beside the pickup and lowers what is read",
    "no resistor bridges the volume pot",
    "the greatest reading is that of several slow sweeps of a contact that does not jump",
    "the cable is unplugged from any amplifier",
)


@dataclass(frozen=True, slots=True)
class Found:
    """A resistance worked out: ohms, standard uncertainty, and the ends that the meter allows."""

    ohm: float
    standard: float
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """What the readings mean under one wiring.

    Attributes
    ----------
    pot, pickup
        Track of the volume pot, and the pickup at the temperature of the reading.
    nominal_ohm
        Nominal values within whose tolerance the pot can lie.
    zero_fits
        Whether the reading with the volume at nothing is as expected; None when there is none.
    """

    wiring: Wiring
    pot: Found
    pickup: Found
    nominal_ohm: tuple[float, ...]
    zero_fits: bool | None


@dataclass(frozen=True, slots=True)
class JackResult:
    """Both hypotheses, and which of them the readings fit.

    Attributes
    ----------
    wiring
        The one that fits; None when they cannot tell, or when none fits.
    told_by
        ``"volume at nothing"``, ``"nominal value of the pot"``, or empty.
    fitting
        Wirings that nothing speaks against.
    """

    hypotheses: tuple[Hypothesis, Hypothesis]
    wiring: Wiring | None
    told_by: str
    fitting: tuple[Wiring, ...]

    @property
    def chosen(self) -> Hypothesis | None:
        """The hypothesis that fits, if it is one."""
        return next((one for one in self.hypotheses if one.wiring == self.wiring), None)


def roots(full_ohm: float, sweep_ohm: float) -> tuple[float, float]:
    """Both roots of z² − 4·sweep·z + 4·sweep·full, the larger first.

    Raises
    ------
    InputError
        The reading in the sweep is below the full one: no pot and pickup give that.

    Examples
    --------
    >>> [round(root) for root in roots(6420.0, 61900.0)]
    [241004, 6596]
    """
    inside = 1.0 - full_ohm / sweep_ohm
    if inside < 0:
        raise InputError(
            "the greatest reading in the sweep is below the one with the volume full",
            received=f"full {full_ohm:g} Ω, sweep {sweep_ohm:g} Ω",
            remedy="Turn the knob slowly over its whole turn and note the largest reading.",
        )
    larger = 2.0 * sweep_ohm * (1.0 + math.sqrt(inside))
    return larger, 4.0 * sweep_ohm * full_ohm / larger  # the product is better kept than a − b


def track_end(full_ohm: float, sweep_ohm: float) -> tuple[float, float]:
    """(R, p) for the pickup at the track's end."""
    return roots(full_ohm, sweep_ohm)


def at_wiper(full_ohm: float, sweep_ohm: float) -> tuple[float, float]:
    """(R, p) for the pickup at the wiper."""
    if sweep_ohm <= full_ohm:
        return sweep_ohm, math.inf
    return sweep_ohm, full_ohm * sweep_ohm / (sweep_ohm - full_ohm)


def solve(
    full: Reading,
    sweep: Reading,
    *,
    zero_ohm: float | None = None,
    nominal_ohm: tuple[float, ...] = NOMINAL_OHM,
    tolerance: float = TOLERANCE,
) -> JackResult:
    """Work out pot and pickup under both wirings, and say which of them the readings fit.

    Parameters
    ----------
    full, sweep
        At the jack: the volume full, and the greatest while the knob is swept.
    zero_ohm
        At the jack with the volume at nothing, ohms; 0 for a short.
    nominal_ohm, tolerance
        Values a pot may be marked with, and the share it may be off.

    Raises
    ------
    InputError
        Impossible readings, or readings so close that pot and pickup cannot be told apart.
    """
    _check(full, sweep, zero_ohm)
    found: list[Hypothesis] = []
    for wiring, formula in ((TRACK_END, track_end), (WIPER, at_wiper)):
        pot, pickup = (_found(formula, which, full, sweep) for which in (0, 1))
        nominal = tuple(
            one
            for one in nominal_ohm
            if pot.most >= one * (1 - tolerance) and pot.least <= one * (1 + tolerance)
        )
        found.append(Hypothesis(wiring, pot, pickup, nominal, _zero_fits(wiring, zero_ohm, pot)))
    first, second = found
    fitting = [one for one in found if one.zero_fits is not False]
    told_by = "volume at nothing" if zero_ohm is not None else ""
    if zero_ohm is None:
        fitting = [one for one in fitting if one.nominal_ohm]
        told_by = "nominal value of the pot" if len(fitting) == 1 else ""
    names = tuple(one.wiring for one in fitting)
    one_fits = len(names) == 1
    return JackResult((first, second), names[0] if one_fits else None, told_by, names)


def parallel_leak(pickup_ohm: float, leak_ohm: float) -> float:
    """What a pickup reads with a leak beside it: tone pot and leaking capacitor in series.

    Examples
    --------
    >>> round(parallel_leak(6596.0, 1_250_000.0))
    6561
    """
    return pickup_ohm * leak_ohm / (pickup_ohm + leak_ohm)


def _check(full: Reading, sweep: Reading, zero_ohm: float | None) -> None:
    room = full.limit + sweep.limit
    received = f"full {full.ohm:g} Ω, sweep {sweep.ohm:g} Ω"
    if sweep.ohm < full.ohm - room:
        roots(full.ohm, sweep.ohm)
    if sweep.ohm - full.ohm <= room:
        raise InputError(
            "pot and pickup cannot be told apart: both readings are the same within the meter",
            received=received,
            remedy="Sweep slowly with the volume pot of the pickup that is switched on. A pickup "
            "that bypasses the volume, or one larger than the pot, cannot be read this way.",
        )
    if zero_ohm is not None and not 0.0 <= zero_ohm < math.inf:
        raise InputError("not a resistance", where="volume at nothing", received=zero_ohm)
    if zero_ohm is not None and zero_ohm > sweep.ohm + 2 * sweep.limit:
        raise InputError(
            "more with the volume at nothing than in the whole sweep",
            received=f"{zero_ohm:g} Ω against {sweep.ohm:g} Ω",
            remedy="The sweep takes in both ends: sweep again and note the largest reading.",
        )


def _zero_fits(wiring: Wiring, zero_ohm: float | None, pot: Found) -> bool | None:
    """Whether the third reading is what this wiring gives, but for the end of the track."""
    if zero_ohm is None:
        return None
    room = END_SHARE * pot.ohm
    expected = 0.0 if wiring == TRACK_END else pot.ohm
    return abs(zero_ohm - expected) <= room


def _found(
    formula: Callable[[float, float], tuple[float, float]],
    which: int,
    full: Reading,
    sweep: Reading,
) -> Found:
    """Propagate both readings by central differences, and over the corners of their limits."""

    def value(full_ohm: float, sweep_ohm: float) -> float:
        return formula(full_ohm, sweep_ohm)[which]

    ohm = value(full.ohm, sweep.ohm)
    small = 1e-5 * min(full.ohm, sweep.ohm - full.ohm)
    by_full = (value(full.ohm + small, sweep.ohm) - value(full.ohm - small, sweep.ohm)) / 2 / small
    by_sweep = (value(full.ohm, sweep.ohm + small) - value(full.ohm, sweep.ohm - small)) / 2 / small
    corners = [
        value(full.ohm + a * full.limit, sweep.ohm + b * sweep.limit)
        for a, b in product((-1, 1), repeat=2)
    ]
    spread = math.hypot(by_full * full.standard, by_sweep * sweep.standard)
    return Found(ohm, spread, min(corners), max(corners))
