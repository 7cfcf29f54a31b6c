"""A shim in the neck pocket: the angle it gives, and where that puts the strings.

A shim of thickness t under the heel end of a pocket of length l tilts the neck by atan(t / l). The
plane of the frets, carried on to the saddles, then passes tan(angle) times the distance from the
pivot higher. Seen along the board the pivot is the last fret; for the saddles, which stand on the
body, it is the edge of the pocket under the joint fret, and the saddles go up by that much to keep
the action. Rigid neck, shim not crushed: card and veneer give a
few hundredths of a millimetre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate, combine
from heelstamp.mechanics.frets import fret_share


@dataclass(frozen=True, slots=True)
class ShimEffect:
    """What a shim does.

    Attributes
    ----------
    angle_deg
        Tilt of the neck, degrees.
    at_saddles_mm
        Rise of the fret plane at the saddles, seen from the last fret.
    saddles_up_mm
        By how much the saddles go up to keep the action, turned about the pocket's edge.
    """

    angle_deg: Estimate
    at_saddles_mm: Estimate
    saddles_up_mm: Estimate


def shim_effect(
    thickness_mm: Estimate,
    pocket_mm: Estimate,
    scale_mm: Estimate,
    *,
    last_fret: int,
    joint_fret: int,
) -> ShimEffect:
    """The effect of a shim under the heel end; a negative thickness takes one out.

    Raises
    ------
    InputError
        No pocket, or no scale.
    """
    if not (pocket_mm.value > 0 and scale_mm.value > 0):
        raise InputError(
            "a pocket and a scale have lengths",
            received=f"{pocket_mm.value:g} and {scale_mm.value:g} mm",
            remedy="Measure the pocket along the neck.",
        )
    angle = combine(lambda t, p: math.degrees(math.atan2(t, p)), thickness_mm, pocket_mm)
    slope = thickness_mm / pocket_mm
    return ShimEffect(
        angle,
        slope * scale_mm * (1.0 - fret_share(last_fret)),
        slope * scale_mm * (1.0 - fret_share(joint_fret)),
    )
