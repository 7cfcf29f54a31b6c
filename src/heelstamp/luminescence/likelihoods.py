"""What a pair of photographs says of the finish: of each place, or of the whole where none is.

An even glow moves original against old refinish hardly at all: a complete coat of any age can be
even once it has aged. A place speaks for later material by the support of the causes that are such,
as odds over the odds that these causes have before anything is seen; wear, films and shadows speak
of use. Of a place that may be no difference at all, or an undrawn part, less is believed. How
places speak of the finish together is for who knows its states. All sizes are judgement, because no
collection of finishes of known history was photographed; facts under guard and neck must decide.
"""

from __future__ import annotations

from collections.abc import Mapping

from heelstamp.luminescence import causes
from heelstamp.luminescence.findings import Assessment, Region

EVEN = {"original": 0.80, "touched_up": 0.35, "old_refinish": 0.80, "recent_refinish": 0.65}
"""P(no place differs | state of the finish)."""

LATER_MATERIAL = frozenset({causes.TOUCH_UP, causes.OVERSPRAY})
"""Causes that are material laid on later."""

MASKS_UNCHECKED = 0.5
"""Believed while nobody has looked at the masks: an undrawn part looks like a patch."""


LARGEST = 0.99
"""No place is believed to be later material more surely than this by its look alone."""


def later_share(support: Mapping[str, float]) -> float:
    """The share of the causes of a place that is later material."""
    return min(1.0, sum(p for cause, p in support.items() if cause in LATER_MATERIAL))


def place_ratio(region: Region, *, masks_proposed: bool) -> float:
    """P(look of the place | later material) / P(the look | anything else).

    Odds of later material over their own base odds, believed as far as the place is sure.
    """
    base, found = later_share(causes.PRIOR), min(later_share(region.causes), LARGEST)
    ratio = found / (1 - found) * (1 - base) / base
    believed = region.confidence * (MASKS_UNCHECKED if masks_proposed else 1.0)
    return 1 + believed * (ratio - 1)


def place_ratios(assessment: Assessment) -> tuple[float, ...]:
    """The ratio of each place of a face, in the order of its regions; none for a refused pair."""
    return tuple(
        place_ratio(one, masks_proposed=assessment.masks_proposed) for one in assessment.regions
    )
