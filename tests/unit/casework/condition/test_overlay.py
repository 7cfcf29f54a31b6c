"""Two visits laid over each other."""

from __future__ import annotations

from typing import Any

import pytest

from heelstamp.casework.condition.overlay import compare_visits
from heelstamp.catalogue import DossierState, Folding, PartsTree
from heelstamp.errors import InputError

INSTRUMENT = {"kind": "guitar", "maker": "Sallowby", "model": "Wherry", "chronology": "w"}


def frame(name: str, slot: str) -> tuple[str, dict[str, Any]]:
    told = {"id": name, "file": "ab" * 32, "name": "a.jpg", "media_type": "image/jpeg"}
    return "photograph", told | {"width": 1000, "height": 1500, "slot": slot}


def mark(name: str, **told: Any) -> tuple[str, dict[str, Any]]:
    usual = {"id": name, "damage": "chip", "material": "finish", "face": "front"}
    return "condition", usual | told


def looked(name: str, visit: str, face: str = "front") -> tuple[str, dict[str, Any]]:
    return "face_looked", {"id": name, "face": face, "visit": visit}


def act(name: str, what: str, part: str) -> tuple[str, dict[str, Any]]:
    return "treatment", {"id": name, "act": what, "part": part, "reason": "r", "reversible": False}


def folded(tree: PartsTree, *rows: tuple[str, dict[str, Any]]) -> DossierState:
    folding = Folding(tree)
    for kind, body in (("instrument", INSTRUMENT), *rows):
        folding.add(kind, body, where=kind)
    return folding.state


def changes(state: DossierState, later: str = "exit") -> dict[str, tuple[str, tuple[str, ...]]]:
    rows = compare_visits(state, "intake", later)  # type: ignore[arg-type]
    return {one.place.id: (one.change, one.explained_by) for one in rows}


def test_a_corroded_cover_that_is_spotless_afterwards_is_asked_about(guitar: PartsTree) -> None:
    before = (
        mark("rust", damage="corrosion", material="metal", part="bridge"),
        looked("l1", "intake"),
    )
    state = folded(guitar, *before, looked("l2", "exit"))
    assert changes(state) == {"rust": ("gone", ())}
    (row,) = compare_visits(state, "intake", "exit")
    assert row.asks
    cleaned = folded(guitar, *before, act("t1", "clean hardware", "bridge"), looked("l2", "exit"))
    assert changes(cleaned) == {"rust": ("gone", ("t1",))}
    elsewhere = folded(guitar, *before, act("t1", "clean hardware", "neck"), looked("l2", "exit"))
    assert changes(elsewhere) == {"rust": ("gone", ())}
    late = folded(guitar, *before, looked("l2", "exit"), act("t1", "clean hardware", "bridge"))
    assert changes(late) == {"rust": ("gone", ())}


def test_nothing_is_gone_from_a_face_nobody_looked_at_and_nothing_new_either(
    guitar: PartsTree,
) -> None:
    state = folded(guitar, mark("a"), looked("l1", "exit", "back"), mark("b", visit="exit", x=None))
    assert changes(state)["b"] == ("same", ())
    state = folded(guitar, mark("a"), mark("b", visit="exit", face="back"))
    assert changes(state) == {"a": ("cannot tell", ()), "b": ("cannot tell", ())}


@pytest.mark.parametrize(("x", "change"), [(0.52, "same"), (0.60, "new")])
def test_places_meet_in_photographs_of_one_slot(guitar: PartsTree, x: float, change: str) -> None:
    state = folded(
        guitar,
        frame("f1", "overall-front"),
        frame("f2", "overall-front"),
        mark("a", frame="f1", x=0.5, y=0.5),
        looked("l1", "intake"),
        mark("b", visit="exit", frame="f2", x=x, y=0.5),
        looked("l2", "exit"),
    )
    assert changes(state)["b"][0] == change


def test_each_place_is_met_once_and_by_the_nearest(guitar: PartsTree) -> None:
    state = folded(
        guitar,
        frame("f1", "overall-front"),
        frame("f2", "overall-front"),
        mark("a", frame="f1", x=0.50, y=0.5),
        mark("b", frame="f1", x=0.53, y=0.5),
        looked("l1", "intake"),
        mark("c", visit="exit", frame="f2", x=0.525, y=0.5),
        looked("l2", "exit"),
    )
    rows = compare_visits(state, "intake", "exit")
    same = [(one.before.id, one.after.id) for one in rows if one.before and one.after]
    assert same == [("b", "c")]
    assert changes(state)["a"] == ("gone", ())


def test_growth_is_told_beyond_the_doubt_of_both_sizes(guitar: PartsTree) -> None:
    def sized(after: float) -> DossierState:
        return folded(
            guitar,
            mark("a", damage="crack", material="wood", length_mm=20.0, uncertainty_mm=0.5),
            mark(
                "b",
                damage="crack",
                material="wood",
                visit="exit",
                length_mm=after,
                uncertainty_mm=0.5,
            ),
        )

    assert changes(sized(21.0))["b"][0] == "same"
    assert changes(sized(23.0))["b"][0] == "grown"


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"x": 0.5}, "half of a place"),
        ({"x": 0.5, "y": 0.5}, "no photograph"),
        ({"width_mm": 3.0}, "width above the length"),
        ({"uncertainty_mm": 1.0}, "without a size"),
        ({"since": "appeared"}, "did not appear later"),
        ({"same_as": "nobody"}, "unknown or withdrawn"),
    ],
)
def test_what_contradicts_itself_is_refused(
    guitar: PartsTree, told: dict[str, Any], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        folded(guitar, mark("a", **told))
