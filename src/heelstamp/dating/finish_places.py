"""What a map of places under the lamp says of the finish as a whole, and of each place.

The finish is one variable: maker's finish, maker's with touched places, old refinish, recent
refinish. Given *touched*, each of n mapped places is touched with share s by itself, and at least
one is. With r_i = P(look of place i | touched) / P(the look | anything else), the looks weigh
*touched* against every other state by (prod(1 - s + s r_i) - (1 - s)^n) / (1 - (1 - s)^n).
A place is then never likelier touched than the finish has touched places at all. The ratios are
those of the map divided by its own base odds. Share and ratios are judgement. Where a map speaks, a
sign of the finish that says the same (local patches) must not count once more.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heelstamp.dating.evidence import EvidenceError, StateLikelihood
from heelstamp.dating.model import Array, DatingModel

TOUCHED_SHARE = 0.25
"""Share of mapped places that are touched, where some are (judgement)."""

TOUCHED = "touched_up"
"""Name of the state in which some places are touched."""


def touched_weight(ratios: Sequence[float], share: float = TOUCHED_SHARE) -> float:
    """P(looks of all places | some touched) / P(the looks | none touched).

    Raises
    ------
    EvidenceError
        There is no place, a ratio is not above zero, or the share does not lie between 0 and 1.
    """
    values = np.asarray(ratios, dtype=float)
    if not values.size or not (values > 0).all() or not 0 < share < 1:
        raise EvidenceError(
            "a map needs places with ratios above 0, and a share between 0 and 1",
            received=f"{list(ratios)}, share {share}",
        )
    none = (1 - share) ** len(values)
    return float((np.prod(1 - share + share * values) - none) / (1 - none))


def touched_places(
    part: str, model: DatingModel, ratios: Sequence[float], share: float = TOUCHED_SHARE
) -> StateLikelihood:
    """The map's likelihood of the states of *part*, up to a factor."""
    weight = touched_weight(ratios, share)
    largest = max(1.0, weight)
    states = model.part(part).states
    if TOUCHED not in states:
        raise EvidenceError(
            "this part has no state with touched places", where=f"part {part!r}", received=TOUCHED
        )
    return StateLikelihood(
        part, {name: (weight if name == TOUCHED else 1.0) / largest for name in states}
    )


def each_place(touched: float, ratios: Sequence[float], share: float = TOUCHED_SHARE) -> Array:
    """P(place touched | all) of each place.

    Parameters
    ----------
    touched
        P(the finish has touched places | all).
    """
    touched_weight(ratios, share)  # refuses what is no map
    factors = 1 - share + share * np.asarray(ratios, dtype=float)
    whole = np.prod(factors) - (1 - share) ** len(factors)
    others = np.array([np.prod(np.delete(factors, i)) for i in range(len(factors))])
    return np.asarray(touched * share * np.asarray(ratios) * others / whole, dtype=np.float64)
