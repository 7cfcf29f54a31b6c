"""Saddle heights: for a target action, string by string, over a flat, round or compound board.

The string is straight from nut to saddle, so the saddle moves by the change of action divided by
the share of the scale at which action is read: twice the change at the twelfth fret. Over a board
of radius R the fret at a distance y from the middle lies R − √(R² − y²) lower. A compound board is
taken as a cone: its radius grows linearly from nut to last fret and on to the saddles; strings lie
on the surface of that cone when the saddle heights follow it. Limits: a wound string's underside is
where it touches the slot; string height is that of the underside, saddle height of the slot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate
from heelstamp.mechanics.frets import fret_share


def saddle_rise(action_change_mm: Estimate, fret: int = 12) -> Estimate:
    """By how many mm the saddle moves for a change of action at *fret*; up is positive.

    Raises
    ------
    InputError
        The fret is the nut.
    """
    if fret < 1:
        raise InputError("action is read at a fret", received=fret, remedy="Give 12.")
    return action_change_mm / fret_share(fret)


@dataclass(frozen=True, slots=True)
class Board:
    """The board across: radius at the nut and at the last fret, mm; None is flat.

    Attributes
    ----------
    nut_radius_mm, last_radius_mm
        Equal for a cylinder.
    last_fret
        Where *last_radius_mm* is measured.
    """

    nut_radius_mm: float | None
    last_radius_mm: float | None
    last_fret: int

    def __post_init__(self) -> None:
        radii = (self.nut_radius_mm, self.last_radius_mm)
        if (radii[0] is None) != (radii[1] is None) or any(r is not None and r <= 0 for r in radii):
            raise InputError(
                "a board has two radii above nought, or is flat",
                received=f"{radii[0]} and {radii[1]} mm",
                remedy="Give the same radius twice for a cylinder, none for a flat board.",
            )

    def radius_mm(self, share: float) -> float:
        """The radius at a share of the scale from the nut; infinite when flat."""
        if self.nut_radius_mm is None or self.last_radius_mm is None:
            return math.inf
        along = share / fret_share(self.last_fret)
        return self.nut_radius_mm + (self.last_radius_mm - self.nut_radius_mm) * along

    def drop_mm(self, share: float, aside_mm: float) -> float:
        """How much lower the board is *aside_mm* from its middle.

        Raises
        ------
        InputError
            Farther aside than the radius.
        """
        radius = self.radius_mm(share)
        if math.isinf(radius):
            return 0.0
        if abs(aside_mm) >= radius:
            raise InputError(
                "a string outside the board's radius",
                received=f"{aside_mm:g} mm aside, radius {radius:g} mm",
                remedy="Give the radius in mm, not in inches.",
            )
        return radius - math.sqrt(radius**2 - aside_mm**2)


@dataclass(frozen=True, slots=True)
class SaddleHeight:
    """Height of one saddle slot above the plane through the middle of the fret tops, mm."""

    number: int
    aside_mm: float
    action_mm: float
    height_mm: float


def saddle_heights(
    board: Board,
    *,
    nut_spread_mm: float,
    saddle_spread_mm: float,
    actions_mm: tuple[float, ...],
    nut_clearance_mm: float,
    fret: int = 12,
) -> tuple[SaddleHeight, ...]:
    """The saddle height of each string, the highest string first, for its action.

    Parameters
    ----------
    nut_spread_mm, saddle_spread_mm
        Distance between the outer strings at nut and saddles; the others equally between.
    actions_mm
        Wanted height of each string over *fret*.
    nut_clearance_mm
        Height of the nut slots above the fret tops there.

    Raises
    ------
    InputError
        Fewer than two strings, or spreads not above nought.
    """
    count = len(actions_mm)
    if count < 2 or not (nut_spread_mm > 0 and saddle_spread_mm > 0):
        raise InputError(
            "two strings at least, and their spread",
            received=f"{count} strings, {nut_spread_mm:g} and {saddle_spread_mm:g} mm",
            remedy="Measure between the outer strings at nut and saddles.",
        )
    share = fret_share(fret)
    heights = []
    for index, action in enumerate(actions_mm):
        across = 0.5 - index / (count - 1)
        at_nut, at_saddle = across * nut_spread_mm, across * saddle_spread_mm
        at_fret = at_nut + (at_saddle - at_nut) * share
        nut = nut_clearance_mm - board.drop_mm(0.0, at_nut)
        over = action - board.drop_mm(share, at_fret)
        heights.append(SaddleHeight(index + 1, at_saddle, action, nut + (over - nut) / share))
    return tuple(heights)


def action_targets(treble_mm: float, bass_mm: float, count: int) -> tuple[float, ...]:
    """The action of each string, evenly from the highest to the lowest."""
    if count < 2:
        raise InputError("two strings at least", received=count, remedy="Give their number.")
    step = (bass_mm - treble_mm) / (count - 1)
    return tuple(treble_mm + step * index for index in range(count))
