"""What was found on one face: plain values for programs, statements for people.

Words come from ``wording.about_finish`` alone. What would tell two causes apart is common practice
of the bench, no source; none of it may be a solvent. Accuracy is that on simulated pairs, wherever
it is quoted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from heelstamp.luminescence import Assessment, Reason, Region, finish_likelihoods
from heelstamp.luminescence.causes import FILM, OVERSPRAY, SHADE, TOUCH_UP, WEAR
from heelstamp.wording import Grounds, Statement, about_finish

BASIS = "simulated pairs only; no real instrument was photographed"
COVERED = "covered areas of the coating"
LEAST_SUPPORT = about_finish.LEAST_SUPPORT

DECIDING = {
    TOUCH_UP: "the border under a loupe in raking light, and a step in gloss",
    WEAR: "whether the surface lies lower, and ground or colour shows",
    OVERSPRAY: "edges of parts and screw holes, and the coat beneath them",
    FILM: "whether a dry soft cloth, used with leave and logged, changes the glow",
    SHADE: "rests of adhesive, and what the owner tells of things removed",
}


@dataclass(frozen=True, slots=True, eq=False)
class FinishFinding:
    """An assessment of one pair with the names of its photographs.

    Attributes
    ----------
    visible, uv
        File names, or ids of frames.
    digest
        SHA-256 of everything the answer depends on.
    """

    visible: str
    uv: str
    assessment: Assessment
    digest: str

    @property
    def assessed(self) -> bool:
        """Whether the pair was good enough to say anything."""
        return self.assessment.verdict == "assessed"

    def likelihoods(self) -> dict[str, float]:
        """Give the chance of this look under each state of the finish, largest one, 4 decimals."""
        return {state: round(p, 4) for state, p in finish_likelihoods(self.assessment).items()}

    def data(self) -> dict[str, Any]:
        """Give the finding as plain values; points are pixels of the visible photograph."""
        one = self.assessment
        found = one.registration
        return {
            "verdict": one.verdict,
            "reasons": [f"{r.found} ({r.code}). {r.remedy}" for r in one.reasons],
            "refusals": [_reason(reason) for reason in one.reasons],
            "limits": [_reason(reason) for reason in one.limits],
            "transform": None if one.transform is None else one.transform.tolist(),
            "registration": None if found is None else {
                "correlation": round(found.correlation, 4),
                "residual_px": round(found.residual, 3),
                "good_tiles": round(found.good_tiles, 3),
                "by_points": found.by_points,
            },
            "px_per_mm": one.px_per_mm,
            "regions": [_region(region) for region in one.regions],
            "assessed_cm2": None if one.coat_mm2 is None else round(one.coat_mm2 / 100.0, 2),
            "smallest_mm": one.smallest_mm,
            "stray_share": one.stray_share,
            "masks": self._masks(),
            "likelihoods": self.likelihoods() if self.assessed else None,
            "basis": BASIS,
            "visible": self.visible,
            "uv": self.uv,
            "digest": self.digest,
        }  # fmt: skip

    def _masks(self) -> dict[str, Any] | None:
        masks = self.assessment.masks
        if masks is None:
            return None
        return {
            "proposed": self.assessment.masks_proposed,
            "outline": masks.outline.round(1).tolist(),
            "parts": [
                {"name": name, "polygon": polygon.round(1).tolist()}
                for name, polygon in masks.parts
            ],
        }

    def proposed_masks(self) -> dict[str, Any] | None:
        """Give masks that were proposed, in the form in which corrected ones are handed in."""
        told = self._masks()
        if told is None or not told.pop("proposed"):
            return None
        return told

    def statements(self, *, rests_on: tuple[str, ...] = ()) -> tuple[Statement, ...]:
        """Give the sentences, in the order of reading.

        Parameters
        ----------
        rests_on
            Ids of entries; the names of the photographs when there are none.
        """
        frames = (self.visible, self.uv)
        grounds = Grounds(rests_on or frames, frames, (COVERED,))
        one = self.assessment
        if not self.assessed:
            return tuple(
                about_finish.not_assessable(
                    f"glow:refused:{reason.code}", code=reason.code, found=reason.found,
                    remedy=reason.remedy, grounds=grounds,
                )
                for reason in one.reasons
            )  # fmt: skip
        told: list[Statement] = []
        if not one.regions:
            told.append(about_finish.even("glow:even", zone=self._zone(), grounds=grounds))
        for region in one.regions:
            told += self._of_region(region, grounds)
        told += [
            about_finish.weakened(
                f"glow:weaker:{limit.code}", code=limit.code, found=limit.found,
                remedy=limit.remedy, grounds=grounds,
            )
            for limit in one.limits
        ]  # fmt: skip
        if one.smallest_mm is not None:
            told.append(
                about_finish.bound("glow:bound", smallest_mm=one.smallest_mm, grounds=grounds)
            )
        told.append(about_finish.cannot_tell("glow:undecided", grounds=grounds))
        return tuple(told)

    def _zone(self) -> str:
        area = self.assessment.coat_mm2
        return (
            "the assessed part of this face"
            if area is None
            else f"the {area / 100.0:.0f} cm² of this face that were assessed"
        )

    def _of_region(self, region: Region, grounds: Grounds) -> list[Statement]:
        id_, number = f"glow:region {region.number}", region.number
        doubt = region.area_uncertainty_mm2
        return [
            about_finish.differs(
                id_, number=number, place=self._place(region), kind=region.kind.value,
                visible=region.visible, grounds=grounds,
            ),
            about_finish.measured(
                f"{id_}:measured", number=number, area_cm2=region.area_cm2,
                uncertainty_cm2=None if doubt is None else doubt / 100.0, ratio=region.ratio,
                grounds=grounds,
            ),
            about_finish.possible_causes(
                f"{id_}:causes", number=number, causes=region.causes,
                deciding=_deciding(region), grounds=grounds,
            ),
            about_finish.sure(
                f"{id_}:sure", number=number, share=region.confidence, grounds=grounds
            ),
        ]  # fmt: skip

    def _place(self, region: Region) -> str:
        """Name one of nine fields of the visible photograph."""
        height, width = self.assessment.frame
        across = ("left", "middle", "right")[_third(region.centre[0], width)]
        down = ("upper", "middle", "lower")[_third(region.centre[1], height)]
        if across == down:
            return "in the middle of the photograph"
        if across == "middle":
            return f"at the {down} middle of the photograph"
        return f"at the {down} {across} of the photograph"


def _third(value: float, size: int) -> int:
    return min(2, max(0, int(3 * value / max(size, 1))))


def _deciding(region: Region) -> str:
    ordered = sorted(region.causes.items(), key=lambda item: (-item[1], item[0]))
    open_ones = [cause for cause, share in ordered if share >= LEAST_SUPPORT]
    return "; ".join(DECIDING[cause] for cause in open_ones[:2])


def _reason(reason: Reason) -> dict[str, str]:
    return {"code": reason.code, "found": reason.found, "remedy": reason.remedy}


def _region(region: Region) -> dict[str, Any]:
    return {
        "number": region.number,
        "polygon": region.polygon.round(1).tolist(),
        "centre": [round(region.centre[0], 1), round(region.centre[1], 1)],
        "area_cm2": None if region.area_cm2 is None else round(region.area_cm2, 4),
        "area_uncertainty_cm2": None
        if region.area_uncertainty_mm2 is None
        else round(region.area_uncertainty_mm2 / 100.0, 4),
        "kind": region.kind.value,
        "visible": bool(region.visible),
        "confidence": round(region.confidence, 4),
        "causes": {cause: round(share, 4) for cause, share in region.causes.items()},
        "glow_ratio": round(region.ratio, 4),
        "visible_difference": round(region.visible_difference, 2),
    }
