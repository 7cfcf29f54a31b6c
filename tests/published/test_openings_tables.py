"""The bundled chronologies have the default openings, ways, sets and shares as worked out.

The defaults beside this file were written down before the chronologies, by another hand; all of
them are judgement, no source. The bass has fewer parts: no switch or foil, four tuners, one pickup.
The chronologies tell one history class more, put together from several instruments, which has its
own shares and sets; it is taken from those that were worked over.
"""

import re
from typing import Any

import pytest

from fakes.wherry_openings import defaults
from heelstamp.chronology import Chronology
from heelstamp.chronology.records import PartRow
from heelstamp.dating.openings import JOINT_TABLE, JOINTS
from heelstamp.reference.chronology_files import load_chronology

ADDED = {"frets": "refretted", "nut": "nut_out"}
"""Parts of the chronologies that the defaults do not have, with their openings."""

ABSENT_ON_A_BASS = re.compile(r"joint_switch|foil_off|tuner_[56]_off")
IDS = ("sallowby-wherry", "sallowby-lockkeeper")


def by_class(p: Any, chronology: Chronology) -> dict[str, float]:
    """Shares of the classes that the defaults have."""
    named = [row.name for row in chronology.history if not row.assembled]
    return {name: p[name] if isinstance(p, dict) else p for name in named}


@pytest.mark.parametrize("id_", IDS)
def test_history(id_: str) -> None:
    chronology = load_chronology(id_)
    ours = {row.name: row.probability for row in chronology.history}
    (together,) = (row.name for row in chronology.history if row.assembled)
    ours["worked over"] += ours.pop(together)
    assert ours == pytest.approx({one["name"]: one["p"] for one in defaults()["history"]})


@pytest.mark.parametrize("id_", IDS)
def test_openings(id_: str) -> None:
    chronology = load_chronology(id_)
    ours = {row.name: row for row in chronology.openings}
    for one in defaults()["openings"]:
        if chronology.kind == "bass" and ABSENT_ON_A_BASS.fullmatch(one["name"]):
            assert one["name"] not in ours
            continue
        row = ours.pop(one["name"])
        assert by_class(row.p, chronology) == one["p"]
        assert (row.needs, row.along, row.root) == (one["needs"], one["along"], one["root"])
        assert row.careful == one.get("careful")
    assert set(ours) == set(ADDED.values())


@pytest.mark.parametrize("id_", IDS)
def test_states_of_parts(id_: str) -> None:
    chronology = load_chronology(id_)
    theirs = {one["name"]: one for one in defaults()["parts"]}
    theirs["pickup"] = theirs["pickup_bridge"]
    for row in chronology.parts:
        if row.form == "anchor":
            assert not row.levels
        if row.form == "anchor" or row.key in ADDED:
            continue
        assert list(row.unreached) == theirs[row.key]["p_unreached"]
        assert levels_of(row) == theirs[row.key]["levels"]


def levels_of(row: PartRow) -> list[dict[str, Any]]:
    return [{"path": one.path, "p": list(one.p)} for one in row.levels]


def test_sets_careful_hands_screws_joints_and_places() -> None:
    chronology, theirs = load_chronology(IDS[0]), defaults()
    rows = [row for row in chronology.sets if any(by_class(row.p, chronology).values())]
    assert len(chronology.sets) - len(rows) == 2  # those of instruments put together
    assert [
        {
            "name": row.name,
            "needs": row.needs,
            "p": by_class(row.p, chronology),
            "parts": [part for part in row.parts if part not in ADDED],
            "source": row.source,
        }
        for row in rows
    ] == theirs["sets"]
    assert chronology.careful == theirs["careful"]
    screws = chronology.screws
    assert {
        "tightened": screws.tightened,
        "show": screws.shown,
        "false": screws.false,
        "epsilon": screws.error,
    } == theirs["screws"]
    joints = chronology.sign("solder_joints")
    assert joints is not None
    assert tuple(joints.outcomes) == JOINTS
    assert joints.table == theirs["joints"] == [list(row) for row in JOINT_TABLE]
    assert joints.error == theirs["joints_epsilon"]
    assert chronology.places is not None
    assert chronology.places.ratio == theirs["place_ratio"]
    assert chronology.places.share == theirs["place_share"]
    assert chronology.prior.foreign_body == theirs["foreign_body"]
