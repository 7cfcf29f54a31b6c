"""Dew point, and how long a cold case stays shut.

Saturation pressure over water by the Magnus form e = 6.112 hPa · exp(17.62 t / (243.12 + t)), from
−45 to 60 °C (WMO-No. 8, Guide to Instruments and Methods of Observation, annex 4.B); solved for t
at the vapour pressure of the room it is the dew point. Against the ASHRAE formulation it agrees
within 0.05 K from 0 to 40 °C and 20 to 100 % (`tests/published/test_dew_point.py`).

The closed case warms toward the room as 1 − exp(−t/τ); two readings give τ. The probe reads the air
by the instrument: wood and metal lag behind it, hence `MARGIN_K` above the dew point, which is
judgement. The exponential stops holding when the room's temperature moves.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Z_90, Estimate, combine

MAGNUS_A, MAGNUS_B_C = 17.62, 243.12  # 1, °C; WMO-No. 8, annex 4.B, over water
MARGIN_K = 3.0
"""How far above the dew point the case must read before it is opened; judgement."""
LONGEST_H = 72.0


def dew_point_c(air_c: float, humidity_pc: float) -> float:
    """The dew point in °C of air at *air_c* °C and *humidity_pc* % relative humidity.

    Raises
    ------
    InputError
        Outside −45 to 60 °C or above nought to 100 %.

    Examples
    --------
    >>> round(dew_point_c(21.0, 45.0), 1)
    8.6
    """
    if not (-45.0 <= air_c <= 60.0 and 0.0 < humidity_pc <= 100.0):
        raise InputError(
            "no dew point for that air",
            received=f"{air_c:g} °C, {humidity_pc:g} % RH",
            remedy="Give −45 to 60 °C, and more than 0 up to 100 % relative humidity.",
        )
    load = math.log(humidity_pc / 100.0) + MAGNUS_A * air_c / (MAGNUS_B_C + air_c)
    return MAGNUS_B_C * load / (MAGNUS_A - load)


def dew_point(air_c: Estimate, humidity_pc: Estimate) -> Estimate:
    """The dew point with the uncertainty of both readings."""
    dew_point_c(air_c.value, humidity_pc.value)

    def inside(air: float, humidity: float) -> float:
        return dew_point_c(air, min(100.0, max(0.1, humidity)))

    return combine(inside, air_c, humidity_pc)


@dataclass(frozen=True, slots=True)
class CaseReading:
    """Temperature in the closed case, °C, at a time in hours."""

    hours: float
    temperature_c: Estimate


@dataclass(frozen=True, slots=True)
class SafeToOpen:
    """When a case may be opened.

    Attributes
    ----------
    dew_point_c
        Of the room's air.
    open_now
        Whether the last reading already clears dew point and margin, at 95 %.
    time_constant_h
        τ; None with one reading, or when two do not tell.
    wait_h, wait_to_h
        Hours from the last reading until the best value, and until 95 of 100 such cases, clear
        dew point and margin; None when not known.
    reasons
        Sentences.
    """

    dew_point_c: Estimate
    open_now: bool
    time_constant_h: Estimate | None
    wait_h: float | None
    wait_to_h: float | None
    reasons: tuple[str, ...]


def safe_to_open(
    readings: tuple[CaseReading, ...], room_c: Estimate, humidity_pc: Estimate
) -> SafeToOpen:
    """Judge from one or two readings in the closed case; of more, the first and the last count.

    Raises
    ------
    InputError
        No reading, or the later one not later.
    """
    if not readings:
        raise InputError(
            "no temperature of the case", remedy="Put a probe in through the gap of the lid."
        )
    first, last = readings[0], readings[-1]
    dew = dew_point(room_c, humidity_pc)
    clear = last.temperature_c - dew - MARGIN_K
    if clear.value > Z_90 * clear.uncertainty:
        told = (
            f"The case reads {last.temperature_c.value - dew.value:.1f} K above the dew point of "
            f"{dew.value:.1f} °C: it may be opened."
        )
        return SafeToOpen(dew, True, None, 0.0, 0.0, (told,))
    shut = f"Keep the case shut: dew point {dew.value:.1f} °C, in the case "
    shut += f"{last.temperature_c.value:.1f} °C."
    if room_c.value - dew.value <= MARGIN_K:
        told = "The room is too damp for any case to clear its dew point by the margin: dry it."
        return SafeToOpen(dew, False, None, None, None, (shut, told))
    if len(readings) < 2:
        told = "Read again after an hour: two readings tell how long."
        return SafeToOpen(dew, False, None, None, None, (shut, told))
    span = last.hours - first.hours
    if span <= 0:
        raise InputError(
            "the second case reading is not later",
            received=f"{span:g} h",
            remedy="Give both with their times.",
        )
    forecast = _forecast((first, last), room_c, dew)
    return replace(forecast, reasons=(shut, *forecast.reasons))


def _forecast(
    readings: tuple[CaseReading, CaseReading], room_c: Estimate, dew: Estimate
) -> SafeToOpen:
    first, last = readings
    span = last.hours - first.hours
    start, now = room_c - first.temperature_c, room_c - last.temperature_c
    gained = start - now
    if not (now.value > 0 and gained.value > Z_90 * gained.uncertainty):
        told = "The two readings differ by no more than their error: wait longer, read again."
        return SafeToOpen(dew, False, None, None, None, (told,))
    constant = combine(lambda a, b: span / math.log(max(a, b + 1e-9) / max(b, 1e-9)), start, now)
    ratio = now / start

    def above(hours: float) -> Estimate:
        kept = combine(lambda q: max(q, 1e-9) ** (hours / span), ratio)
        return room_c - now * kept - dew - MARGIN_K

    wait = _first(lambda hours: above(hours).value)
    wait_to = _first(lambda hours: above(hours).value - Z_90 * above(hours).uncertainty)
    reasons = []
    if wait is not None:
        reasons.append(
            f"About {wait:.1f} h more at this rate (time constant {constant.value:.1f} h)."
        )
    reasons.append(
        "How long at most cannot be said from these readings: read again before opening."
        if wait_to is None
        else f"After {wait_to:.1f} h 95 of 100 such cases are clear; read again before opening."
    )
    return SafeToOpen(dew, False, constant, wait, wait_to, tuple(reasons))


def _first(clear_by: Callable[[float], float]) -> float | None:
    """The first of the hours, in steps of 0.1, at which *clear_by* is not below nought."""
    for tenth in range(int(10 * LONGEST_H) + 1):
        if clear_by(tenth / 10.0) >= 0.0:
            return tenth / 10.0
    return None
