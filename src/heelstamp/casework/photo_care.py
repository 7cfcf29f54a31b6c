"""Whether a photograph serves its purpose: what its numbers mean, in one line, never a refusal.

A poor photograph is still evidence of what was seen that day, so care never refuses one; it says at
once what to take again while the instrument lies there. Limits are common practice and judgement,
no source; that of edges was set on pictures blurred on purpose (``docs/methods/photographs.md``).
Resolution is told from what the slot of the photo plan says is in the frame, not measured: a ruler
in the frame is better.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import msgspec

from heelstamp.casework.photo_plan import Slot

MOST_EDGE_PX = 6.0
MOST_CLIPPED = 0.01
DARKEST, DARKEST_GLOW = 0.20, 0.05
"""Least 99th percentile of light: a dark ground is no fault, a frame without a bright place is."""
MOST_CAST = 0.05
MOST_LEFT_OVER = 0.06
RESOLUTION_SLACK = 0.95


@dataclass(frozen=True, slots=True)
class GreyRow:
    """Grey patches of a target as photographed.

    Attributes
    ----------
    patches, used
        How many there are, and how many were neither clipped nor black.
    red, blue
        Factors on linear red and blue that make them neutral against green; None without any.
    left_over
        Greatest share by which a patch differs from neutral after that: two lights, or glare.
    """

    patches: int
    used: int
    red: float | None
    blue: float | None
    left_over: float | None


@dataclass(frozen=True, slots=True)
class Framing:
    """How what is photographed lies in its picture.

    Attributes
    ----------
    plain
        Whether the ground along the edges is of one colour; nothing else is known without.
    wide, high
        Width and height of what differs from the ground, as shares of the picture's.
    area
        Share of the picture that it covers.
    crosses
        Edges over which it runs out of the picture: top, bottom, left, right.
    """

    plain: bool
    wide: float = 0.0
    high: float = 0.0
    area: float = 0.0
    crosses: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PhotoMeasures:
    """Numbers of one photograph.

    Attributes
    ----------
    width, height
        Pixels, upright.
    edge_width
        Of the sharpest edges, in pixels of a copy of 1600; None when there are too few.
    middle, high
        Median and 99th percentile of relative luminance, 0 to 1.
    clipped_high, clipped_low
        Share of pixels with a channel at its upper end, and of pixels that are black.
    framing
        How the subject lies in it; None where it was not measured.
    """

    width: int
    height: int
    edge_width: float | None
    middle: float
    high: float
    clipped_high: float
    clipped_low: float
    grey_row: GreyRow | None = None
    framing: Framing | None = None


@dataclass(frozen=True, slots=True)
class PhotoCare:
    """What to say of a photograph: faults, each with its remedy, and the measures behind them."""

    measures: PhotoMeasures
    faults: tuple[str, ...]
    px_per_mm: float | None

    @property
    def line(self) -> str:
        """One line of findings."""
        told = "; ".join(self.faults) if self.faults else "nothing to take again"
        one = self.measures
        edge = "not measurable" if one.edge_width is None else f"{one.edge_width:.1f} px"
        numbers = f"edges {edge}, clipped {one.clipped_high * 100:.1f} %, middle {one.middle:.2f}"
        scale = "" if self.px_per_mm is None else f", about {self.px_per_mm:.1f} px/mm"
        return f"care: {told} ({numbers}{scale})"

    def data(self) -> Mapping[str, Any]:
        """The findings as plain values."""
        one = self.measures
        return {
            "faults": list(self.faults),
            "edge_px": None if one.edge_width is None else round(one.edge_width, 3),
            "middle": round(one.middle, 4),
            "clipped_high": round(one.clipped_high, 5),
            "clipped_low": round(one.clipped_low, 5),
            "px_per_mm": None if self.px_per_mm is None else round(self.px_per_mm, 2),
            "grey_row": msgspec.to_builtins(one.grey_row),
        }


def care_of(
    measures: PhotoMeasures, *, light: str = "visible", slot: Slot | None = None
) -> PhotoCare:
    """Judge the numbers of a photograph against its purpose.

    Parameters
    ----------
    light
        As its entry says: under UV-A a dark frame with bright places is what is wanted.
    slot
        Its place in the photo plan, which says how much is in the frame and how fine it must be.
    """
    faults: list[str] = []
    if measures.edge_width is not None and measures.edge_width > MOST_EDGE_PX:
        faults.append("soft or shaken: focus again, use a tripod")
    if measures.clipped_high > MOST_CLIPPED:
        share = f"{measures.clipped_high:.1%}".replace("%", " %")
        faults.append(f"{share} burnt out: expose less, or turn the lamp away")
    faults += _exposure(measures, light)
    known = None
    if slot is not None and slot.covers_mm is not None and slot.px_per_mm is not None:
        known = max(measures.width, measures.height) / slot.covers_mm
        if known < RESOLUTION_SLACK * slot.px_per_mm:
            faults.append(
                f"too coarse for {slot.label}: about {known:.1f} px/mm where {slot.px_per_mm:g} "
                "are wanted; come nearer, or take more frames"
            )
    if measures.grey_row is not None:
        faults += _cast(measures.grey_row)
    return PhotoCare(measures, tuple(faults), known)


def _exposure(measures: PhotoMeasures, light: str) -> list[str]:
    if light == "UV-A":
        dark = measures.high < DARKEST_GLOW
        return ["hardly any glow: expose longer, or bring the lamp nearer"] if dark else []
    return ["dark: expose longer"] if measures.high < DARKEST else []


def _cast(row: GreyRow) -> list[str]:
    if row.red is None or row.blue is None or row.left_over is None:
        return ["no grey patch can be used, all clipped: expose less"]
    faults = []
    if max(abs(row.red - 1), abs(row.blue - 1)) > MOST_CAST:
        faults.append(
            f"white balance off: red needs × {row.red:.2f}, blue × {row.blue:.2f}; set it on grey"
        )
    if row.left_over > MOST_LEFT_OVER:
        share = f"{row.left_over:.0%}".replace("%", " %")
        faults.append(f"grey patches disagree by {share}: two kinds of light, or glare")
    return faults
