"""All faces that the photo plan wants under UV-A: what was covered of each, and what was not.

A face that was not photographed, or not assessed, is told by name: *not looked* is never *even*.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.photo_plan import PhotoPlan
from heelstamp.casework.uv_lamp.pairs import Pairing, proposed_pairs, words_of
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.wording import about_faces


@dataclass(frozen=True, slots=True)
class FaceCovered:
    """One face.

    Attributes
    ----------
    standing
        How far it was looked at, in words.
    assessed_cm2, unevenly_cm2
        What was assessed, and how much of it the frames light too differently to be tested; None
        without a scale, or where nothing was assessed.
    places, left_open
        Differences told, and left open; None where nothing was assessed.
    lamps
        Places of the lamp.
    """

    face: str
    standing: str
    assessed_cm2: float | None = None
    unevenly_cm2: float | None = None
    places: int | None = None
    left_open: int | None = None
    lamps: int = 0

    @property
    def looked(self) -> bool:
        """Whether any of it was assessed."""
        return self.places is not None


def faces_covered(
    state: DossierState, plan: PhotoPlan, tree: PartsTree, kept: Mapping[str, Mapping[str, Any]]
) -> tuple[FaceCovered, ...]:
    """The faces of the plan in its order, then others that were photographed.

    Parameters
    ----------
    tree
        Parts of the instrument's kind: slots of other parts fall away.
    kept
        Plain values of the kept findings, by the observation that names them.
    """
    absent = {one.id for one in plan.slots if one.part is not None and one.part not in tree}
    rows = []
    for pair in proposed_pairs(state, plan):
        slot = plan.slot_of(pair.slot, "UV-A")
        if slot is None or slot.id not in absent:
            rows.append(_covered(pair, kept))
    return tuple(rows)


def covered_words(faces: Sequence[FaceCovered]) -> str:
    """What was covered and what was not, in two sentences."""
    looked = [one for one in faces if one.looked]
    known = all(one.assessed_cm2 is not None for one in looked)
    return about_faces.covered.say(
        looked=[one.face for one in looked],
        not_looked=[one.face for one in faces if not one.looked],
        cm2=sum(one.assessed_cm2 or 0.0 for one in looked) if known and looked else None,
        unevenly_cm2=sum(one.unevenly_cm2 or 0.0 for one in looked),
    )


def _covered(pair: Pairing, kept: Mapping[str, Mapping[str, Any]]) -> FaceCovered:
    look = pair.look
    data = kept.get(look.id) if look is not None else None
    if look is None or not look.is_read or data is None or data["verdict"] != "assessed":
        taken = pair.visible is not None or pair.uv is not None
        return FaceCovered(pair.face, words_of(pair) if taken else about_faces.NOT_TAKEN)
    return FaceCovered(
        pair.face,
        words_of(pair),
        data.get("assessed_cm2"),
        data.get("lit_unevenly_cm2"),
        len(data["regions"]),
        len(data.get("doubts", ())),
        1 + len(data.get("further", ())),
    )
