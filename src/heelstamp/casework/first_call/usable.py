"""Whether a picture that was sent can be used for its frame: sharp, lit, framed, fine enough.

Each is judged from what was measured on its pixels, and told with the measure and what to do. What
the picture shows is not looked at: whoever sent it says so. Limits of sharpness and light are
those of `heelstamp.casework.photo_care`; those of framing and of fineness are judgement, no
source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from heelstamp.casework.first_call.asked import FrameAsked
from heelstamp.casework.photo_care import (
    DARKEST,
    MOST_CLIPPED,
    MOST_EDGE_PX,
    RESOLUTION_SLACK,
    Framing,
    PhotoMeasures,
)
from heelstamp.wording.sentences import listed

FILLS_WHOLE, FILLS_PART = 0.6, 0.2
"""Share of a side that a whole instrument should span, of the area that a detail should cover."""
LEAST_MIDDLE = 0.02
"""Median of light below which most of the picture is black (judgement)."""

Verdict = Literal["good", "fault", "cannot tell"]


@dataclass(frozen=True, slots=True)
class Judged:
    """One judgement of a picture.

    Attributes
    ----------
    of
        ``sharp``, ``lit``, ``framed`` or ``scale``.
    measure
        What was measured, with its unit and limit.
    remedy
        What to do; empty where it is good.
    """

    of: str
    verdict: Verdict
    measure: str
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class Usable:
    """Everything judged of one picture."""

    judged: tuple[Judged, ...]

    @property
    def usable(self) -> bool:
        """Whether nothing is at fault; what cannot be told is none."""
        return all(one.verdict != "fault" for one in self.judged)

    @property
    def remedies(self) -> tuple[str, ...]:
        """What to do, for each fault."""
        return tuple(one.remedy for one in self.judged if one.verdict == "fault")


def judge_picture(measures: PhotoMeasures, asked: FrameAsked) -> Usable:
    """Judge a picture for the frame that it is said to be."""
    return Usable(
        (_sharp(measures), _lit(measures), _framed(measures, asked), _scale(measures, asked))
    )


def _sharp(one: PhotoMeasures) -> Judged:
    if one.edge_width is None:
        return Judged("sharp", "cannot tell", "too few edges to measure", "")
    measure = f"edges {one.edge_width:.1f} px wide, at most {MOST_EDGE_PX:g} wanted"
    if one.edge_width > MOST_EDGE_PX:
        remedy = "Soft or shaken: tap on the place to focus, lean the telephone on something."
        return Judged("sharp", "fault", measure, remedy)
    return Judged("sharp", "good", measure)


def _lit(one: PhotoMeasures) -> Judged:
    burnt = f"{one.clipped_high * 100:.1f} % burnt out, at most {MOST_CLIPPED * 100:g} % wanted"
    if one.clipped_high > MOST_CLIPPED:
        remedy = "Burnt out: no flash, turn away from the sun or the lamp."
        return Judged("lit", "fault", burnt, remedy)
    if one.high < DARKEST or one.middle < LEAST_MIDDLE:
        measure = f"brightest hundredth at {one.high:.2f} of white, at least {DARKEST:g} wanted"
        if one.high >= DARKEST:
            measure = f"middle at {one.middle:.3f} of white, at least {LEAST_MIDDLE:g} wanted"
        return Judged("lit", "fault", measure, "Too dark: go to a window, by day.")
    return Judged("lit", "good", f"{burnt}; middle at {one.middle:.2f} of white")


def _framed(one: PhotoMeasures, asked: FrameAsked) -> Judged:
    lies = one.framing
    if lies is None or not lies.plain:
        told = "the ground is not of one colour: look at it yourself"
        return Judged("framed", "cannot tell", told)
    if not lies.area:
        remedy = "Nothing stands out from the ground: lay it on a cloth of another colour."
        return Judged("framed", "cannot tell", "nothing differs from the ground", remedy)
    return _whole(lies) if asked.whole else _detail(lies)


def _whole(lies: Framing) -> Judged:
    spans = max(lies.wide, lies.high)
    measure = f"spans {spans * 100:.0f} % of the picture, {FILLS_WHOLE * 100:.0f} % wanted"
    if lies.crosses:
        measure += f"; runs out at the {listed(list(lies.crosses))}"
        return Judged("framed", "fault", measure, "Cut off: step back until all of it is in.")
    if spans < FILLS_WHOLE:
        return Judged("framed", "fault", measure, "Small in the picture: come nearer.")
    return Judged("framed", "good", measure)


def _detail(lies: Framing) -> Judged:
    measure = f"covers {lies.area * 100:.0f} % of the picture, {FILLS_PART * 100:.0f} % wanted"
    if lies.area < FILLS_PART:
        return Judged("framed", "fault", measure, "Small in the picture: come nearer.")
    return Judged("framed", "good", measure)


def _scale(one: PhotoMeasures, asked: FrameAsked) -> Judged:
    longer = max(one.width, one.height)
    lies = one.framing
    across, basis = float(longer), f"if the picture holds {asked.across_mm:g} mm"
    if asked.whole and lies is not None and lies.plain and lies.area and not lies.crosses:
        across = max(lies.wide * one.width, lies.high * one.height)
        basis = f"if the subject is about {asked.across_mm:g} mm long"
    found = across / asked.across_mm
    measure = f"about {found:.1f} px/mm {basis}; {asked.px_per_mm:g} wanted"
    if found < RESOLUTION_SLACK * asked.px_per_mm:
        remedy = "Too coarse: send the file itself as the telephone took it, or come nearer."
        return Judged("scale", "fault", measure, remedy)
    return Judged("scale", "good", measure)
