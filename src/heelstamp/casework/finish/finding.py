"""What was found on one face, as plain values: for programs, for keeping, for a paper.

Sentences are made from these values alone (``describe``), so that a kept finding says what it said
when it was made. Accuracy is that on simulated pairs, wherever it is quoted.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from heelstamp.casework.finish.describe import describe_glow, place_of
from heelstamp.casework.finish.places import RATIO, finish_likelihoods
from heelstamp.casework.finish.request import Lamp
from heelstamp.luminescence import Assessment, Doubt, Reason, Region, place_ratios
from heelstamp.wording import Statement
from heelstamp.wording.about_finish import BASIS


@dataclass(frozen=True, slots=True, eq=False)
class FinishFinding:
    """An assessment of one pair with the names of its photographs.

    Attributes
    ----------
    visible, uv
        File names, or ids of frames.
    further
        Those of UV-A frames with the lamp moved.
    lamp, settings
        The lamp as the examiner tells it, and the camera's settings as the files do.
    digest
        SHA-256 of everything the answer depends on.
    """

    visible: str
    uv: str
    assessment: Assessment
    digest: str
    further: tuple[str, ...] = ()
    lamp: Lamp = field(default_factory=Lamp)
    settings: tuple[str, ...] = ()

    @property
    def assessed(self) -> bool:
        """Whether the pair was good enough to say anything."""
        return self.assessment.verdict == "assessed"

    def likelihoods(self) -> dict[str, float]:
        """The chance of this look under each state of the finish, largest one, 4 decimals."""
        return {state: round(p, 4) for state, p in finish_likelihoods(self.assessment).items()}

    def data(self) -> dict[str, Any]:
        """The finding as plain values; points are pixels of the visible photograph."""
        one = self.assessment
        found = one.registration
        return {
            "verdict": one.verdict,
            "reasons": [f"{r.found} ({r.code}). {r.remedy}" for r in one.reasons],
            "refusals": [_reason(reason) for reason in one.reasons],
            "limits": [_reason(reason) for reason in one.limits],
            "transform": None if one.transform is None else one.transform.tolist(),
            "registration": None
            if found is None
            else {
                "correlation": round(found.correlation, 4),
                "residual_px": _finite(found.residual),
                "good_tiles": round(found.good_tiles, 3),
                "expected_error_px": _finite(found.expected),
                "by_points": found.by_points,
            },
            "px_per_mm": one.px_per_mm,
            "frame_px": list(one.frame),
            "regions": [
                {**_region(region, one.frame), RATIO: round(ratio, 4)}
                for region, ratio in zip(one.regions, place_ratios(one), strict=True)
            ],
            "doubts": [_doubt(k, doubt, one.frame) for k, doubt in enumerate(one.doubts, start=1)],
            "assessed_cm2": None if one.coat_mm2 is None else round(one.coat_mm2 / 100.0, 2),
            "smallest_mm": one.smallest_mm,
            "stray_share": one.stray_share,
            "masks": self._masks(),
            "likelihoods": self.likelihoods() if self.assessed else None,
            "basis": BASIS,
            "visible": self.visible,
            "uv": self.uv,
            "further": list(self.further),
            "brushed": one.brushed if self.further else None,
            "lit_unevenly_cm2": self._untested(),
            "lamp": self.lamp.data()
            | {"from_degrees": list(one.lamp_from), "camera": list(self.settings)},
            "digest": self.digest,
        }

    def _untested(self) -> float | None:
        """The area that the frames with the lamp moved light too differently, in cm²."""
        one = self.assessment
        if one.px_per_mm is None or not self.further or not self.assessed:
            return None
        return round(one.untested_px / one.px_per_mm**2 / 100.0, 2)

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
        """Masks that were proposed, in the form in which corrected ones are handed in."""
        told = self._masks()
        if told is None or not told.pop("proposed"):
            return None
        return told

    def statements(self, *, rests_on: tuple[str, ...] = ()) -> tuple[Statement, ...]:
        """The sentences, in the order of reading.

        Parameters
        ----------
        rests_on
            Ids of entries; the names of the photographs when there are none.
        """
        return describe_glow(self.data(), rests_on=rests_on)


def _finite(pixels: float) -> float | None:
    """Pixels to a thousandth, None where nothing was found to measure them on."""
    return round(pixels, 3) if isfinite(pixels) else None


def _reason(reason: Reason) -> dict[str, str]:
    return {"code": reason.code, "found": reason.found, "remedy": reason.remedy}


def _doubt(number: int, doubt: Doubt, frame: tuple[int, int]) -> dict[str, Any]:
    return {
        "label": f"?{number}",
        "place": place_of(doubt.centre, frame),
        "centre": [round(doubt.centre[0], 1), round(doubt.centre[1], 1)],
        "reach_px": round(doubt.reach_px, 1),
        "kind": doubt.kind.value,
        "why": doubt.why.value,
    }


def _region(region: Region, frame: tuple[int, int]) -> dict[str, Any]:
    return {
        "number": region.number,
        "place": place_of(region.centre, frame),
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
        "usual_difference": round(region.usual_difference, 2),
    }
