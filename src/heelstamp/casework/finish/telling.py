"""What a finding of the glow says, told from its plain values: for a screen and for a paper.

The values are those of ``FinishFinding.data``, also as they were kept. Words come from
``wording.about_finish`` alone. What would tell two causes apart is common practice of the bench, no
source; none of it may be a solvent.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heelstamp.luminescence.causes import FILM, OVERSPRAY, SHADE, TOUCH_UP, WEAR
from heelstamp.wording import Grounds, Statement, about_finish

BASIS = "simulated pairs only; no real instrument was photographed"
COVERED = "covered areas of the coating"

DECIDING = {
    TOUCH_UP: "the border under a loupe in raking light, and a step in gloss",
    WEAR: "whether the surface lies lower, and ground or colour shows",
    OVERSPRAY: "edges of parts and screw holes, and the coat beneath them",
    FILM: "whether a dry soft cloth, used with leave and logged, changes the glow",
    SHADE: "rests of adhesive, and what the owner tells of things removed",
}

Data = Mapping[str, Any]


def grounds_of(data: Data, rests_on: tuple[str, ...] = ()) -> Grounds:
    """Give what every sentence of a face rests on: entries, or the photographs when none."""
    frames = (str(data["visible"]), str(data["uv"]))
    return Grounds(rests_on or frames, frames, (COVERED,))


def statements_of(data: Data, *, rests_on: tuple[str, ...] = ()) -> tuple[Statement, ...]:
    """Give all sentences about one face, in the order of reading."""
    grounds = grounds_of(data, rests_on)
    if data["verdict"] != "assessed":
        return refusals(data, grounds)
    told: list[Statement] = []
    if not data["regions"]:
        told.append(about_finish.even("glow:even", zone=zone_of(data), grounds=grounds))
    for region in data["regions"]:
        told += _of_region(region, grounds)
    told += weaknesses(data, grounds)
    told.append(about_finish.cannot_tell("glow:undecided", grounds=grounds))
    return tuple(told)


def refusals(data: Data, grounds: Grounds, *, prefix: str = "glow") -> tuple[Statement, ...]:
    """Tell why a pair was refused, and what to do."""
    return tuple(
        about_finish.not_assessable(
            f"{prefix}:refused:{reason['code']}",
            code=reason["code"],
            found=reason["found"],
            remedy=reason["remedy"],
            grounds=grounds,
        )
        for reason in data["refusals"]
    )


def weaknesses(data: Data, grounds: Grounds, *, prefix: str = "glow") -> tuple[Statement, ...]:
    """Tell what makes the answer weaker, and what was too small to be assessed."""
    told = [
        about_finish.weakened(
            f"{prefix}:weaker:{limit['code']}",
            code=limit["code"],
            found=limit["found"],
            remedy=limit["remedy"],
            grounds=grounds,
        )
        for limit in data["limits"]
    ]
    smallest = data["smallest_mm"]
    if smallest is not None:
        told.append(
            about_finish.bound(f"{prefix}:bound", smallest_mm=float(smallest), grounds=grounds)
        )
    return tuple(told)


def zone_of(data: Data, face: str = "this face") -> str:
    """Name what was assessed, with its area when there is a scale."""
    area = data["assessed_cm2"]
    if area is None:
        return f"the assessed part of {face}"
    return f"the {float(area):.0f} cm² of {face} that were assessed"


def _of_region(region: Data, grounds: Grounds) -> list[Statement]:
    number = int(region["number"])
    id_ = f"glow:region {number}"
    return [
        about_finish.differs(
            id_,
            number=number,
            place=region["place"],
            kind=region["kind"],
            visible=region["visible"],
            grounds=grounds,
        ),
        about_finish.measured(
            f"{id_}:measured",
            number=number,
            area_cm2=region["area_cm2"],
            uncertainty_cm2=region["area_uncertainty_cm2"],
            ratio=region["glow_ratio"],
            grounds=grounds,
        ),
        about_finish.possible_causes(
            f"{id_}:causes",
            number=number,
            causes=region["causes"],
            deciding=deciding(region["causes"]),
            grounds=grounds,
        ),
        about_finish.sure(
            f"{id_}:sure", number=number, share=region["confidence"], grounds=grounds
        ),
    ]


def deciding(causes: Mapping[str, float]) -> str:
    """Tell what would separate the two causes with most support."""
    ordered = sorted(causes.items(), key=lambda item: (-item[1], item[0]))
    open_ones = [cause for cause, share in ordered if share >= about_finish.LEAST_SUPPORT]
    return "; ".join(DECIDING[cause] for cause in open_ones[:2])


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
