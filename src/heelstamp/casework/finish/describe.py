"""What a finding of the glow says, from its plain values: for a screen and for a paper.

The values are those of ``FinishFinding.data``, also as they were kept. Words are those of
``wording.about_finish``.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heelstamp.wording import Grounds, Statement, about_finish

LAMP_TOLD = ("wavelength_nm", "filter", "distance_mm", "camera")
COVERED = "covered areas of the finish"

Data = Mapping[str, Any]


def grounds_of(data: Data, rests_on: tuple[str, ...] = ()) -> Grounds:
    """Return what every sentence of a face rests on: entries, or the photographs when none."""
    named = (str(data["visible"]), str(data["uv"]), *map(str, data.get("further", ())))
    frames = tuple(dict.fromkeys(named))
    return Grounds(rests_on or frames, frames, (COVERED,))


def describe_glow(data: Data, *, rests_on: tuple[str, ...] = ()) -> tuple[Statement, ...]:
    """Return all sentences about one face, in the order of reading."""
    grounds = grounds_of(data, rests_on)
    if data["verdict"] != "assessed":
        return describe_refusals(data, grounds)
    told: list[Statement] = []
    if not data["regions"]:
        told.append(describe_evenness(data, grounds, "glow:even"))
    for region in data["regions"]:
        told += _describe_region(region, grounds)
    told += describe_doubts(data, grounds)
    told += describe_limits(data, grounds)
    told.append(about_finish.cannot_tell("glow:undecided", grounds))
    return tuple(told)


def turned_of(data: Data) -> int | None:
    """By how many degrees the light turned from the first UV-A frame to the second."""
    told = (data.get("lamp") or {}).get("from_degrees") or []
    if len(told) < 2 or told[0] is None or told[1] is None:
        return None
    first, second = float(told[0]), float(told[1])
    return round(abs((second - first + 180.0) % 360.0 - 180.0))


def describe_refusals(
    data: Data, grounds: Grounds, *, prefix: str = "glow"
) -> tuple[Statement, ...]:
    """Return why a pair was refused, and what to do."""
    return tuple(
        about_finish.not_assessable(f"{prefix}:refused:{reason['code']}", grounds, **reason)
        for reason in data["refusals"]
    )


def describe_evenness(
    data: Data, grounds: Grounds, id_: str, *, face: str = "this face"
) -> Statement:
    """Say of a face without a region that it is even, or that this stays open."""
    zone = about_finish.zone_words(data["assessed_cm2"], face)
    say = about_finish.none_told if data.get("doubts") else about_finish.even
    return say(id_, grounds, zone=zone)


def describe_doubts(data: Data, grounds: Grounds, *, prefix: str = "glow") -> tuple[Statement, ...]:
    """Return what was left open, one sentence for each thing that could have made it.

    Findings that were kept before any was left open have none.
    """
    by_why: dict[str, list[Data]] = {}
    for doubt in data.get("doubts", ()):
        by_why.setdefault(str(doubt["why"]), []).append(doubt)
    return tuple(
        about_finish.left_open(
            f"{prefix}:open:{why}",
            grounds,
            why=why,
            labels=[str(one["label"]) for one in doubts],
            places=[str(one["place"]) for one in doubts],
        )
        for why, doubts in by_why.items()
    )


def describe_limits(data: Data, grounds: Grounds, *, prefix: str = "glow") -> tuple[Statement, ...]:
    """Return how the lamp was moved, what makes the answer weaker, and what was too small."""
    told = []
    if data.get("further") and data["verdict"] == "assessed":
        told.append(
            about_finish.lamp_moved(
                f"{prefix}:moved",
                grounds,
                places=1 + len(data["further"]),
                brushed=bool(data["brushed"]),
                turned=turned_of(data),
            )
        )
    lamp = data.get("lamp") or {}
    if data["verdict"] == "assessed" and any(lamp.get(key) for key in LAMP_TOLD):
        told.append(
            about_finish.lamp_told(
                f"{prefix}:lamp",
                grounds,
                wavelength_nm=lamp["wavelength_nm"],
                filter_=str(lamp["filter"]),
                distance_mm=lamp["distance_mm"],
                camera=tuple(dict.fromkeys(one for one in lamp["camera"] if one)),
            )
        )
    told += [
        about_finish.weakened(f"{prefix}:weaker:{limit['code']}", grounds, **limit)
        for limit in data["limits"]
    ]
    smallest = data["smallest_mm"]
    if smallest is not None:
        told.append(about_finish.bound(f"{prefix}:bound", grounds, smallest_mm=float(smallest)))
    return tuple(told)


def _describe_region(region: Data, grounds: Grounds) -> list[Statement]:
    number = int(region["number"])
    id_ = f"glow:region {number}"
    return [
        about_finish.differs(
            id_,
            grounds,
            number=number,
            place=region["place"],
            kind=region["kind"],
            visible=region["visible"],
        ),
        about_finish.measured(
            f"{id_}:measured",
            grounds,
            number=number,
            area_cm2=region["area_cm2"],
            uncertainty_cm2=region["area_uncertainty_cm2"],
            ratio=region["glow_ratio"],
        ),
        about_finish.possible_causes(
            f"{id_}:causes", grounds, number=number, causes=region["causes"]
        ),
        about_finish.sure(f"{id_}:sure", grounds, number=number, share=region["confidence"]),
    ]


def place_of(centre: tuple[float, float], frame: tuple[int, int]) -> str:
    """Name one of nine fields of the visible photograph; *frame* is its height and width."""
    height, width = frame
    across = ("left", "middle", "right")[_third(centre[0], width)]
    down = ("upper", "middle", "lower")[_third(centre[1], height)]
    if across == down:
        return "in the middle of the photograph"
    if across == "middle":
        return f"at the {down} middle of the photograph"
    return f"at the {down} {across} of the photograph"


def _third(value: float, size: int) -> int:
    return min(2, max(0, int(3 * value / max(size, 1))))
