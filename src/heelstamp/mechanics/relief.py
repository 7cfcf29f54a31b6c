"""How stiff a neck is, learned from its own relief at two tensions, and the relief to come.

Within its range a neck is a spring: relief = r₀ + s·T. Two readings at two known tensions give s;
the cheapest second tension is the same set tuned down a tone (0.794 of the tension), with the rod
untouched. Readings are put on a straight line by weighted least squares and the line is read at the
tension of the new set. With two readings that is r₁ + (r₁ − r₂)(T₃ − T₁)/(T₁ − T₂).

Reading errors propagate straight through: 0.03 mm each gives ±0.044 mm (one standard deviation)
for a change 1.4 times that of a tone down. Uncertain tensions propagate too, and what two sets
share cancels. Where it stops holding: a neck goes on moving for hours to days after a change of
load, so all readings are taken rested; a rod at its stop, a loose joint, wet or drying wood, and a
dead (slack) rod make the spring bend. Three or more readings are tested for a straight line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Z_90, Estimate, exact, total

FEELER_MM = 0.03
"""Standard uncertainty of a relief reading with straight edge and feelers; common practice."""
COMPLIANCE_LIMITS = (0.0001, 0.004)
"""mm/N; outside these a wooden neck is hardly ever: judgement, from the beam of `mechanics.neck`
with every size and modulus at its end at once."""

Basis = Literal["readings", "readings and beam", "beam"]


@dataclass(frozen=True, slots=True)
class ReliefReading:
    """Relief at one tension of the whole set; the rod untouched between readings."""

    tension_n: Estimate
    relief_mm: Estimate


@dataclass(frozen=True, slots=True)
class NeckSpring:
    """What two or more readings say of a neck.

    Attributes
    ----------
    compliance_mm_n
        Relief per newton of string tension.
    anchor_n, anchor_mm
        The point of the line that is known best.
    basis
        Whether the stiffness comes from readings, from a beam model, or from both.
    determined
        Whether the compliance is above nought by more than its 90 % reach.
    doubts
        What is odd: sentences, empty when nothing is.
    """

    compliance_mm_n: Estimate
    anchor_n: Estimate
    anchor_mm: Estimate
    basis: Basis
    determined: bool
    doubts: tuple[str, ...]

    def relief_at(self, tension_n: Estimate) -> Estimate:
        """The relief to expect, rested, with the rod as it is."""
        return self.anchor_mm + self.compliance_mm_n * (tension_n - self.anchor_n)


def neck_spring(readings: tuple[ReliefReading, ...], *, beam: Estimate | None = None) -> NeckSpring:
    """Learn a neck's stiffness.

    Parameters
    ----------
    readings
        Two or more at different tensions, or one together with *beam*.
    beam
        Compliance by a beam model, mm/N; it joins the readings by its weight.

    Raises
    ------
    InputError
        Too few readings, all at one tension, or a reading without uncertainty.
    """
    if not readings or (len(readings) < 2 and beam is None):
        raise InputError(
            "one reading does not tell how stiff a neck is",
            received=f"{len(readings)} relief reading(s)",
            remedy="Tune all strings down a tone, let it rest, read the relief again.",
        )
    for one in readings:
        if not one.relief_mm.uncertainty > 0:
            raise InputError(
                "a relief reading without uncertainty",
                received=f"{one.relief_mm.value:g} mm",
                remedy=f"Give one standard deviation; {FEELER_MM} mm for feelers.",
            )
    weights = [one.relief_mm.uncertainty**-2 for one in readings]
    whole = math.fsum(weights)
    tension = total([w * one.tension_n for w, one in zip(weights, readings, strict=True)]) / whole
    relief = total([w * one.relief_mm for w, one in zip(weights, readings, strict=True)]) / whole
    spread = exact(0.0)
    lean = exact(0.0)
    for weight, one in zip(weights, readings, strict=True):
        off = one.tension_n - tension
        spread = spread + weight * off.squared()
        lean = lean + weight * (off * one.relief_mm)
    basis: Basis = "readings"
    if spread.value <= 1e-9 * whole * max(1.0, tension.value**2):
        if beam is None:
            raise InputError(
                "all relief readings are at one tension",
                received=f"{tension.value:.0f} N",
                remedy="Take one of them tuned down a tone, rested.",
            )
        slope, basis = beam, "beam"
    else:
        slope = lean / spread
        if beam is not None:
            slope, basis = _weighted(slope, beam), "readings and beam"
    determined = slope.value > Z_90 * slope.uncertainty
    doubts = _doubts(slope, determined, readings, tension, relief)
    return NeckSpring(slope, tension, relief, basis, determined, doubts)


def _weighted(first: Estimate, second: Estimate) -> Estimate:
    by, times = first.uncertainty**-2, second.uncertainty**-2
    return (by * first + times * second) / (by + times)


def _doubts(
    slope: Estimate,
    determined: bool,
    readings: tuple[ReliefReading, ...],
    tension: Estimate,
    relief: Estimate,
) -> tuple[str, ...]:
    told = []
    if slope.value < 0:
        told.append(
            "The relief grew when the strings were slackened, which strings alone cannot do: read "
            "both again, rested."
        )
    elif not determined:
        told.append(
            "The two readings differ by little more than their error: the stiffness is not "
            "determined. Read each three times and give the means with their smaller error, or "
            "tune down further."
        )
    low, high = slope.interval()
    if slope.value > 0 and (high < COMPLIANCE_LIMITS[0] or low > COMPLIANCE_LIMITS[1]):
        told.append(
            f"{slope.value:.5f} mm/N is outside what a wooden neck does "
            f"({COMPLIANCE_LIMITS[0]} to {COMPLIANCE_LIMITS[1]} mm/N): check the readings, the "
            "joint and the rod."
        )
    freedom = len(readings) - 2
    if freedom >= 1:
        line = [
            relief.value + slope.value * (one.tension_n.value - tension.value) for one in readings
        ]
        misfit = math.fsum(
            ((one.relief_mm.value - at) / one.relief_mm.uncertainty) ** 2
            for one, at in zip(readings, line, strict=True)
        )
        if misfit > freedom + 2.3263 * math.sqrt(2.0 * freedom) + 2.0:  # about 1 in 100
            told.append(
                "The readings do not lie on a line: the neck had not rested, or something gives."
            )
    return tuple(told)
