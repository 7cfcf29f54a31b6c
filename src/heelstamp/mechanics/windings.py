"""Mass per metre of plain, round-wound and flat-wound strings, from construction or a weighing.

Plain wire: density times section. A layer of round wire of diameter w, closely wound on diameter D,
weighs density × π² w (D + w) / 4 a metre: each turn is a ring of length π(D + w), one turn every w.
A layer of ribbon of thickness t weighs density × π t (D + t). A hexagonal core of width a across
its flats has the section (√3/2) a² and carries its wrap on its corners, 2a/√3 apart. These are
geometry and need no source.

Where it stops holding: the helix is taken as closed rings (the slope adds 0.2 to 0.5 % of the
wrap), the wire as neither flattened nor plated, the wrap as laid without gaps. `LAY` is the
standard uncertainty given for all of that; against six wound strings of a published chart, their
cores assumed, construction was off by 0.2 to 1.9 % (docs/methods/mechanics.md). A labelled gauge is
a name: the micrometer decides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate, total

LAY = 0.01
"""Relative standard uncertainty of a wrap's mass from how it lies; judgement, see above."""
MM = 1e-3  # metre per millimetre, exact


@dataclass(frozen=True, slots=True)
class WireMaterial:
    """What a wire is made of.

    Attributes
    ----------
    name
        As in the table of materials.
    density_kg_m3, density_uncertainty
        Density and its standard uncertainty, kg/m³.
    modulus_pa
        Young's modulus, Pa; None where the table has none.
    source
        Where the figures come from.
    """

    name: str
    density_kg_m3: float
    density_uncertainty: float
    modulus_pa: float | None
    source: str

    @property
    def density(self) -> Estimate:
        """Density with an uncertainty shared by everything made of this material."""
        return Estimate.of(self.density_kg_m3, self.density_uncertainty, f"density of {self.name}")


@dataclass(frozen=True, slots=True)
class Wrap:
    """One layer: wire diameter or ribbon thickness in mm, its material, round wire or ribbon."""

    thickness_mm: Estimate
    material: WireMaterial
    flat: bool = False


@dataclass(frozen=True, slots=True)
class Construction:
    """How a string is made, from the core outwards.

    Attributes
    ----------
    core_mm
        Diameter of a round core, width across flats of a hexagonal one.
    wraps
        Layers, the innermost first; none for a plain string.
    """

    core_mm: Estimate
    core_material: WireMaterial
    wraps: tuple[Wrap, ...] = ()
    hexagonal: bool = False

    def __post_init__(self) -> None:
        sizes = (self.core_mm, *(wrap.thickness_mm for wrap in self.wraps))
        if any(not one.value > 0 for one in sizes):
            raise InputError(
                "a core or a wrap without thickness",
                received=", ".join(f"{one.value:g} mm" for one in sizes),
                remedy="The core must be thinner than the string.",
            )

    @property
    def diameter_mm(self) -> Estimate:
        """Outer diameter."""
        outside = self._seat()
        return total([outside, *(2.0 * wrap.thickness_mm for wrap in self.wraps)])

    @property
    def core_area_mm2(self) -> Estimate:
        """Section of the core, which carries the tension."""
        shape = math.sqrt(3.0) / 2.0 if self.hexagonal else math.pi / 4.0
        return shape * self.core_mm.squared()

    def _seat(self) -> Estimate:
        """Diameter that the first wrap lies on."""
        return self.core_mm * (2.0 / math.sqrt(3.0)) if self.hexagonal else self.core_mm


def wound(
    diameter_mm: Estimate,
    core_mm: Estimate,
    core_material: WireMaterial,
    wrap_material: WireMaterial,
    *,
    flat: bool = False,
    hexagonal: bool = False,
) -> Construction:
    """A string of one wrap from its outer diameter and its core."""
    seat = core_mm * (2.0 / math.sqrt(3.0)) if hexagonal else core_mm
    thickness = (diameter_mm - seat) / 2.0
    return Construction(core_mm, core_material, (Wrap(thickness, wrap_material, flat),), hexagonal)


def mass_per_metre(string: Construction, name: str = "string") -> Estimate:
    """The mass per metre in kg/m.

    Parameters
    ----------
    string
        Its construction.
    name
        Names the string, so that two strings do not share the uncertainty of the lay.
    """
    mass = string.core_material.density * string.core_area_mm2 * MM**2
    seat = string.core_mm * (2.0 / math.sqrt(3.0)) if string.hexagonal else string.core_mm
    for layer, wrap in enumerate(string.wraps, start=1):
        shape = math.pi if wrap.flat else math.pi**2 / 4.0
        area = shape * (wrap.thickness_mm * (seat + wrap.thickness_mm))
        lay = Estimate.of(1.0, LAY, f"lay of {name}, layer {layer}")
        mass = mass + wrap.material.density * area * lay * MM**2
        seat = seat + 2.0 * wrap.thickness_mm
    return mass


def weighed_off_cut(mass_g: Estimate, length_mm: Estimate) -> Estimate:
    """The mass per metre in kg/m of a weighed off-cut; g/mm are kg/m.

    The off-cut must be of the sounding part: wrap to the very ends, no taper, no silk, no ball end.

    Raises
    ------
    InputError
        Mass or length not above nought.
    """
    if not (mass_g.value > 0 and length_mm.value > 0):
        raise InputError(
            "an off-cut has mass and length",
            received=f"{mass_g.value:g} g, {length_mm.value:g} mm",
            remedy="Weigh at least 200 mm of the sounding part.",
        )
    return mass_g / length_mm
