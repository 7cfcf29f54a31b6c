"""What Condition shows: one face on one visit, its places, the visits compared, and the grades."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, get_args

from heelstamp.casework.condition.describe import (
    FACES,
    describe_condition,
    describe_place,
    where_of,
)
from heelstamp.casework.condition.grading import blind_to, grades
from heelstamp.casework.condition.overlay import ORDER, VISIT_WORDS, faces_looked, places
from heelstamp.casework.condition.vocabulary import CAUTIONS, LETTERS, MEANS, SCALE
from heelstamp.casework.condition.watch import SHOWN, Watched, describe_spot, describe_watched
from heelstamp.casework.feature_names import heading
from heelstamp.catalogue import Condition, DossierState, Photograph
from heelstamp.catalogue.bodies.condition import ItIs, Material
from heelstamp.errors import InputError
from heelstamp.shop.subjects import Subject

COMPARED_WIDE = 480
"""Pixels at which either photograph of a pair is drawn."""
IT_IS: tuple[str, ...] = get_args(ItIs)
WIDE = 720
"""Pixels at which the picture of a face is drawn."""
SLOTS = {
    "front": ("overall-front",),
    "back": ("overall-back",),
    "headstock": ("head-front", "head-back"),
    "inside": ("guard-off", "cavity"),
    "case": ("case",),
}
"""Slots of the photo plan that show a face whole, the fittest first."""


def condition_view(
    subject: Subject, face: str, visit: str, frame: str, *, hand: str
) -> dict[str, Any]:
    """Lay out one face on one visit.

    Raises
    ------
    InputError
        No such face or visit.
    """
    state = subject.state
    found = describe_condition(state, subject.tree)
    face, visit = face or FACES[0], visit or found.visit
    if face not in FACES or visit not in ORDER:
        raise InputError(
            "no such face or visit", received=f"{face}, {visit}", remedy="See Condition."
        )
    picture = state.photographs.get(frame) or _picture(state, face, visit)
    tall = round(WIDE * picture.height / picture.width) if picture else 0
    here = [one for one in places(state, visit) if one.face == face]
    hidden = blind_to(state, hand)
    return {
        "found": found,
        "faces": FACES,
        "face": face,
        "visits": VISIT_WORDS,
        "visit": visit,
        "looked": face in faces_looked(state, visit),
        "picture": picture,
        "wide": WIDE,
        "tall": tall,
        "places": [
            (n, one, describe_place(one, subject.tree).text) for n, one in enumerate(here, start=1)
        ],
        "dots": _dots(here, picture, tall),
        "earlier": [
            (one.id, f"{one.damage}, {where_of(one, subject.tree)}")
            for before in ORDER[: ORDER.index(visit)]
            for one in places(state, before)
            if one.face == face
        ],
        "means": MEANS,
        "cautions": [CAUTIONS[one] for one in CAUTIONS if any(p.damage == one for p in here)],
        "materials": get_args(Material),
        "parts": subject.tree.parts,
        "letters": LETTERS,
        "scale": SCALE,
        "graded": {one.aspect: one for one in grades(state)},
        "hidden": hidden,
    }


def compared_view(subject: Subject, seen: Sequence[Watched]) -> dict[str, Any]:
    """Lay out photographs compared: each pair with its sentence and its outlines."""
    rows = []
    for one in seen:
        first, last = one.pair.before[0], one.pair.after[0]
        tall = round(COMPARED_WIDE * first.height / first.width)
        drawn = [
            {
                "number": number,
                "change": spot.change,
                "said": heading(describe_spot(spot, one.pair)),
                "pieces": [
                    " ".join(f"{x * COMPARED_WIDE:.1f},{y * tall:.1f}" for x, y in piece)
                    for piece in spot.outlines
                ],
                "x": round(min(max(spot.x * COMPARED_WIDE, 14), COMPARED_WIDE - 14), 1),
                "y": round(min(max(spot.y * tall, 14), tall - 14), 1),
            }
            for number, spot in enumerate(one.places[:SHOWN], start=1)
        ]
        rows.append((one, describe_watched(one, subject.tree).text, first, last, tall, drawn))
    return {
        "compared_frames": sorted(rows, key=lambda row: not row[0].asks),
        "compared_wide": COMPARED_WIDE,
        "it_is": IT_IS,
        "shown_most": SHOWN,
    }


def _picture(state: DossierState, face: str, visit: str) -> Photograph | None:
    prefix = "return-" if visit == "return" else ""
    for slot in SLOTS.get(face, ()):
        named = [one for one in state.photographs.values() if one.slot == prefix + slot]
        if named:
            return named[0] if visit == "intake" else named[-1]
    return None


def _dots(
    here: list[Condition], picture: Photograph | None, tall: int
) -> list[tuple[int, float, float]]:
    return [
        (n, round(one.x * WIDE, 1), round(one.y * tall, 1))
        for n, one in enumerate(here, start=1)
        if picture is not None
        and one.frame == picture.id
        and one.x is not None
        and one.y is not None
    ]
