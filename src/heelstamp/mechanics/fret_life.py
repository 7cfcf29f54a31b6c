"""What is left of the frets: how often they can be dressed before they are too low.

A dressing levels every crown to the lowest and takes a little more, so the lowest reading decides:
after k dressings every fret stands at (lowest − k · loss). Limits and losses are settings, common
practice of the trade, no source. The lowest of many readings is low in part by its reading error;
that makes the answer cautious by about one reading error.

The radius of a fingerboard follows from three points of its arc: a straight edge of length w whose
ends touch stands s above (or the middle of the arc over) the chord, and r = w²/(8 s) + s/2, the
sagitta of a circle (any handbook of geometry).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import NormalDist

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate

LEAST_MM = 0.60
"""Height below which a crown gives too little hold; common practice, no source."""
LOSS_MM = (0.12, 0.04)
"""What one dressing takes beyond the lowest crown, and its standard uncertainty."""
SURE = 0.90
"""Probability from which a further dressing is counted on."""
TALLEST_MM = 1.80
"""No fret wire of the trade stands higher; common practice, no source."""
RADII_MM = (100.0, 1500.0)
"""Radii between which fingerboards of guitars lie that are not flat; common practice, no source."""
_MOST = 12


@dataclass(frozen=True, slots=True)
class FretLife:
    """What is left of the frets.

    Attributes
    ----------
    lowest_fret, lowest_mm
        The fret that decides, and its height.
    spare_mm
        Height above the least.
    dressings
        How many can be counted on, each with a probability of 90 % or more.
    chances
        Probability that at least one, two, … dressings leave enough, down to 5 %.
    worn
        Frets lower than the median of all by more than two standard uncertainties.
    """

    lowest_fret: int
    lowest_mm: Estimate
    spare_mm: Estimate
    dressings: int
    chances: tuple[float, ...]
    worn: tuple[int, ...]


def fret_life(
    heights_mm: Mapping[int, tuple[Estimate, ...]],
    *,
    least_mm: float = LEAST_MM,
    loss_mm: tuple[float, float] = LOSS_MM,
) -> FretLife:
    """Say what is left.

    Parameters
    ----------
    heights_mm
        Crown heights above the board, mm, by fret: one for each place across it that was read.
    least_mm, loss_mm
        The settings `LEAST_MM` and `LOSS_MM`.

    Raises
    ------
    InputError
        Nothing was read, a height of nought or less, or one that no fret wire has.
    """
    lowest = {fret: min(seen, key=_value) for fret, seen in heights_mm.items() if seen}
    if not lowest:
        raise InputError("no height of a fret", remedy="Read each fret at three strings.")
    for fret, seen in heights_mm.items():
        for one in seen:
            if not 0.0 < one.value <= TALLEST_MM:
                raise InputError(
                    "a height that no fret has",
                    where=f"fret {fret}",
                    received=f"{one.value:g} mm",
                    remedy=f"Read the crown above the wood, between 0 and {TALLEST_MM:g} mm.",
                )
    fret = min(lowest, key=lambda one: (lowest[one].value, one))
    spare = lowest[fret] - least_mm
    chances = []
    for count in range(1, _MOST + 1):
        left = spare - Estimate.of(count * loss_mm[0], count * loss_mm[1], "loss of a dressing")
        chance = NormalDist().cdf(left.value / max(left.uncertainty, 1e-9))
        if chance < 1.0 - 0.95:
            break
        chances.append(chance)
    middle = sorted(one.value for one in lowest.values())[len(lowest) // 2]
    worn = tuple(
        fret
        for fret, one in sorted(lowest.items())
        if middle - one.value > 2.0 * max(one.uncertainty, 0.01)
    )
    counted = sum(one >= SURE for one in chances)
    return FretLife(fret, lowest[fret], spare, counted, tuple(chances), worn)


def _value(one: Estimate) -> float:
    return one.value


def board_radius_mm(chord_mm: Estimate, sagitta_mm: Estimate) -> Estimate:
    """Radius of a fingerboard from a chord and the height of the arc over its middle, mm.

    Raises
    ------
    InputError
        No arc, or a radius that no fingerboard has.

    Examples
    --------
    >>> flat = board_radius_mm(Estimate.of(50.0, 0.1, "rule"), Estimate.of(1.708, 0.02, "feeler"))
    >>> round(flat.value), round(flat.uncertainty)
    (184, 2)
    """
    chord, rise = chord_mm.value, sagitta_mm.value
    radius = chord**2 / (8.0 * rise) + rise / 2.0 if chord > 0 and rise > 0 else 0.0
    if not RADII_MM[0] <= radius <= RADII_MM[1]:
        raise InputError(
            "a radius that cannot be",
            received=f"{rise:g} mm over a chord of {chord:g} mm",
            remedy="Read both again; a flat board has no radius.",
        )
    by_chord = chord / (4.0 * rise)
    by_rise = 0.5 - chord**2 / (8.0 * rise**2)
    shifted = (chord_mm - chord) * by_chord + (sagitta_mm - rise) * by_rise
    return shifted + radius
