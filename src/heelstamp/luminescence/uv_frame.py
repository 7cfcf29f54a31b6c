"""One UV-A frame of a face: its position, its map laid over the visible one, and its gates.

A face has one such frame for each place of the lamp. All work on reduced copies: 2000 px for
positions, ``MAP`` for the map.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import (
    coat_model,
    gates,
    linear,
    outline,
    registration,
    sharpness,
    stray_light,
    structure,
)
from heelstamp.luminescence.drawn import Drawn
from heelstamp.luminescence.findings import Reason
from heelstamp.luminescence.linear import Bytes, Float
from heelstamp.luminescence.structure import Matrix

MAP = 1600
FALL_OFF_STEP = 8

Mask = NDArray[np.bool_]
Placed = tuple[registration.Registration | None, Reason | None]


@dataclass(frozen=True, slots=True, eq=False)
class Clean:
    """The glow of a frame at the map's size with stray light taken away, and its share."""

    uv: Float
    stray_share: float | None
    reason: Reason | None


@dataclass(frozen=True, slots=True, eq=False)
class UvFrame:
    """A UV-A frame beside the visible photograph that it belongs to.

    ``flat`` is an even glowing sheet photographed with the lamp at the same place, or None.
    """

    visible: Bytes
    uv: Bytes
    flat: Bytes | None = None

    def placed(
        self,
        points: Sequence[registration.PointPair] | None,
        coarse_done: Callable[[Matrix], None] | None = None,
        drawn: Drawn | None = None,
    ) -> Placed:
        """Find the position, and say why it cannot be used."""
        if points is not None:
            found: registration.Registration | None = registration.from_points(
                self.visible, self.uv, points, drawn=drawn
            )
        else:
            found = registration.register(
                self.visible, self.uv, drawn=drawn, coarse_done=coarse_done
            )
        reason = gates.position(found, max(self.visible.shape))
        if found is not None and (reason is None or reason.code in gates.OR_BLURRED):
            reason = self._blurred(found, drawn) or reason
        return found, reason

    def laid(self, transform: Matrix, shape: tuple[int, int]) -> tuple[Float, Mask]:
        """Linear UV light over the visible map, and where of it the frame saw anything."""
        uv, _ = structure.reduce_to(self.uv, MAP)
        place = self._to_map(transform, uv.shape, shape)
        light = linear.decode(np.asarray(uv, dtype=np.uint8))
        if self.flat is not None:
            light = light / self._flat_light(uv.shape)
        laid = cv2.warpPerspective(light, place, shape[::-1], flags=cv2.INTER_LINEAR)
        h, w = uv.shape[:2]
        frame = np.array([(2, 2), (w - 3, 2), (w - 3, h - 3), (2, h - 3)], dtype=float)
        return np.asarray(laid, dtype=np.float32), outline.filled(frame, place, shape)

    def cleaned(
        self,
        laid: Float,
        visible: Float,
        coat: coat_model.Coat,
        transform: Matrix,
        *,
        greys: Sequence[stray_light.GreyStandard],
        factor: float,
    ) -> Clean:
        """Take stray light away, and run the gates that need the body."""
        shape = (laid.shape[0], laid.shape[1])
        small = self._to_map(transform, self.uv.shape, shape)
        half = structure.between(self.uv.shape, shape)
        inside_uv = cv2.warpPerspective(
            coat.inside.astype(np.uint8),
            half @ np.linalg.inv(small),
            shape[::-1],
            flags=cv2.INTER_NEAREST,
        ).astype(bool)
        reason = gates.clipping(gates.clipped_share(self.uv, inside_uv), "UV photograph")
        if self.flat is not None and reason is None:
            whole = np.ones(inside_uv.shape, bool)
            reason = gates.clipping(gates.clipped_share(self.flat, whole), "flat frame")
        middle = self.brightness(inside_uv)
        stray = stray_light.measure(visible, laid, greys, scale=factor)
        share, clean = None, laid
        if stray is not None:
            share = stray_light.share_of_glow(laid, visible, stray, coat.inside)
            clean = stray_light.subtract(laid, visible, stray)
        return Clean(clean, share, reason or gates.darkness(middle) or gates.stray(share))

    def brightness(self, inside: Mask) -> float:
        """The middle linear luminance of the frame as taken, where *inside*, of any size, says."""
        small = cv2.resize(self.uv, inside.shape[::-1], interpolation=cv2.INTER_AREA)
        light = linear.luminance(linear.decode(np.asarray(small, dtype=np.uint8)))
        return float(np.median(light[inside])) if inside.any() else 0.0

    def _to_map(self, transform: Matrix, of: tuple[int, ...], shape: tuple[int, int]) -> Matrix:
        return np.asarray(
            structure.between(self.visible.shape, shape)
            @ transform
            @ structure.between(of, self.uv.shape)
        )

    def _flat_light(self, shape: tuple[int, ...]) -> Float:
        """The flat frame's light, blurred and of mean one, at the reduced frame's size."""
        assert self.flat is not None
        small = cv2.resize(self.flat, shape[1::-1], interpolation=cv2.INTER_AREA)
        light = linear.decode(np.asarray(small, dtype=np.uint8))
        calm = structure.blurred(light, max(shape) / FLAT_BLUR)
        even = np.maximum(calm / calm.mean(axis=(0, 1)), np.float32(FLAT_FLOOR))
        return np.asarray(even, dtype=np.float32)

    def _blurred(self, found: registration.Registration, drawn: Drawn | None) -> Reason | None:
        every = self._sharpness(found, None)
        reason = gates.blur(every)
        if reason is None or drawn is None or found.lamp_from is None or gates.clearly_soft(every):
            return reason
        return reason if gates.clearly_soft(self._sharpness(found, drawn)) else None

    def _sharpness(
        self, found: registration.Registration, drawn: Drawn | None
    ) -> sharpness.Sharpness | None:
        small = [structure.reduce_to(one, registration.FINE)[0] for one in (self.visible, self.uv)]
        warp = (
            structure.between(self.uv.shape, small[1].shape)
            @ np.linalg.inv(found.transform)
            @ structure.between(small[0].shape, self.visible.shape)
        )
        counts = None
        if drawn is not None and found.lamp_from is not None:
            h, w = small[0].shape[:2]
            bands = drawn.at(structure.between(self.visible.shape, (h, w))).bands((h, w))
            counts = bands.lit(found.lamp_from)
        return sharpness.compare(structure.grey(small[0]), structure.grey(small[1]), warp, counts)


FLAT_BLUR = 120.0
"""The flat frame is blurred by the long side over this: about 4 mm of a body that fills it."""
FLAT_FLOOR = 0.05


def lamp_range(uv: Float, coat: coat_model.Coat) -> float:
    """P98 over p2 of the glow smoothed over about 25 mm: the lamp, not the patches."""
    step = FALL_OFF_STEP
    inside = coat.inside[::step, ::step].astype(np.float32)
    glow = linear.luminance(uv)[::step, ::step] * inside
    sigma = max(inside.shape) / 20
    weight = cv2.GaussianBlur(inside, (0, 0), sigma)
    smooth = cv2.GaussianBlur(glow, (0, 0), sigma) / np.maximum(weight, 1e-3)
    low, high = np.percentile(smooth[inside > 0], (2, 98)) if (inside > 0).any() else (1, 1)
    return float(high / max(low, 1e-4))
