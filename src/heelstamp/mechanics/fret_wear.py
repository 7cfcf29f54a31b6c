"""Where playing has taken the crowns down: each reading against the crowns that are hardly played.

Under one string the upper frets are played least. What stands there, the median of the readings
beyond the twelfth fret, is taken as the height that all had; a fret is worn by what it is lower.
It counts as worn when that is more than its 90 % reach. Both are common practice, no source: a
board whose upper frets were filed lower on purpose shows less wear than there was, and one that
was dressed shows none. Where too few upper frets were read, nothing is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import median

from heelstamp.mechanics.estimate import Z_90, Estimate

PLAYED_LEAST = 13
"""First fret that counts as hardly played."""
LEAST_READ = 4
"""Readings there, below which no height is taken from them."""
ZONES: tuple[tuple[str, int, int], ...] = (
    ("first position", 1, 4),
    ("fifth to eleventh fret", 5, 11),
    ("from the twelfth on", 12, 99),
)
NARROW_MM, WIDE_MM = 2.05, 2.5
"""Widths of a crown under which wire is called narrow, and from which wide; common practice."""


@dataclass(frozen=True, slots=True)
class WornCrown:
    """One crown under one string: how much lower than hardly played ones, and whether that counts.

    Attributes
    ----------
    loss_mm
        Under nought where it stands higher.
    """

    fret: int
    string: int
    loss_mm: Estimate
    worn: bool


@dataclass(frozen=True, slots=True)
class FretWear:
    """Playing wear over the board.

    Attributes
    ----------
    crowns
        By string and fret.
    level_mm
        Height of hardly played crowns under each string.
    deepest
        The crown that lost most; None where none is worn.
    zones
        Name of each part of the board that has worn crowns, with how many of those read.
    """

    crowns: tuple[WornCrown, ...]
    level_mm: Mapping[int, Estimate]
    deepest: WornCrown | None
    zones: tuple[tuple[str, int, int], ...]


def fret_wear(heights_mm: Mapping[tuple[int, int], Estimate]) -> FretWear | None:
    """Map playing wear.

    Parameters
    ----------
    heights_mm
        Crown heights above the wood, mm, by string and fret.

    Returns
    -------
    None where under no string enough hardly played crowns were read.
    """
    levels: dict[int, Estimate] = {}
    for string in sorted({string for string, _ in heights_mm}):
        upper = [
            one
            for (under, fret), one in heights_mm.items()
            if under == string and fret >= PLAYED_LEAST
        ]
        if len(upper) >= LEAST_READ:
            middle = median(one.value for one in upper)
            spread = max(one.uncertainty for one in upper) * (1.57 / len(upper)) ** 0.5
            levels[string] = Estimate.of(middle, spread, f"level under string {string}")
    if not levels:
        return None
    crowns = tuple(
        _worn(fret, string, levels[string] - height)
        for (string, fret), height in sorted(heights_mm.items())
        if string in levels
    )
    worn = [one for one in crowns if one.worn]
    zones = tuple(
        (name, len(those), sum(first <= one.fret <= last for one in crowns))
        for name, first, last in ZONES
        if (those := [one for one in worn if first <= one.fret <= last])
    )
    deepest = max(worn, key=lambda one: one.loss_mm.value, default=None)
    return FretWear(crowns, levels, deepest, zones)


def _worn(fret: int, string: int, loss: Estimate) -> WornCrown:
    return WornCrown(fret, string, loss, loss.value > Z_90 * loss.uncertainty)


def wire_word(narrowest_mm: float, widest_mm: float) -> str:
    """Name wire by the width of its crowns: narrow, medium or wide; empty where they differ."""
    words = {_width_word(one) for one in (narrowest_mm, widest_mm)}
    return words.pop() if len(words) == 1 else ""


def _width_word(width_mm: float) -> str:
    if width_mm < NARROW_MM:
        return "narrow"
    return "wide" if width_mm >= WIDE_MM else "medium"
