"""The invented guitar S10350 with something changed, its doubts, and what is said of them."""

import json
from functools import cache
from typing import Any

from fakes.wherry_examinations import Body, example, look, observed, tables, wherry
from heelstamp.casework.dating import DateFinding, date_instrument
from heelstamp.casework.doubts import DoubtFinding, examine_doubts
from heelstamp.casework.examination import parse_examination
from heelstamp.casework.papers.doubt_section import DoubtSection, doubt_section
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.reference.wear import load_wear_table
from heelstamp.shop.subjects import names_of

HERO = "wherry-s10350"
OLD = {
    "f12": "white celluloid 2.4 mm",
    "f13": "heel, capstan for a 2.5 mm pin",
    "f09": "pencil: last digit of year, month",
    "f05": "ebonised pear",
}
"""Variants of a neck of 1957."""


@cache
def tree() -> PartsTree:
    return load_parts_tree("guitar")


def hero(*more: Body, without: tuple[str, ...] = (), **changed: Body) -> list[Body]:
    """The observations of the example, some changed (by id), some left out, and more after them."""
    kept = [one for one in observed(HERO) if one["id"] not in without]
    return [*(changed.get(one["id"], one) for one in kept), *more]


def misread_neck() -> list[Body]:
    """The same neck, its heel entered as March 1957."""
    return hero(**{"mark-neck": neck_mark("1957-03")})


def older_neck() -> list[Body]:
    """A neck of 1957 in all that was seen of it; how it fits its pocket is not looked at."""
    changed = {
        one["id"]: {**one, "variant": OLD[one["id"]]} for one in observed(HERO) if one["id"] in OLD
    }
    return hero(without=("pocket-fit",), **changed, **{"mark-neck": neck_mark("1957-03")})


def body_marked(month: str) -> list[Body]:
    """A date in the cavity, where the hero has none."""
    readings = [{"period": month, "weight": 1.0}]
    seen = look("mark-body", "body", "mark", text="pencil", readings=readings, frames=["f15"])
    return hero(seen, without=("mark-body", "g4"))


def without_screws(observations: list[Body]) -> list[Body]:
    """A foreign body took neck, guard and bridge off, which undisturbed screws deny."""
    screws = {"heads-guard", "heads-plate", "heads-bridge"}
    return [one for one in observations if one["id"] not in screws]


def neck_mark(month: str) -> Body:
    readings = [{"period": month, "weight": 1.0}]
    return look("mark-neck", "neck", "mark", text="7 3", readings=readings, frames=["f40"])


def wear(part: str, grade: str, number: int = 1) -> Body:
    return look(
        f"wear-{part}-{number}",
        part,
        "sign",
        sign="wear",
        outcome=grade,
        frames=[f"w-{part}-{number}"],
    )


def flag(sign: str, part: str = "body", outcome: str = "present") -> Body:
    return look(f"flag-{sign}", part, "sign", sign=sign, outcome=outcome, frames=[f"f-{sign}"])


def close_marks() -> list[Body]:
    """Four parts that all name May 1965."""
    marks = [
        look(
            f"close-{part}",
            part,
            "mark",
            text="65/05",
            readings=[{"period": "1965-05", "weight": 1.0}],
        )
        for part in ("bridge", "guard", "neck")
    ]
    return hero(*marks, without=("mark-neck", "mark-pot-tone"))


def state_of(observations: list[Body]) -> DossierState:
    """A dossier that holds these observations and the photographs they name."""
    frames = dict.fromkeys(frame for one in observations for frame in one.get("frames", ()))
    data = {
        "schema": "heelstamp/examination/1",
        "instrument": example(HERO)["instrument"],
        "photograph": [
            {
                "id": id_,
                "file": f"{number:064x}",
                "name": f"{id_}.jpg",
                "media_type": "image/jpeg",
                "width": 60,
                "height": 40,
                "slot": "detail",
                "light": "visible",
                "private": False,
            }
            for number, id_ in enumerate(frames)
        ],
        "observation": observations,
    }
    return parse_examination(data, load_parts_tree).state


Doubted = tuple[DossierState, DateFinding, DoubtFinding]
"""State, date finding and doubt finding."""

_kept: dict[str, Doubted] = {}


def doubts_of(observations: list[Body]) -> Doubted:
    """What comes of these observations, computed once for all tests: not to be changed."""
    key = json.dumps(observations)
    if key not in _kept:
        _kept[key] = doubts_afresh(observations)
    return _kept[key]


def doubts_afresh(observations: list[Body]) -> Doubted:
    """The same, computed now."""
    state = state_of(observations)
    finding = date_instrument(state, wherry(), tables())
    found = examine_doubts(
        state,
        tree(),
        wherry(),
        tables(),
        finding=finding,
        wear=load_wear_table(),
        names=names_of(wherry()),
    )
    return state, finding, found


def told(observations: list[Body]) -> tuple[DoubtFinding, DoubtSection]:
    """The doubts, and the section of a paper about them."""
    state, finding, found = doubts_of(observations)
    data: dict[str, Any] = found.data()
    return found, doubt_section(state, tree(), names_of(wherry()), finding.data(), data)
