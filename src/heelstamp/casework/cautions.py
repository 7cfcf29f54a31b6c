"""Cautions at the point of use.

The UV-A limit is that of the ICNIRP guideline, *Health Physics* 87(2):171-186 (2004): 10⁴ J/m² in
8 hours for the unprotected eye. The rest is common practice of the trade, no source. They warn;
they instruct nobody in work that needs a licence.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """A danger named where it matters, and what to do."""

    subject: str
    text: str


LOCAL = "Local codes and licensed practice apply."

CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "Solder and wiring",
        "Old solder holds lead. Do not open joints to measure; wash hands after touching them, and "
        f"work under extraction. {LOCAL}",
    ),
    Caution(
        "UV-A lamp",
        "Eyes and skin: the limit of 10 000 J/m² in 8 hours is reached in 1000 s at 10 W/m². Wear "
        "UV goggles and keep the lamp away from faces.",
    ),
    Caution(
        "Strings and neck",
        "Strings under tension cut and whip. A change of gauge moves the neck for days; stop at "
        "the first hard resistance of the truss rod.",
    ),
    Caution(
        "Mains amplifiers",
        "An old amplifier can hold lethal charge and may lack an earth. Play this instrument "
        f"through an earthed, tested amplifier behind a residual-current device. {LOCAL}",
    ),
    Caution(
        "Plastics and lacquer",
        "Celluloid nitrate and nitrate lacquer burn fast, and ageing celluloid gives off acid "
        "vapour. Keep away from flame and heat; bag decaying pieces apart, ventilated.",
    ),
    Caution(
        "Protected species",
        "Fingerboard, inlay and fittings may be of protected species, which are named here by "
        "appearance only. Ask before you ship or advertise abroad. "
        f"{LOCAL} This is not legal advice.",
    ),
    Caution(
        "Value",
        "This paper is an examination, not an appraisal. An appraisal names its date, its purpose "
        f"and its sales. {LOCAL}",
    ),
)
