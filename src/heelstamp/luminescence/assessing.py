"""From a pair of photographs to a verdict: the engine's front door.

Steps: gates that need no position, registration, masks, clipping, blur, stray light, fall-off, the
coat model with and without visible colour, regions, confidence, causes. Works on reduced copies:
2000 px for positions, ``MAP`` for regions. Accuracy holds for simulated pairs only
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
    linear,
    one_frame,
    outline,
    regions,
    registration,
    scale,
    sharpness,
    stray_light,
    structure,
    telling,
)
from heelstamp.luminescence.findings import Assessment, Doubt, Masks, Reason, Stage
from heelstamp.luminescence.linear import Bytes, Float

MAP = 1600
ASSUMED_BODY_MM = 430.0
PREVIEW = 480
NEAR_MASK_MM, NEAR_MASK_SHARE = 3.0, 0.05
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
    """Both photographs, linear and registered, at the map's size."""

    visible: Float
    uv: Float
    factor: float
    outline: Mask
    parts: Mask


def assess(
    visible: object,
    uv: object,
    *,
    masks: Masks | None = None,
    px_per_mm: float | scale.Scale | None = None,
    greys: Sequence[stray_light.GreyStandard] = (),
    points: Sequence[registration.PointPair] | None = None,
    progress: Progress | None = None,
) -> Assessment:
    """Judge a pair of photographs of one face.

    Parameters
    ----------
    visible, uv
        RGB arrays as taken (see ``linear.as_code_values``): ordinary light, and UV-A.
    masks
        Outline and parts in visible pixels; proposed from the visible photograph when None.
    px_per_mm
        Scale of the visible photograph; without it there are no areas.
    greys
        Standards that do not glow.
    points
        Four or more (visible, UV) point pairs, when the search for the position failed.
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
        second = linear.as_code_values(uv, "UV photograph")
    except linear.PhotographError as error:
        return _refused(Reason("no photograph", f"{error.where}: {error.what}", error.remedy))
    early = (
        gates.sizes(first, second)
        or gates.same_photograph(first, second)
        or _swapped(first, second)
    )
    if early is not None:
        return _refused(early, first.shape)
    return _Pair(first, second, known, tuple(greys), tell).assessed(masks, points)


def _refused(reason: Reason, frame: tuple[int, ...] = (0, 0)) -> Assessment:
    return Assessment("refused", (reason,), frame=(frame[0], frame[1]))


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


class _Pair:
    """One pair on its way through the steps."""

    def __init__(
        self,
        visible: Bytes,
        uv: Bytes,
        known: scale.Scale | None,
        greys: tuple[stray_light.GreyStandard, ...],
        tell: Progress,
    ) -> None:
        self.visible, self.uv, self.known, self.greys, self.tell = visible, uv, known, greys, tell
        self.limits: list[Reason] = []

    def assessed(
        self, masks: Masks | None, points: Sequence[registration.PointPair] | None
    ) -> Assessment:
        """Go through all steps; the first gate that fails ends it."""
        self.tell(Stage("finding the position", 0.1))
        if points is not None:
            found: registration.Registration | None = registration.from_points(
                self.visible, self.uv, points
            )
        else:
            found = registration.register(self.visible, self.uv, coarse_done=self._preview)
        base = Assessment(
            "refused", (), frame=(self.visible.shape[0], self.visible.shape[1]), registration=found
        )
        reason = gates.position(found, max(self.visible.shape))
        if found is not None and (reason is None or reason.code in gates.OR_BLURRED):
            reason = gates.blur(self._sharpness(found)) or reason
        if reason is not None or found is None:
            return replace(base, reasons=(reason or outline.NOT_FOUND,))
        if found.turned:
            self.limits.append(gates.TURNED)
        self.tell(Stage("finding the body", 0.4))
        chosen = masks or outline.propose(self.visible)
        base = replace(base, transform=found.transform, masks=chosen)
        if chosen is None:
            return replace(base, reasons=(outline.NOT_FOUND,))
        if masks is None:
            self.limits += [gates.PROPOSED_MASKS, outline.PROPOSAL_COSTS]
            base = replace(base, masks_proposed=True)
        return self._measured(base, chosen, found)

    def _measured(
        self, base: Assessment, masks: Masks, found: registration.Registration
    ) -> Assessment:
        """Run the gates that need the body, then the coat model."""
        maps = self._maps(masks, found)
        if self.known is None:
            self.limits.append(gates.NO_SCALE)
            per_mm = float(np.ptp(masks.outline, axis=0).max()) / ASSUMED_BODY_MM * maps.factor
        else:
            per_mm = self.known.px_per_mm * maps.factor
            base = replace(base, px_per_mm=self.known.px_per_mm)
        coat = coat_model.coat_geometry(maps.outline, maps.parts, per_mm)
        reason, maps, share = self._judged(maps, coat, found)
        base = replace(base, stray_share=share, limits=tuple(self.limits))
        if reason is not None:
            return replace(base, reasons=(reason,))
        self.tell(Stage("learning the coat", 0.6))
        considered = tuple(
            (one, confidence.confidence(one, stray_known=share is not None))
            for one in candidates.find_all(maps.visible, maps.uv, coat, per_mm)
        )
        self.tell(Stage("measuring regions", 0.9))
        chosen = [pair for pair in considered if pair[1] >= confidence.REPORTED]
        masks_given = not base.masks_proposed
        if base.masks_proposed:
            base, chosen = self._without_undrawn_parts(base, masks, chosen, maps.factor)
        claimed, doubts = self._claimed(chosen, maps, per_mm, drawn=masks_given)
        labels = np.zeros(coat.inside.shape, np.uint16)
        shown = []
        for number, (one, sure) in enumerate(claimed, start=1):
            labels[one.box][one.mask] = number
            bears = masks_given or not _touches_masks(one, coat)
            known = self.known if bears else None
            shown.append(telling.region(number, one, sure, maps.factor, known=known))
        self.tell(Stage("done", 1.0))
        return replace(
            base,
            verdict="assessed",
            limits=(*base.limits, gates.ONE_PLACE),
            regions=tuple(shown),
            doubts=doubts,
            labels=labels,
            label_scale=maps.factor,
            considered=considered,
            coat_px=float(np.count_nonzero(coat.inside)) / maps.factor**2,
            smallest_mm=one_frame.smallest_mm(per_mm) if self.known else None,
        )

    def _claimed(
        self, chosen: list[_Judged], maps: _Maps, per_mm: float, *, drawn: bool
    ) -> tuple[list[_Judged], tuple[Doubt, ...]]:
        """Part what the coat alone could have made from what light, shape or dust could have."""
        calm = structure.blurred(maps.visible, max(0.5, 0.25 * per_mm))
        claimed, doubts = [], []
        for one, sure in chosen:
            if one_frame.too_small(one, per_mm):
                continue
            why = one_frame.doubt(one, calm, maps.uv, drawn=drawn)
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
        uv, _ = structure.reduce_to(self.uv, PREVIEW)
        place = (
            structure.between(self.visible.shape, small.shape)
            @ coarse
            @ structure.between(uv.shape, self.uv.shape)
        )
        laid = cv2.warpPerspective(np.asarray(uv), place, small.shape[1::-1])
        self.tell(Stage("rough position", 0.25, np.asarray(laid, dtype=np.uint8)))

    def _maps(self, masks: Masks, found: registration.Registration) -> _Maps:
        small, factor = structure.reduce_to(self.visible, MAP)
        shape = small.shape
        uv, _ = structure.reduce_to(self.uv, MAP)
        place = (
            structure.between(self.visible.shape, shape)
            @ found.transform
            @ structure.between(uv.shape, self.uv.shape)
        )
        laid = cv2.warpPerspective(
            linear.decode(np.asarray(uv, dtype=np.uint8)),
            place,
            shape[1::-1],
            flags=cv2.INTER_LINEAR,
        )
        to_map = structure.between(self.visible.shape, shape)
        body = outline.filled(masks.outline, to_map, shape[:2])
        parts = np.zeros(shape[:2], bool)
        for _, polygon in masks.parts:
            parts |= outline.filled(polygon, to_map, shape[:2])
        h, w = uv.shape[:2]
        frame = np.array([(2, 2), (w - 3, 2), (w - 3, h - 3), (2, h - 3)], dtype=float)
        seen = outline.filled(frame, place, (shape[0], shape[1]))
        return _Maps(
            linear.decode(np.asarray(small, dtype=np.uint8)),
            np.asarray(laid, dtype=np.float32),
            factor,
            body & seen,
            parts,
        )

    def _judged(
        self, maps: _Maps, coat: coat_model.Coat, found: registration.Registration
    ) -> tuple[Reason | None, _Maps, float | None]:
        """Run the gates that need the body; give the maps with stray light taken away."""
        if np.count_nonzero(coat.inside) < 0.02 * coat.inside.size:
            return NO_COAT, maps, None
        to_uv = structure.between(self.visible.shape, maps.uv.shape)
        back = structure.between(self.uv.shape, maps.uv.shape)
        place = back @ np.linalg.inv(found.transform) @ np.linalg.inv(to_uv)
        inside_uv = cv2.warpPerspective(
            coat.inside.astype(np.uint8), place, maps.uv.shape[1::-1], flags=cv2.INTER_NEAREST
        ).astype(bool)
        reason = gates.clipping(gates.clipped_share(self.uv, inside_uv), "UV photograph")
        middle = float(np.median(linear.luminance(maps.uv)[coat.inside]))
        stray = stray_light.measure(maps.visible, maps.uv, self.greys, scale=maps.factor)
        share = None
        if stray is None:
            self.limits.append(gates.UNKNOWN_STRAY)
        else:
            share = stray_light.share_of_glow(maps.uv, maps.visible, stray, coat.inside)
            clean = stray_light.subtract(maps.uv, maps.visible, stray)
            maps = _Maps(maps.visible, clean, maps.factor, maps.outline, maps.parts)
        reason = (
            reason
            or gates.darkness(middle)
            or gates.stray(share)
            or gates.fall_off(self._lamp(maps, coat))
        )
        return reason, maps, share

    def _sharpness(self, found: registration.Registration) -> sharpness.Sharpness | None:
        small = [structure.reduce_to(one, registration.FINE)[0] for one in (self.visible, self.uv)]
        warp = (
            structure.between(self.uv.shape, small[1].shape)
            @ np.linalg.inv(found.transform)
            @ structure.between(small[0].shape, self.visible.shape)
        )
        return sharpness.compare(structure.grey(small[0]), structure.grey(small[1]), warp)

    def _lamp(self, maps: _Maps, coat: coat_model.Coat) -> float:
        """P98 over p2 of the glow smoothed over about 25 mm: the lamp, not the patches."""
        step = 8
        inside = coat.inside[::step, ::step].astype(np.float32)
        glow = linear.luminance(maps.uv)[::step, ::step] * inside
        sigma = max(inside.shape) / 20
        weight = cv2.GaussianBlur(inside, (0, 0), sigma)
        smooth = cv2.GaussianBlur(glow, (0, 0), sigma) / np.maximum(weight, 1e-3)
        low, high = np.percentile(smooth[inside > 0], (2, 98)) if (inside > 0).any() else (1, 1)
        return float(high / max(low, 1e-4))
