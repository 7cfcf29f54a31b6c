"""The shape a neck takes: an arc from the nut to its joint with the body, straight beyond.

Between nut and joint the strings pull on a nearly constant arm, so the neck bows with nearly
constant curvature; beyond the joint it is held by the body. Heights are measured from the body's
line, up toward the strings. *Relief* is read at one fret under a straight line from a near fret
(where the capo sits) to a far fret (where the string is held down); with the arc it and the
*action* at another fret are both proportional to the curvature, and their ratio is pure geometry:
1.72 at the twelfth fret for a neck joined at the 16th with 21 frets, relief at the 8th, capo at the
1st.

The real neck is thinner toward the nut and is not clamped on a line. `action_per_relief` carries
that as uncertainty: joint one fret to either side, curvature falling or rising by 30 % from nut to
joint, each the limits of a rectangular distribution; both are judgement.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate, exact
from heelstamp.mechanics.frets import fret_share

TAPER = 0.3
"""Share by which the curvature may rise or fall between nut and joint; judgement."""
# A D-shaped section, half an ellipse of half width w/2 and height t (geometry):
# second moment about its centroid, and depth of the centroid under the flat side.
_D_SECTION = math.pi / 8.0 - 8.0 / (9.0 * math.pi)
_D_CENTROID = 4.0 / (3.0 * math.pi)
ARM_ABOVE_BOARD_MM = 3.0
"""Height of the strings above the board at mid-neck: fret about 1 mm, clearance about 2 mm."""


@dataclass(frozen=True, slots=True)
class NeckShape:
    """Where a neck is held and where it is measured; frets counted from the nut (0).

    Attributes
    ----------
    scale_mm
        Scale length.
    joint_fret
        Fret over the edge of the body.
    last_fret
        Number of frets.
    capo_fret, relief_fret, held_fret
        Near end, place and far end of the relief reading; the far end is the last fret when None.
    """

    scale_mm: float
    joint_fret: int
    last_fret: int
    capo_fret: int = 1
    relief_fret: int = 8
    held_fret: int | None = None

    def __post_init__(self) -> None:
        far = self.far_fret
        inside = 0 <= self.capo_fret < self.relief_fret < far <= self.last_fret
        if not (self.scale_mm > 0 and inside and self.relief_fret < self.joint_fret):
            raise InputError(
                "the relief is read between the capo and a held fret, short of the neck joint",
                received=f"capo {self.capo_fret}, read at {self.relief_fret}, held at {far}, "
                f"joint {self.joint_fret}, {self.last_fret} frets, {self.scale_mm:g} mm",
                remedy="Give the frets as they were used, and the scale length in mm.",
            )

    @property
    def far_fret(self) -> int:
        """Fret at which the string is held down for the relief reading."""
        return self.last_fret if self.held_fret is None else self.held_fret

    def place(self, fret: float) -> float:
        """The distance of a fret from the nut, mm, in equal temperament."""
        return self.scale_mm * fret_share(fret)

    def bow(self, fret: float, taper: float = 0.0) -> float:
        """The height at a fret for a curvature of one per millimetre, mm².

        Parameters
        ----------
        fret
            0 is the nut.
        taper
            The curvature is 1 + taper at the nut and 1 − taper at the joint.
        """
        joint, here = self.place(self.joint_fret), self.place(fret)
        short = max(0.0, joint - here)
        even = (1.0 + taper * (1.0 - 2.0 * here / joint)) * short**2 / 2.0
        return even - 2.0 * taper * short**3 / (3.0 * joint)

    def relief_per_curvature(self, taper: float = 0.0) -> float:
        """The relief reading for a curvature of one per millimetre, mm²."""
        near, far = self.place(self.capo_fret), self.place(self.far_fret)
        along = (self.place(self.relief_fret) - near) / (far - near)
        low, high = self.bow(self.capo_fret, taper), self.bow(self.far_fret, taper)
        return low + (high - low) * along - self.bow(self.relief_fret, taper)

    def action_per_curvature(self, fret: int, taper: float = 0.0) -> float:
        """The change of the open string's height over a fret; nut and saddle unmoved."""
        share = fret_share(fret)
        return self.bow(0, taper) * (1.0 - share) - self.bow(fret, taper)

    def action_per_relief(self, fret: int = 12) -> Estimate:
        """By how many mm the action at *fret* moves for one mm of relief."""
        centre = self._ratio(fret, 0.0)
        tapered = abs(self._ratio(fret, TAPER) - self._ratio(fret, -TAPER)) / 2.0
        joints = [
            replace(self, joint_fret=joint)._ratio(fret, 0.0)  # noqa: SLF001
            for joint in (self.joint_fret - 1, self.joint_fret + 1)
            if joint > self.relief_fret
        ]
        held = max(abs(one - centre) for one in joints)
        spread = math.hypot(tapered, held) / math.sqrt(3.0)
        return Estimate.of(centre, spread, "how this neck bows")

    def _ratio(self, fret: int, taper: float) -> float:
        return self.action_per_curvature(fret, taper) / self.relief_per_curvature(taper)

    def profile(self, relief_mm: float) -> tuple[float, ...]:
        """The heights of nut (first) and all frets above the body's line, mm."""
        curvature = relief_mm / self.relief_per_curvature()
        return tuple(curvature * self.bow(fret) for fret in range(self.last_fret + 1))


def beam_compliance(
    shape: NeckShape, *, width_mm: float, thickness_mm: float, modulus_pa: float, spread: float
) -> Estimate:
    """The relief per newton of a plain wooden neck, mm/N, from its size.

    A beam of D-shaped section under a pull on an arm bends to the curvature T·arm / (E·I). Wood of
    one species spreads by 15 to 20 %, thickness enters in the third power, and rod and
    reinforcement stiffen: an order of size, not a prediction to work to. For 48 × 21 mm and
    11.5 GPa on the geometry above it gives 0.0009 mm/N.

    Parameters
    ----------
    width_mm, thickness_mm
        Of neck and board together, about the middle of the neck.
    modulus_pa
        Young's modulus along the grain, Pa.
    spread
        Relative standard uncertainty given to the result.
    """
    if not (width_mm > 0 and thickness_mm > 0 and modulus_pa > 0):
        raise InputError(
            "a neck has width, thickness and stiffness",
            received=f"{width_mm:g} × {thickness_mm:g} mm, {modulus_pa:g} Pa",
            remedy="Measure the neck at mid-length with a caliper.",
        )
    second_moment = _D_SECTION * (width_mm / 2.0) * thickness_mm**3
    arm = _D_CENTROID * thickness_mm + ARM_ABOVE_BOARD_MM
    stiffness = modulus_pa * 1e-6 * second_moment  # N mm², 1 Pa = 1e-6 N/mm²
    value = arm * shape.relief_per_curvature() / stiffness
    return Estimate.of(value, spread * value, "beam model of the neck")


def action_change(shape: NeckShape, relief_change_mm: Estimate, fret: int = 12) -> Estimate:
    """The change of action at *fret*, mm, that a change of relief brings by itself."""
    if relief_change_mm.value == 0 and not relief_change_mm.parts:
        return exact(0.0)
    return shape.action_per_relief(fret) * relief_change_mm
