"""All faces of the plan, and two looks at one face: what is told, and what is asked."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from heelstamp.casework.finish.entry import face_of
from heelstamp.casework.uv_lamp.coverage import covered_words, faces_covered
from heelstamp.casework.uv_lamp.later_look import compare_looks
from heelstamp.casework.uv_lamp.pairs import chosen_pair, look_before
from heelstamp.catalogue import DossierState, Folding, PartsTree
from heelstamp.reference.photo_plan import load_photo_plan
from heelstamp.wording import about_faces

PLAN = load_photo_plan()
NOON = "2026-11-04T12:00:00Z"


def square(x: float, y: float, size: float) -> list[list[float]]:
    return [[x, y], [x + size, y], [x + size, y + size], [x, y + size]]


def region(number: int, x: float, y: float, size: float = 40.0) -> dict[str, Any]:
    return {"number": number, "place": "middle", "polygon": square(x, y, size)}


def look(*regions: dict[str, Any], **changed: Any) -> dict[str, Any]:
    data = {
        "verdict": "assessed",
        "frame_px": [800, 1000],
        "regions": list(regions),
        "doubts": [],
        "further": [],
        "masks": {"proposed": False, "outline": square(100, 100, 600), "parts": []},
        "lamp": {"wavelength_nm": 365.0},
        "assessed_cm2": 310.0,
        "lit_unevenly_cm2": None,
    }
    return {**data, **changed}


HERE = np.eye(3)


def test_places_over_one_another_belong_together_and_the_others_are_asked_about() -> None:
    found = compare_looks(
        look(region(1, 200, 200), region(2, 500, 500)), look(region(1, 210, 205)), HERE
    )
    assert found is not None
    assert found.both == ((1, 1),)
    (asked,) = found.asked
    assert (asked.which, asked.number) == ("earlier only", 2)
    assert asked.why_not == about_faces.NOTHING_TOLD_THERE
    assert "What was done since?" in asked.words
    assert asked.centre == pytest.approx((520, 520), abs=3)


def test_an_earlier_look_is_laid_over_by_the_position() -> None:
    shifted = np.array([(1.0, 0.0, 60.0), (0.0, 1.0, -30.0), (0.0, 0.0, 1.0)])
    earlier, later = look(region(1, 200, 300)), look(region(7, 260, 270))
    found = compare_looks(earlier, later, shifted)
    assert found is not None
    assert found.both == ((1, 7),)
    aside = compare_looks(earlier, later, HERE)
    assert aside is not None
    assert aside.both == ()
    assert {one.which for one in aside.asked} == {"later only", "earlier only"}


def test_what_the_other_look_left_open_or_did_not_assess_is_said() -> None:
    doubt = {"centre": [220.0, 220.0], "reach_px": 60.0, "why": "light or shape"}
    earlier = look(doubts=[doubt])
    found = compare_looks(earlier, look(region(1, 200, 200), region(2, 705, 705)), HERE)
    assert found is not None
    assert [one.why_not for one in found.asked] == [
        about_faces.LEFT_OPEN_THERE,
        about_faces.NOT_ASSESSED_THERE,
    ]


def test_looks_that_are_unlike_say_so_and_a_refused_one_is_not_compared() -> None:
    found = compare_looks(look(), look(further=["F3"], lamp={"wavelength_nm": 395.0}), HERE)
    assert found is not None
    assert found.asked == ()
    assert len(found.limits) == 2
    assert "1 place then and at 2 places now" in found.limits[0]
    assert compare_looks(look(verdict="refused"), look(), HERE) is None


def test_no_word_says_that_a_place_is_new_or_gone() -> None:
    words = about_faces.asked_of_place.say(
        number=1, place="middle", other=about_faces.NOTHING_TOLD_THERE, later=True
    )
    assert not {"new", "gone", "repaired", "original"} & set(words.lower().split())


def state_of(
    tree: PartsTree, frames: list[tuple[str, str, str]], looks: list[list[str]]
) -> DossierState:
    folding = Folding(tree)
    acts: list[tuple[str, dict[str, Any]]] = [
        (
            "instrument",
            {
                "kind": "guitar",
                "maker": "Sallowby Instrument Works",
                "model": "Wherry",
                "chronology": "sallowby-wherry",
                "tag": "W-0001",
            },
        )
    ]
    for id_, slot, light in frames:
        picture = {"file": "0" * 64, "name": f"{id_}.jpg", "media_type": "image/jpeg"}
        sized = {"width": 1000, "height": 800, "slot": slot, "light": light, "part": "finish"}
        acts.append(("photograph", {"id": id_, **picture, **sized}))
    for k, named in enumerate(looks, start=1):
        seen = {"id": f"O{k}", "part": "finish", "kind": "sign", "status": "read", "sign": "glow"}
        acts.append(("observation", {**seen, "frames": named, "places": 0, "outcome": "even"}))
    for kind, body in acts:
        folding.add(kind, body, at=NOON, by="examiner A", digest="0" * 64, where=kind)
    return folding.state


FRONT = [("F1", "uv-front-visible", "visible"), ("F2", "uv-front", "UV-A")]


def test_faces_that_nobody_looked_at_are_told_by_name(guitar: PartsTree) -> None:
    state = state_of(guitar, FRONT, [["F1", "F2"]])
    faces = {one.face: one for one in faces_covered(state, PLAN, guitar, {"O1": look()})}
    assert list(faces) == [
        "front", "back", "edges 1", "edges 2", "headstock", "neck back", "under pickguard",
    ]  # fmt: skip
    assert (faces["front"].assessed_cm2, faces["front"].lamps) == (310.0, 1)
    assert not faces["back"].looked
    assert faces["back"].standing == about_faces.NOT_TAKEN
    told = covered_words(tuple(faces.values()))
    assert told.startswith("Assessed under UV-A: front, 310 cm².")
    assert "neck back and under pickguard; nothing is said of these" in told


def test_a_look_without_a_kept_finding_covers_nothing(guitar: PartsTree) -> None:
    state = state_of(guitar, FRONT, [["F1", "F2"]])
    assert not any(one.looked for one in faces_covered(state, PLAN, guitar, {}))


def test_the_look_before_is_that_of_the_same_face_whatever_its_slot_is_called(
    guitar: PartsTree,
) -> None:
    later = [("F3", "uv-front-visible", "visible"), ("F4", "uv-front", "UV-A")]
    state = state_of(guitar, [*FRONT, *later], [["F1", "F2"], ["F3", "F4"]])
    now = chosen_pair(state, PLAN, "F3", "F4")
    before = look_before(state, now)
    assert before is not None
    assert before.id == "O1"
    assert look_before(state, chosen_pair(state, PLAN, "F1", "F2")) is None
    assert face_of("return-uv-back") == face_of("uv-back")
    assert face_of("uv-under-pickguard") == face_of("uv-front")
