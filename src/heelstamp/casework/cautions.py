"""Cautions at the point of use.

The UV-A limit is that of the ICNIRP guideline, *Health Physics* 87(2):171-186 (2004): 10⁴ J/m² in
8 hours for the unprotected eye. The rest is common practice of the trade, no source. They warn;
they instruct nobody in work that needs a licence.
"""

from __future__ import annotations

from collections.abc import Mapping
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
        "UV goggles, cover the skin, keep the lamp away from faces; anyone else in the room wears "
        "them too, or leaves.",
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

FIRST = "Local codes and licensed practice come first; this warns and teaches nobody a trade."
"""Stands once beside the cautions of any act."""

_STRINGS = (
    "Strings under tension cut and whip: goggles on, face out of their line; let the tension "
    "down evenly and cut nothing under tension."
)
_SLACK = (
    "Under string tension the neck, its plate and the bridge are loaded: slacken all strings "
    "first, and bring them up again only when every screw is home."
)
_SCREWS = (
    "Start every wood screw by hand: turn it back until it drops into its old thread, then "
    "forward. Judge the torque by feel, never by a power driver; a bit that does not fill "
    "the drive slips."
)
_ROD = (
    "A wrong key spreads the drive, and a snapped rod cannot be mended from outside. Slacken "
    "the strings before tightening, an eighth of a turn at a time, and stop at the first "
    "hard resistance."
)
_SOLDER = (
    "Old solder holds lead, and flux smokes: unplugged, goggles, extraction, nothing to eat "
    "near; an iron burns skin and lights lacquer. Wash hands."
)
_JOINTS = (
    "Joints and cases hold lead and dust: nothing to eat near, do not scrape, wash hands. A "
    "battery that leaked burns skin: gloves, and bag it."
)
_SOLVENT = (
    "Solvents and contact cleaner burn and their vapour harms: ventilate, no flame, gloves, "
    "unplugged, the least amount that reaches. Never on lacquer, celluloid or printed parts."
)
_DRY = (
    "Never a solvent, polish or abrasive on an old finish: it takes evidence and dissolves "
    "nitrate lacquer. Soft brush first; dust of old cases and mould: mask and ventilation."
)
_PLASTIC = (
    "Old celluloid burns fast and cracks when cold or bent: keep flame and heat away, and "
    "lift it level with both hands."
)
_METAL = "Dust of corroded metal: gloves and mask, and no brushing towards the face."
_FRETS = (
    "Filing frets throws metal dust, some with nickel: goggles, mask, magnets and pickups "
    "covered; what is filed away never comes back."
)
_HEAT = "A heated fret and a hot iron burn; heat lifts lacquer and inlay: shield both."
_OVERSPRAY = (
    "A later finish and what takes it off burn, and their dust and vapour harm, old pigments hold "
    "lead: ventilation, mask, gloves, goggles, no flame. Stop at the first colour of what lies "
    "beneath; celluloid parts come off first."
)
_GLUE = "Glue and its vapour: gloves, ventilation; what is glued may never open again without harm."
_LIFT = (
    "Lift and lay it with both hands on a padded bench; a neck that slips breaks itself or a foot."
)
_COLD = (
    "A case that comes in from the cold stays shut until it is as warm as the room: a cold "
    "finish cracks in warm air. Mind the fingers at latch and lid."
)
_DUST = (
    "Old cases hold mould and dust: gloves and mask, window open. A battery that leaked burns "
    "skin: gloves, and bag it."
)
_AS_IT_LAY = (
    "Photograph everything where it lies first; papers and loose parts go into bags of their own, "
    "and nothing is thrown away."
)
_CARRY = (
    "A packed case is heavy and may open: both hands, latches down, a clear way; whoever takes it "
    "is told what lies in it."
)
_PACK = (
    "Slacken the strings by about a tone, no more; nothing with plastic or rubber against lacquer, "
    "and nothing loose in the case."
)
_PLAY = (
    "Never plug it into an amplifier that nobody tested: danger to life. An earthed, tested "
    "one behind a residual-current device only."
)

BY_ACT: Mapping[str, tuple[str, ...]] = {
    "open case": (_COLD, _DUST),
    "empty case": (_AS_IT_LAY, _DUST),
    "lift out": (_LIFT,),
    "take tuners off": (_SLACK, _SCREWS, _PLASTIC),
    "pack": (_PACK, _LIFT),
    "hand over": (_CARRY,),
    "take strings off": (_STRINGS,),
    "fit strings": (_STRINGS, _PLAY),
    "lift guard": (_SCREWS, _PLASTIC, _JOINTS),
    "refit guard": (_SCREWS, _PLASTIC),
    "lift bridge": (_SLACK, _SCREWS),
    "refit bridge": (_SLACK, _SCREWS),
    "take neck off": (_SLACK, _SCREWS, _LIFT),
    "refit neck": (_SLACK, _SCREWS, _LIFT),
    "clean control": (_SOLVENT, _JOINTS),
    "clean finish": (_DRY,),
    "clean board": (_DRY,),
    "clean hardware": (_METAL, _DRY),
    "turn rod": (_STRINGS, _ROD),
    "set saddles": (_STRINGS, _SLACK),
    "set pickup height": (_STRINGS, _SCREWS),
    "fit part": (_SCREWS, _JOINTS),
    "fit a nut": (_STRINGS, _GLUE),
    "open a solder joint": (_SOLDER, _PLASTIC),
    "dress frets": (_SLACK, _FRETS),
    "replace frets": (_SLACK, _FRETS, _HEAT),
    "remove overspray": (_OVERSPRAY,),
    "glue": (_GLUE, _PLASTIC),
}
"""What can hurt in each usual act; common practice of the trade, no source."""

BY_KIND: Mapping[str, tuple[str, ...]] = {
    "open": (_SLACK, _SCREWS, _JOINTS),
    "close": (_SLACK, _SCREWS),
    "clean": (_SOLVENT, _DRY),
    "adjust": (_STRINGS,),
    "fit": (_SCREWS, _JOINTS),
    "mend": (_SOLDER, _GLUE),
}
"""For an act that a maker's document names and `BY_ACT` does not."""


def cautions_of(act: str, kind: str | None = None) -> tuple[str, ...]:
    """Find the cautions of an act; of an unusual one those of its kind, or else of all kinds."""
    if act in BY_ACT:
        return BY_ACT[act]
    if kind in BY_KIND:
        return BY_KIND[str(kind)]
    return tuple(dict.fromkeys(text for texts in BY_KIND.values() for text in texts))
