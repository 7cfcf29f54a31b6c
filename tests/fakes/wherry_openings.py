"""The invented guitar S10350 under the openings model, with the default openings.

Features, lags, serial curve and grids are those of the invented Wherry's chronology; openings,
sets, tables of parts and careful hands those of ``published/openings_cases/defaults.json``, all
judgement. What the example says of screws and joints becomes evidence on openings.
"""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from fakes.wherry_examinations import observed, translated, wherry
from heelstamp.chronology import dating_model
from heelstamp.dating import (
    CompiledModel,
    DatingModel,
    Evidence,
    Level,
    MixedSet,
    Observation,
    Opening,
    Part,
    PartSet,
    ScrewsSeen,
    SignSeen,
    Timing,
    joint_sign,
    touched_places,
)

DEFAULTS = Path(__file__).parents[1] / "published" / "openings_cases" / "defaults.json"
FOREIGN_OPENS = ("neck_off", "guard_off", "bridge_off")
JOINTED = ("leads", "pot_volume", "pot_tone", "capacitor", "switch", "socket")

SCREWS = {
    "heads-plate": ScrewsSeen("neck_off", 4, 2),
    "heads-guard": ScrewsSeen("guard_off", 11, 0),
    "heads-socket-plate": ScrewsSeen("plate_off", 2, 2),
}
LAMP = (
    "darker_hard_rim",
    "brighter_bluish_hard_rim",
    "darker_soft_rim",
    "darker_soft_streaked",
    "brighter_straight_edges",
    "darker_no_rim",
)
"""Looks of the six places R1, R2, W1, W2, S1, D1 of the invented finish."""


@cache
def defaults() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(DEFAULTS.read_text("utf-8"))
    return data


def ways(lists: list[list[str]]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(way) for way in lists)


@cache
def openings_model() -> DatingModel:
    """The Wherry with default openings in place of its assemblies."""
    old, tables = dating_model(wherry()), defaults()
    names = [name for name, _ in old.history]

    def by_class(row: dict[str, float]) -> tuple[float, ...]:
        return tuple(row[name] for name in names)

    lags = {part.name: part.lag for part in old.parts}
    joints = tuple(
        joint_sign(f"joint of {name}", f"joint_{name}", tables["joints_epsilon"])
        for name in JOINTED
    )
    kept = tuple(
        sign
        for sign in old.signs
        if sign.assembly is None and not sign.name.startswith("solder_joints")
    )
    careful = dict(tables["careful"])
    return replace(
        old,
        assemblies=(),
        parts=tuple(
            Part(
                one["name"],
                tuple(one["states"]),
                tuple(Timing(name) for name in one["timing"]),
                tuple(one["p_unreached"]),
                lag=lags[one["name"]],
                levels=tuple(
                    Level(ways(level["path"]), tuple(level["p"])) for level in one.get("levels", ())
                ),
            )
            for one in tables["parts"]
        ),
        signs=(*kept, *joints),
        openings=tuple(
            Opening(
                one["name"],
                by_class(one["p"]),
                ways(one["needs"]),
                one["along"],
                one.get("careful"),
                one["root"],
            )
            for one in tables["openings"]
        ),
        sets=tuple(
            PartSet(
                one["name"],
                tuple(one["parts"]),
                by_class(one["p"]),
                one["source"],
                ways(one["needs"]),
            )
            for one in tables["sets"]
        ),
        careful_default=careful.pop("default"),
        careful=careful,
        foreign_opens=FOREIGN_OPENS,
    )


@cache
def compiled_openings() -> CompiledModel:
    return CompiledModel(openings_model())


def looks(*ids: str, without: tuple[str, ...] = (), mapped: bool = True) -> Evidence:
    """Evidence of the example's observations *ids* (none: all), screws and joints on openings.

    The lamp's map of six places stands for the sign of local patches, which would count it twice.
    """
    found: list[Observation] = []
    for id_, one in translated(observed("wherry-s10350")).items():
        if (ids and id_ not in ids) or id_ in without:
            continue
        if id_ in SCREWS:
            found.append(SCREWS[id_])
            continue
        if id_ == "uv-colour" and mapped:
            ratios = [defaults()["place_ratio"][name] for name in LAMP]
            found.append(touched_places("finish", openings_model(), ratios))
            continue
        for evidence in one.evidence:
            if isinstance(evidence, SignSeen) and evidence.sign.startswith("solder_joints@"):
                part = evidence.sign.partition("@")[2]
                found.append(SignSeen(f"joint of {part}", evidence.outcome))
            else:
                found.append(evidence)
        if id_ == "g6-tuner-4":
            share = defaults()["mixed_set"]
            found += [MixedSet("tuners", share), MixedSet("neck with its tuners", share)]
    return tuple(found)
