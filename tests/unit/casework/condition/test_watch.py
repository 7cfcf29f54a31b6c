"""Photographs of one slot on two visits: what differs, what explains it, what is refused."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

import cv2
import numpy as np
import pytest

from fakes import two_visits
from heelstamp.casework.condition.watch import (
    SHOWN,
    compare_frames,
    describe_watched,
    frame_pairs,
    watched,
)
from heelstamp.catalogue import DossierState, Folding, PartsTree, Photograph
from heelstamp.luminescence.linear import Bytes
from heelstamp.luminescence.visits.comparing import Comparison, OtherFaceError, compare
from heelstamp.reference.photo_plan import load_photo_plan

INSTRUMENT = {"kind": "guitar", "maker": "Sallowby", "model": "Wherry", "chronology": "w"}
DEMO = files("heelstamp") / "reference" / "demo" / "photographs"


def frame(name: str, slot: str, part: str | None = None) -> tuple[str, dict[str, Any]]:
    told = {"id": name, "file": "ab" * 32, "name": f"{name}.jpg", "media_type": "image/jpeg"}
    told |= {"width": 1600, "height": 1200, "slot": slot}
    return "photograph", told | ({"part": part} if part else {})


def act(name: str, what: str, part: str, **told: Any) -> tuple[str, dict[str, Any]]:
    usual = {"id": name, "act": what, "part": part, "reason": "r", "reversible": False}
    return "treatment", usual | told


def folded(tree: PartsTree, *rows: tuple[str, dict[str, Any]]) -> DossierState:
    folding = Folding(tree)
    for kind, body in (("instrument", INSTRUMENT), *rows):
        folding.add(kind, body, where=kind)
    return folding.state


def of_the_demonstration(one: Photograph) -> Bytes:
    code = np.frombuffer((DEMO / one.name).read_bytes(), np.uint8)
    return np.ascontiguousarray(cv2.imdecode(code, cv2.IMREAD_COLOR)[..., ::-1])


BRIDGE = (
    frame("F020", "bridge", "bridge"),
    act("t1", "fit part", "saddles"),
    frame("F044", "bridge-after", "bridge"),
)


@cache
def the_bridge() -> Comparison | str:
    from heelstamp.reference.parts_trees import load_parts_tree

    (pair,) = frame_pairs(folded(load_parts_tree("guitar"), *BRIDGE), load_photo_plan())
    return compare_frames(pair, of_the_demonstration)


def seen(tree: PartsTree, *rows: tuple[str, dict[str, Any]]) -> Any:
    state, plan = folded(tree, *rows), load_photo_plan()
    (pair,) = frame_pairs(state, plan)
    return watched(state, plan, pair, the_bridge())


def test_the_demonstrations_corroded_bridge_that_is_spotless_is_asked_about_and_comes_first(
    guitar: PartsTree,
) -> None:
    one = seen(guitar, *BRIDGE)
    assert one.asks
    assert len(one.places) <= SHOWN
    first = one.places[0]
    assert first.change == "went"
    # the plate lies between .22 and .64 of the width; corrosion is all over it
    edges = np.array([at for piece in first.outlines for at in piece])
    on_plate = (edges[:, 0] > 0.2) & (edges[:, 0] < 0.66)
    assert on_plate.mean() > 0.9
    assert len(first.outlines) >= 5
    assert np.ptp(edges[:, 1]) > 0.4
    said = describe_watched(one, guitar).text
    assert "F020 and F044 (bridge)" in said
    assert "look first at what is seen only before" in said
    assert "One photograph a visit cannot tell" in said
    assert said.endswith("Who did what?")
    assert " new" not in said.lower()
    assert one.left_out > 0


def test_a_cleaning_of_the_photographed_part_explains_it_and_of_another_does_not(
    guitar: PartsTree,
) -> None:
    cleaned = (BRIDGE[0], act("t2", "clean hardware", "bridge"), BRIDGE[2])
    assert seen(guitar, *cleaned).pair.explained_by == ("t2",)
    assert not seen(guitar, *cleaned).asks
    elsewhere = (BRIDGE[0], act("t2", "clean hardware", "neck_plate"), BRIDGE[2])
    assert seen(guitar, *elsewhere).asks
    late = (*BRIDGE, act("t2", "clean hardware", "bridge"))
    assert seen(guitar, *late).asks


def test_a_persons_word_answers_it(guitar: PartsTree) -> None:
    word = {"id": "v1", "before": "F020", "after": "F044", "it_is": "known and entered"}
    one = seen(guitar, *BRIDGE, ("difference_look", word))
    assert one.answered == ("v1",)
    assert not one.asks
    assert "entered what it is" in describe_watched(one, guitar).text


def test_frames_of_one_visit_are_no_pair_and_an_act_parts_visits(guitar: PartsTree) -> None:
    plan = load_photo_plan()
    two = (frame("f1", "bridge"), frame("f2", "bridge"))
    assert frame_pairs(folded(guitar, *two), plan) == ()
    apart = (two[0], act("t1", "clean hardware", "bridge"), two[1])
    (pair,) = frame_pairs(folded(guitar, *apart), plan)
    assert pair.frames == ("f1", "f2")
    back = (*two, frame("f3", "return-bridge"))
    (pair,) = frame_pairs(folded(guitar, *back), plan)
    assert [one.id for one in pair.before] == ["f1", "f2"]
    thirds = (frame("f1", "board-1"), frame("f2", "board-2"))
    assert frame_pairs(folded(guitar, *thirds), plan) == ()


def shots(face: two_visits.Face, rng: np.random.Generator, lights: int = 2) -> list[Bytes]:
    return [one.picture for one in two_visits.visit(face, rng, lights)]


def test_a_chip_planted_on_a_drawn_face_comes_first_and_clearly_and_other_light_does_not() -> None:
    face = two_visits.make_face(8, "burst")
    rng = np.random.default_rng([8, 3])
    later = face.copy()
    two_visits.plant(later, rng, "chip")
    two_visits.plant(later, rng, "stain")  # of .21 in log light: not found, and not promised
    before, after = two_visits.visit(face, rng), two_visits.visit(later, rng)
    found = compare([one.picture for one in before], [one.picture for one in after])
    high, wide = before[0].picture.shape[:2]
    u, v = before[0].at(later.marks[0].x, later.marks[0].y)
    first = found.places[0]
    assert first.clear
    assert np.hypot(first.x * wide - u, first.y * high - v) < 3 * two_visits.PER_MM
    same = compare([one.picture for one in before], shots(face, rng))
    assert not any(one.clear for one in same.places)
    assert len(same.places) <= 1
    assert same.lights == 2


def test_a_photograph_of_another_face_is_refused() -> None:
    rng = np.random.default_rng(5)
    one, other = two_visits.make_face(1, "burst"), two_visits.make_face(9, "natural")
    with pytest.raises(OtherFaceError) as refused:
        compare(shots(one, rng, 1), shots(other, rng, 1))
    assert refused.value.which == 1


def test_a_refused_frame_is_named(guitar: PartsTree) -> None:
    state, plan = folded(guitar, *BRIDGE), load_photo_plan()
    (pair,) = frame_pairs(state, plan)
    other = frame("F006", "overall-back")[1] | {"file": "ab" * 32}

    def read(one: Photograph) -> Bytes:
        if one.id == "F044":
            return of_the_demonstration(Photograph(**other))
        return of_the_demonstration(one)

    found = compare_frames(pair, read)
    assert isinstance(found, str)
    said = describe_watched(watched(state, plan, pair, found), guitar).text
    assert said.startswith("F020 and F044 were not compared: F044 is not of the same face")
