"""Sentences about the glow of a finish under UV-A: layer, rule and text of each.

A part of the one table of sentences (``sentences.TEMPLATES``), kept in a file of its own. Rule 6:
a glow is even, differs here, is or is not visible in ordinary light, or cannot be assessed because
of something; causes are possible ones with their support. No sentence names a maker's coat.
"""

from __future__ import annotations

from typing import Literal

Row = tuple[Literal["seen", "measured", "inferred", "opinion"], int, str]
RULE = 6


def _seen(text: str) -> Row:
    return "seen", RULE, text


def _measured(text: str) -> Row:
    return "measured", RULE, text


def _inferred(text: str) -> Row:
    return "inferred", RULE, text


FINISH: dict[str, Row] = {
    "glow even": _seen(
        "No area of differing glow was found under UV-A on {zone}: even (cohesive) there. This does"
        " not by itself show that the coating is the maker's."
    ),
    "glow differs": _seen(
        "Region {number}, {place}: the glow differs here ({kind}); {seen} in ordinary light."
    ),
    "glow face differs": _seen(
        "{face}: under UV-A the glow differs in {count}{extent}; {seen} in ordinary light."
    ),
    "glow simulated": _seen(
        "Both halves of this pair are simulated pictures: no real instrument was photographed."
    ),
    "glow set aside": _seen(
        "Region {number} was set aside by {by}: {reason}. The finding stays as it was made."
    ),
    "glow border by hand": _seen("Region {number}: {by} drew its border by hand: {reason}."),
    "glow measured": _measured(
        "Region {number}: glow {ratio} of that of the coat around it{area}."
    ),
    "glow sure": _inferred(
        "Region {number}: of regions that look like it, {share} were true differences on simulated"
        " pairs; no real instrument was counted."
    ),
    "glow causes": _inferred(
        "Region {number}: possible causes with their support (shares of one): {causes}. What would "
        "tell them apart: {deciding}."
    ),
    "glow bound": _seen(
        "Not assessed: marks under {smallest} mm across, parts, the outermost rim and narrow strips"
        " along it."
    ),
    "glow not assessable": _seen("Not assessable, because {found} ({code}). {remedy}"),
    "glow weakened": _seen("Weaker, because {found} ({code}). {remedy}"),
    "glow cannot tell": _inferred(
        "A coat of any age can be even once it has aged: between the coat of the first completion "
        "and an old complete refinish this look does not decide. Covered areas must."
    ),
}
