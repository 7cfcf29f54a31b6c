"""The nut: how high its slots stand over the first frets, and where they lie across.

Held at the third fret, a string runs straight from the slot to that fret and passes over the first
fret in a clearance that the feeler reads: the slot is that clearance divided by 1 − x₁/x₃ above the
line of the fret tops, 1.55 times as high. Usual clearances (`PRACTICE_MM`) are common practice, no
source. Filing cannot be undone, and an old nut tells who made it: the answer to a low or high slot
is a price for a nut, not a file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Z_90, Estimate
from heelstamp.mechanics.frets import fret_share

PRACTICE_MM = (0.05, 0.20)
"""Clearance over the first fret, held at the third; common practice, no source."""
Verdict = Literal["low", "usual", "high", "too close to call"]


@dataclass(frozen=True, slots=True)
class NutSlot:
    """One slot: its height over the line of the fret tops, mm, and how that compares."""

    height_mm: Estimate
    verdict: Verdict


def nut_slot(clearance_mm: Estimate, held_fret: int = 3) -> NutSlot:
    """Judge a slot by the clearance over the first fret while *held_fret* is held.

    Raises
    ------
    InputError
        Held at the first fret or at none.
    """
    if held_fret < 2:
        raise InputError(
            "hold a fret beyond the first", received=held_fret, remedy="Hold the third."
        )
    height = clearance_mm / (1.0 - fret_share(1) / fret_share(held_fret))
    reach = Z_90 * clearance_mm.uncertainty
    low, high = PRACTICE_MM
    verdict: Verdict = "too close to call"
    if clearance_mm.value + reach < low:
        verdict = "low"
    elif clearance_mm.value - reach > high:
        verdict = "high"
    elif low <= clearance_mm.value <= high:
        verdict = "usual"
    return NutSlot(height, verdict)


def slot_places(
    diameters_mm: tuple[float, ...], *, first_edge_mm: float, last_edge_mm: float
) -> tuple[float, ...]:
    """The middle of each slot so that the gaps between strings are equal.

    Parameters
    ----------
    diameters_mm
        Of the strings, from the first to the last.
    first_edge_mm, last_edge_mm
        Outer edges of the outer strings, from one side of the nut.

    Raises
    ------
    InputError
        Fewer than two strings, or no room between them.
    """
    room = last_edge_mm - first_edge_mm - sum(diameters_mm)
    if len(diameters_mm) < 2 or room <= 0:
        raise InputError(
            "the strings do not fit between those edges",
            received=f"{sum(diameters_mm):g} mm of strings in {last_edge_mm - first_edge_mm:g} mm",
            remedy="Measure the outer edges of the outer strings at the nut.",
        )
    gap = room / (len(diameters_mm) - 1)
    places, edge = [], first_edge_mm
    for diameter in diameters_mm:
        places.append(edge + diameter / 2.0)
        edge += diameter + gap
    return tuple(places)
