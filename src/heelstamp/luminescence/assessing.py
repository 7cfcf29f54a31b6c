"""From photographs of one face to a verdict: the engine's front door.

One visible photograph, and a UV-A frame for each place of the lamp. Steps: gates that need no
position, registration, masks, clipping, blur, stray light, fall-off, the coat model with and
without visible colour, regions, confidence; then what may be claimed, from one frame
(``one_frame``) or from several (``moved_lamp``). Accuracy holds for simulated pairs only
(``docs/methods/luminescence.md``).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import (
    candidates,
    coat_model,
    confidence,
    gates,
    lamp_direction,
    linear,
    moved_lamp,
    one_frame,
    outline,
    positions,
    regions,
    registration,
    scale,
    stray_light,
    structure,
    telling,
)
from heelstamp.luminescence.drawn import Drawn
from heelstamp.luminescence.findings import Assessment, Doubt, Masks, Reason, Stage
from heelstamp.luminescence.linear import Bytes, Float
from heelstamp.luminescence.uv_frame import MAP, UvFrame, lamp_range

ASSUMED_BODY_MM = 430.0
PREVIEW = 480
NEAR_MASK_MM, NEAR_MASK_SHARE = 3.0, 0.05
MOST_FRAMES = 3
NO_COAT = Reason(
    "no coat left",
    "outline less parts leaves too little of the body",
    "Draw the outline of the body and the parts on it anew.",
)

Mask = NDArray[np.bool_]
Progress = Callable[[Stage], None]
_Judged = tuple[regions.Candidate, float]


@dataclass(frozen=True, slots=True, eq=False)
class _Maps:
    """Visible light and the glow for each place of the lamp, linear and registered, map's size."""

    visible: Float
    frames: tuple[Float, ...]
    factor: float
    coat: coat_model.Coat
    per_mm: float
    differences: tuple[Float, ...] = ()
    lamp_from: tuple[lamp_direction.Direction | None, ...] = ()

    @property
    def glow(self) -> Float:
        """What candidates are looked for in: the frame, or the mean of several."""
        if len(self.frames) == 1:
            return self.frames[0]
        return moved_lamp.mean_frame(self.frames, self.coat)


def assess(
    visible: object,
    uv: object,
    *,
    further: Sequence[object] = (),
    flats: Sequence[object] = (),
    brushed: bool = False,
    masks: Masks | None = None,
    px_per_mm: float | scale.Scale | None = None,
    greys: Sequence[stray_light.GreyStandard] = (),
    points: Sequence[registration.PointPair] | None = None,
    progress: Progress | None = None,
) -> Assessment:
    """Judge the photographs of one face.

    Parameters
    ----------
    visible, uv
        RGB arrays as taken (see ``linear.as_code_values``): ordinary light, and UV-A.
    further
        One or two UV-A frames more: the lamp on the opposite side, then at a right angle.
    flats
        An even glowing sheet for each UV-A frame in turn, same place of the lamp; or none.
    brushed
        The surface was brushed between the UV-A frames.
    masks
        Outline and parts in visible pixels; proposed from the visible photograph when None.
    px_per_mm
        Scale of the visible photograph; without it there are no areas.
    greys
        Standards that do not glow.
    points
        Four or more (visible, UV) point pairs of the first UV-A frame, when the search for the
        position failed.
    progress
        Called with each stage; one early stage carries a preview.

    Returns
    -------
    Assessment
        Refused with reasons, or assessed with regions. Arrays that are no photographs are
        refused, not raised.

    Raises
    ------
    InputError
        Masks, scale, standards or points that are impossible in themselves.
    """
    known = (
        None
        if px_per_mm is None
        else (px_per_mm if isinstance(px_per_mm, scale.Scale) else scale.given(px_per_mm))
    )
    tell = progress or (lambda _stage: None)
    tell(Stage("reading", 0.0))
    try:
        first = linear.as_code_values(visible, "visible photograph")
        glowing = [
            linear.as_code_values(one, name)
            for one, name in zip((uv, *further), positions.NAMES, strict=False)
        ]
        even = [linear.as_code_values(one, "flat frame") for one in flats]
    except linear.PhotographError as error:
        return _refused(Reason("no photograph", f"{error.where}: {error.what}", error.remedy))
    early = (
        _count(1 + len(further), len(even))
        or positions.sizes(glowing, even)
        or next((bad for one in glowing if (bad := _early(first, one)) is not None), None)
    )
    if early is not None:
        return _refused(early, first.shape)
    frames = tuple(UvFrame(first, one, even[k] if even else None) for k, one in enumerate(glowing))
    face = _Face(first, frames, known, tuple(greys), tell)
    face.brushed, face.listened = brushed, progress is not None
    return face.assessed(masks, points)


def _refused(reason: Reason, frame: tuple[int, ...] = (0, 0)) -> Assessment:
    return Assessment("refused", (reason,), frame=(frame[0], frame[1]))


def _count(frames: int, flats: int) -> Reason | None:
    if frames > MOST_FRAMES:
        return Reason(
            "too many frames",
            f"{frames} UV-A frames were handed in",
            "Hand in two with the lamp on opposite sides, and at most one at a right angle.",
        )
    if flats not in (0, frames):
        return Reason(
            "a flat frame is missing",
            f"{flats} flat frames for {frames} UV-A frames",
            "Photograph the even sheet once for each place of the lamp, or hand in none.",
        )
    return None


def _early(visible: Bytes, uv: Bytes) -> Reason | None:
    return gates.sizes(visible, uv) or gates.same_photograph(visible, uv) or _swapped(visible, uv)


def _swapped(visible: Bytes, uv: Bytes) -> Reason | None:
    small = [structure.reduce_to(image, 200)[0] for image in (visible, uv)]
    shares = [gates.border_share(linear.decode(np.asarray(one, dtype=np.uint8))) for one in small]
    return gates.swapped(shares[0], shares[1])


def _touches_masks(one: regions.Candidate, coat: coat_model.Coat) -> bool:
    """Say whether a region's border runs along a mask's edge, so that the mask cuts its area."""
    border = one.mask & ~cv2.erode(one.mask.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(
        bool
    )
    nearest = np.minimum(coat.rim[one.box], coat.part[one.box])[border]
    return bool((nearest < NEAR_MASK_MM).mean() > NEAR_MASK_SHARE) if nearest.size else False


class _Face:
    """One face on its way through the steps."""

    def __init__(
        self,
        visible: Bytes,
        frames: tuple[UvFrame, ...],
        known: scale.Scale | None,
        greys: tuple[stray_light.GreyStandard, ...],
        tell: Progress,
    ) -> None:
        self.visible, self.frames, self.known, self.greys = visible, frames, known, greys
        self.tell, self.brushed, self.listened = tell, False, True
        self.limits: list[Reason] = []

    def assessed(
        self, masks: Masks | None, points: Sequence[registration.PointPair] | None
    ) -> Assessment:
        """Go through all steps; the first gate that fails ends it."""
        self.tell(Stage("finding the position", 0.1))
        chosen = masks or outline.propose(self.visible)
        known = None
        if chosen is not None:
            known = Drawn(chosen.outline, tuple(polygon for _, polygon in chosen.parts))
        shown = self._preview if self.listened else None  # a preview is made for who is told
        placed = positions.place(self.frames, points, drawn=known, coarse_done=shown)
        found = placed.registration
        base = Assessment(
            "refused",
            (),
            frame=(self.visible.shape[0], self.visible.shape[1]),
            registration=found,
            places=len(self.frames),
            brushed=self.brushed,
        )
        if placed.reason is not None or found is None:
            return replace(base, reasons=(placed.reason or outline.NOT_FOUND,))
        if found.turned:
            self.limits.append(gates.TURNED)
        self.tell(Stage("finding the body", 0.4))
        base = replace(
            base, transform=placed.transforms[0], transforms=placed.transforms, masks=chosen
        )
        if chosen is None:
            return replace(base, reasons=(outline.NOT_FOUND,))
        if masks is None:
            self.limits += [gates.PROPOSED_MASKS, outline.PROPOSAL_COSTS]
            base = replace(base, masks_proposed=True)
        return self._measured(base, chosen, placed)

    def _measured(self, base: Assessment, masks: Masks, placed: positions.Placed) -> Assessment:
        """Run the gates that need the body, then the coat model."""
        factor = structure.reduction(self.visible.shape, MAP)
        if self.known is None:
            self.limits.append(gates.NO_SCALE)
            per_mm = float(np.ptp(masks.outline, axis=0).max()) / ASSUMED_BODY_MM * factor
        else:
            per_mm = self.known.px_per_mm * factor
            base = replace(base, px_per_mm=self.known.px_per_mm)
        reason, maps, share = self._mapped(masks, placed, per_mm)
        base = replace(base, stray_share=share, limits=tuple(self.limits))
        if maps is not None:
            told = tuple(None if one is None else round(one.degrees) for one in maps.lamp_from)
            base = replace(base, lamp_from=told)
        if reason is not None or maps is None:
            return replace(base, reasons=(reason or NO_COAT,))
        self.tell(Stage("learning the coat", 0.6))
        glow = maps.glow
        considered = tuple(
            (one, confidence.confidence(one, stray_known=share is not None))
            for one in candidates.find_all(maps.visible, glow, maps.coat, per_mm)
        )
        self.tell(Stage("measuring regions", 0.9))
        least = confidence.REPORTED if len(maps.frames) == 1 else confidence.REPORTED_MOVED
        chosen = [pair for pair in considered if pair[1] >= least]
        masks_given = not base.masks_proposed
        if base.masks_proposed:
            base, chosen = self._without_undrawn_parts(base, masks, chosen, maps.factor)
        claimed, doubts = self._claimed(chosen, maps, glow, drawn=masks_given)
        labels = np.zeros(maps.coat.inside.shape, np.uint16)
        shown = []
        for number, (one, sure) in enumerate(claimed, start=1):
            labels[one.box][one.mask] = number
            bears = masks_given or not _touches_masks(one, maps.coat)
            known = self.known if bears else None
            shown.append(telling.region(number, one, sure, maps.factor, known=known))
        base = self._unevenly(base, maps)
        self.tell(Stage("done", 1.0))
        return replace(
            base,
            verdict="assessed",
            regions=tuple(shown),
            doubts=doubts,
            labels=labels,
            label_scale=maps.factor,
            considered=considered,
            coat_px=float(np.count_nonzero(maps.coat.inside)) / maps.factor**2,
            smallest_mm=one_frame.smallest_mm(per_mm) if self.known else None,
        )

    def _mapped(
        self, masks: Masks, placed: positions.Placed, per_mm: float
    ) -> tuple[Reason | None, _Maps | None, float | None]:
        """Lay all frames down, take stray light away, and run the gates that need the body."""
        small, factor = structure.reduce_to(self.visible, MAP)
        shape = (small.shape[0], small.shape[1])
        visible = linear.decode(np.asarray(small, dtype=np.uint8))
        to_map = structure.between(self.visible.shape, small.shape)
        body = outline.filled(masks.outline, to_map, shape)
        parts = np.zeros(shape, bool)
        for _, polygon in masks.parts:
            parts |= outline.filled(polygon, to_map, shape)
        laid = []
        for frame, transform in zip(self.frames, placed.transforms, strict=True):
            light, seen = frame.laid(transform, shape)
            laid.append(light)
            body &= seen
        coat = coat_model.coat_geometry(body, parts, per_mm)
        if np.count_nonzero(coat.inside) < 0.02 * coat.inside.size:
            return NO_COAT, None, None
        clean = [
            frame.cleaned(light, visible, coat, transform, greys=self.greys, factor=factor)
            for frame, light, transform in zip(self.frames, laid, placed.transforms, strict=True)
        ]
        share = clean[0].stray_share
        if share is None:
            self.limits.append(gates.UNKNOWN_STRAY)
        for name, one in zip(positions.NAMES, clean, strict=False):
            if one.reason is not None:
                return positions.of_frame(one.reason, name, len(clean)), None, share
        frames = tuple(one.uv for one in clean)
        level = frames[0] if len(frames) == 1 else moved_lamp.mean_frame(frames, coat)
        reason = gates.fall_off(lamp_range(level, coat))
        if reason is not None:
            return reason, None, share
        logs = [moved_lamp.log_frame(one, per_mm) for one in frames]
        lamp_from = tuple(lamp_direction.towards(one[..., 0], coat) for one in logs)
        maps = _Maps(visible, frames, factor, coat, per_mm, (), lamp_from)
        if len(frames) == 1:
            self.limits.append(gates.ONE_PLACE)
            return None, maps, share
        levels = [float(np.median(linear.luminance(one)[coat.inside])) for one in frames]
        reason = moved_lamp.other_exposure(levels) or moved_lamp.not_moved(lamp_from)
        flats = self.frames[0].flat is not None
        differences = moved_lamp.light_differences(logs, coat, flats=flats)
        return reason, replace(maps, differences=differences), share

    def _unevenly(self, base: Assessment, maps: _Maps) -> Assessment:
        """Say how much of the coat the frames light too differently to be compared."""
        if not maps.differences:
            return base
        count = int(np.count_nonzero(moved_lamp.lit_unevenly(maps.differences, maps.coat)))
        untested = float(count) / maps.factor**2
        area = None if self.known is None else untested / self.known.px_per_mm**2 / 100.0
        share = count / max(int(np.count_nonzero(maps.coat.inside)), 1)
        limits = (*base.limits, gates.lit_unevenly(share, area)) if count else base.limits
        return replace(base, untested_px=untested, limits=limits)

    def _claimed(
        self, chosen: list[_Judged], maps: _Maps, glow: Float, *, drawn: bool
    ) -> tuple[list[_Judged], tuple[Doubt, ...]]:
        """Part what the coat alone could have made from what light, shape or dust could have."""
        calm = structure.blurred(maps.visible, max(0.5, 0.25 * maps.per_mm))
        claimed, doubts = [], []
        for one, sure in chosen:
            if one_frame.too_small(one, maps.per_mm):
                continue
            why = (
                moved_lamp.doubt(one, glow, maps.differences, brushed=self.brushed, drawn=drawn)
                if maps.differences
                else one_frame.doubt(one, calm, glow, drawn=drawn)
            )
            if why is None:
                claimed.append((one, sure))
            else:
                doubts.append(telling.doubt(one, why, maps.factor))
        return claimed, tuple(doubts)

    def _without_undrawn_parts(
        self, base: Assessment, masks: Masks, chosen: list[_Judged], factor: float
    ) -> tuple[Assessment, list[_Judged]]:
        """Move what may be a part that the proposal missed from the regions to the masks."""
        odd = [pair for pair in chosen if candidates.may_be_part(pair[0])]
        if not odd:
            return base, chosen
        drawn = [telling.region(0, one, sure, factor, known=None) for one, sure in odd]
        more = tuple((f"{outline.UNDRAWN}_{n}", r.polygon) for n, r in enumerate(drawn, start=1))
        limit = outline.may_be_parts([region.centre for region in drawn])
        wider = Masks(masks.outline, masks.parts + more)
        kept = [pair for pair in chosen if not candidates.may_be_part(pair[0])]
        return replace(base, masks=wider, limits=(*base.limits, limit)), kept

    def _preview(self, coarse: structure.Matrix) -> None:
        """Show the UV photograph laid roughly over the visible one."""
        small, _ = structure.reduce_to(self.visible, PREVIEW)
        uv, _ = structure.reduce_to(self.frames[0].uv, PREVIEW)
        place = (
            structure.between(self.visible.shape, small.shape)
            @ coarse
            @ structure.between(uv.shape, self.frames[0].uv.shape)
        )
        laid = cv2.warpPerspective(np.asarray(uv), place, small.shape[1::-1])
        self.tell(Stage("rough position", 0.25, np.asarray(laid, dtype=np.uint8)))
