"""What a pair of photographs says of the state of the finish, as likelihoods.

An even glow moves original against old refinish hardly at all: a complete coat of any age can be
even once it has aged. Patches speak for local repair, in proportion to the support of the causes
that are later material. Wear, films and shadows speak of use and move nothing. All sizes are
judgement, kept within a factor of twelve, because no collection of finishes of known history was
photographed; facts under guard and neck must decide. What light, shape or dust could have made
weighs nothing, and takes away the weight of an even face: it is then not known to be even.
"""

from __future__ import annotations

from heelstamp.luminescence import causes
from heelstamp.luminescence.findings import Assessment

STATES = ("original", "touched_up", "old_refinish", "recent_refinish")
EVEN = {"original": 0.80, "touched_up": 0.35, "old_refinish": 0.80, "recent_refinish": 0.65}
PATCHED = {"original": 0.12, "touched_up": 0.85, "old_refinish": 0.12, "recent_refinish": 0.10}
UNSETTLED = dict.fromkeys(STATES, 0.65)
"""In the place of ``EVEN`` where differences are left open: alike for every state."""
LATER_MATERIAL = {causes.TOUCH_UP: 1.0, causes.OVERSPRAY: 0.8}

MASKS_UNCHECKED = 0.5
"""Taken off while nobody has looked at the masks: an undrawn part looks like a patch."""


def patch_probability(assessment: Assessment) -> float:
    """The chance that at least one region is later material: confidence times support."""
    none = 1.0
    for region in assessment.regions:
        later = sum(LATER_MATERIAL.get(c, 0.0) * p for c, p in region.causes.items())
        none *= 1.0 - region.confidence * min(1.0, later)
    return (1.0 - none) * (MASKS_UNCHECKED if assessment.masks_proposed else 1.0)


def finish_likelihoods(assessment: Assessment) -> dict[str, float]:
    """The likelihood of what was seen under each finish state, largest one.

    Parameters
    ----------
    assessment
        Of one face. A refused pair says nothing: every state gets one.
    """
    if assessment.verdict != "assessed":
        return dict.fromkeys(STATES, 1.0)
    p = patch_probability(assessment)
    rest = UNSETTLED if assessment.doubts else EVEN
    mixed = {state: (1 - p) * rest[state] + p * PATCHED[state] for state in STATES}
    top = max(mixed.values())
    return {state: value / top for state, value in mixed.items()}
