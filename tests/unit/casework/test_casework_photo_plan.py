"""The photo plan: what is missing, when, and what an act would end."""

import tomllib
from importlib import resources
from typing import Any

import pytest

from heelstamp.casework.photo_plan import missing_before, missing_slots, parse_photo_plan
from heelstamp.catalogue import fold
from heelstamp.catalogue.journal import Entry
from heelstamp.errors import InputError
from heelstamp.reference.parts_trees import tree_loader
from heelstamp.reference.photo_plan import load_photo_plan

TREE = tree_loader(None)("guitar")
BASS = tree_loader(None)("bass")
PLAN = load_photo_plan()


def photograph(id_: str, slot: str, light: str = "visible") -> tuple[str, dict[str, Any]]:
    return "photograph", {
        "id": id_,
        "file": "0" * 64,
        "name": id_,
        "media_type": "image/jpeg",
        "width": 9,
        "height": 9,
        "slot": slot,
        "light": light,
    }


def done(id_: str, act: str) -> tuple[str, dict[str, Any]]:
    return "treatment", {"id": id_, "act": act, "part": "guard", "reason": "r", "reversible": True}


def state(*acts: tuple[str, dict[str, Any]]) -> Any:
    opening = {
        "kind": "guitar",
        "maker": "Sallowby Instrument Works",
        "model": "Wherry",
        "chronology": "sallowby-wherry",
        "tag": "H-0001",
    }
    leave = {"id": "c1", "act": "lift guard", "granted": True, "by": "a consignor"}
    entries = [("instrument", opening), ("consent", leave), *acts]
    return fold(
        Entry(
            seq=n,
            at="2026-11-02T09:14:00Z",
            by="examiner A",
            kind=kind,
            body=body,
            previous=None,
            digest="0" * 64,
        )
        for n, (kind, body) in enumerate(entries, start=1)
    )


def found(*acts: tuple[str, dict[str, Any]]) -> dict[str, tuple[int, str]]:
    return {one.slot.id: (one.have, one.when) for one in missing_slots(state(*acts), PLAN, TREE)}


def test_everything_is_missing_at_first_and_the_covered_comes_later() -> None:
    missing = found()
    assert len(missing) == len(PLAN.slots)
    assert missing["case-closed"] == (0, "now")
    assert missing["cavity"] == (0, "later")
    assert next(iter(missing)) == "case-closed"
    assert list(missing)[-4:] == ["packed", "loose-bagged", "parcel-open", "parcel-sealed"]
    assert missing["parcel-open"] == (0, "later")


def test_a_frame_fills_its_slot_by_any_of_its_names_in_its_light() -> None:
    missing = found(
        photograph("F1", "case-closed"),
        photograph("F2", "board-1"),
        photograph("F3", "board"),
        photograph("F4", "edge-lower", "raking"),
        photograph("F5", "edge-upper"),
        photograph("F6", "boarding"),
    )
    assert "case-closed" not in missing
    assert missing["board"] == (2, "now")
    assert missing["edge"] == (1, "now")


def test_a_withdrawn_frame_fills_nothing() -> None:
    gone = {"id": "x1", "corrects": "F1", "reason": "another instrument", "replacement": None}
    assert "case-closed" in found(photograph("F1", "case-closed"), ("correction", gone))


def test_lifting_the_guard_opens_some_slots_and_ends_others() -> None:
    missing = found(done("t1", "lift guard"))
    assert missing["cavity"] == (0, "now")
    assert missing["guard-screws"] == (0, "too late")
    assert missing["heel-stamp"] == (0, "later")
    closed = found(done("t1", "lift guard"), done("t2", "refit guard"))
    assert closed["cavity"] == (0, "too late")
    assert closed["reassembled"] == (0, "now")


def test_what_is_missing_before_a_cover_goes_back() -> None:
    open_guard = state(done("t1", "lift guard"), photograph("F1", "cavity"))
    names = [one.slot.id for one in missing_before("refit guard", open_guard, PLAN, TREE)]
    assert "cavity" not in names
    assert {"pot-tone-code", "guard-underside", "tray"} <= set(names)
    assert missing_before("refit neck", open_guard, PLAN, TREE) == ()
    with pytest.raises(InputError, match="no act of the photo plan"):
        missing_before("refit gard", open_guard, PLAN, TREE)


def test_slots_of_parts_that_a_kind_has_not_fall_away() -> None:
    names = {one.slot.id for one in missing_slots(state(), PLAN, BASS)}
    assert "switch" not in names
    assert "pot-tone-code" in names


def test_the_bundled_plan_follows_the_tree() -> None:
    acts = {part.key for part in TREE}
    assert all(slot.part is None or slot.part in acts for slot in PLAN.slots)
    assert all(slot.lost and slot.ends for slot in PLAN.slots)
    assert {"lift guard", "lift bridge", "take neck off", "take strings off"} <= set(PLAN.acts)
    assert PLAN.slot_of("uv-front", "UV-A") is not None
    assert PLAN.slot_of("uv-front") is None
    assert PLAN.slot_of("") is None


def test_a_frame_is_filed_by_its_slot_unless_it_says_otherwise() -> None:
    assert PLAN.filed({"slot": "uv-back"}) == {"slot": "uv-back", "part": "finish", "light": "UV-A"}
    assert PLAN.filed({"slot": "board-2"})["part"] == "frets"
    told = {"slot": "guard-screws", "light": "visible", "part": "body"}
    assert PLAN.filed(told) == told
    assert PLAN.filed({"slot": "elsewhere"}) == {"slot": "elsewhere"}
    assert "part" not in PLAN.filed({"slot": "tray"})


def document(**changes: Any) -> dict[str, Any]:
    text = (resources.files("heelstamp.reference") / "photo_plan.toml").read_text("utf-8")
    data = tomllib.loads(text)
    return {**data, "slot": [{**data["slot"][0], **changes}, *data["slot"][1:]]}


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ({**document(), "schema": "heelstamp/photo-plan/9"}, "not a photo plan"),
        (document(stage="case shut"), "no such stage"),
        (document(id="packed"), "two slots of one name"),
        (document(also=["case-open"]), "two slots of one name"),
        (document(light="moon"), "light"),
        (document(colour="red"), "colour"),
    ],
)
def test_a_broken_plan_is_refused(data: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError, match=told):
        parse_photo_plan(data, where="plan.toml")
