"""Places that differ under the lamp, and the finish as one: how each bears on the other.

The places of a face weigh *touched up* against every other state of the finish (``dating``'s
``touched_weight``). What is printed of a place afterwards is in view of all that was seen: it is
never likelier touched than the finish has touched places at all, and what its causes lose by that
is *not told apart*.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from heelstamp.dating import each_place, touched_weight
from heelstamp.luminescence import EVEN, Assessment, later_share, place_ratios
from heelstamp.luminescence.causes import UNTOLD
from heelstamp.luminescence.likelihoods import LATER_MATERIAL

TOUCHED = "touched_up"
RATIO = "place_ratio"
"""Field of a region of a finding: P(its look | touched) / P(its look | anything else)."""


def finish_likelihoods(assessment: Assessment) -> dict[str, float]:
    """The likelihood of a face under each state of the finish, largest one.

    A refused pair says nothing, nor does what light, shape or dust could have made: every state
    gets one.
    """
    left_open = assessment.doubts and not assessment.regions  # then it is not known to be even
    if assessment.verdict != "assessed" or left_open:
        return dict.fromkeys(EVEN, 1.0)
    if not assessment.regions:
        top = max(EVEN.values())
        return {state: p / top for state, p in EVEN.items()}
    weight = touched_weight(place_ratios(assessment))
    top = max(1.0, weight)
    return {state: (weight if state == TOUCHED else 1.0) / top for state in EVEN}


def in_view_of_all(regions: Sequence[Mapping[str, Any]], touched: float) -> list[dict[str, Any]]:
    """Regions of a finding with their causes in view of all that was seen.

    Parameters
    ----------
    touched
        P(the finish has touched places | all).
    """
    ratios = [one.get(RATIO) for one in regions]
    if not regions or None in ratios:
        return [dict(one) for one in regions]  # a finding from before places had ratios
    chances = each_place(touched, [float(one) for one in ratios if one is not None])
    return [
        {**one, "causes": _scaled(one["causes"], float(p))}
        for one, p in zip(regions, chances, strict=True)
    ]


def _scaled(causes: Mapping[str, float], touched: float) -> dict[str, float]:
    """Lower the causes of later material to *touched* together; what they lose is not told apart.

    Nothing is raised: that a place is less likely touched makes no other cause of it likelier than
    its look does.
    """
    later = later_share(causes)
    if later <= touched:
        return dict(causes)
    scaled = {
        cause: p * touched / later if cause in LATER_MATERIAL else p for cause, p in causes.items()
    }
    scaled[UNTOLD] = scaled.get(UNTOLD, 0.0) + later - touched
    return scaled
