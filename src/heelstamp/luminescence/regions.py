"""From residuals to regions: connected places that differ from their own ring.

Hysteresis (Canny, IEEE TPAMI 8 (1986) 679-698) on the residual in units of its spread, held by what
is strong at one place or, weaker, over centimetres; the border
is then put where half of the region's own difference, in light, is reached. Each region is compared
with the ring of coat around it, so that what the coat model could not follow is seen in the ring
too. Places under about two millimetres across, and narrow strips along the rim, are not assessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import border, seen_colour, structure
from heelstamp.luminescence.coat_model import Coat, Residuals
from heelstamp.luminescence.linear import Float

Mask = NDArray[np.bool_]
HIGH, LOW = 5.0, 2.2
HIGH_CONTRAST, LOW_CONTRAST, LEAST_CONTRAST = 0.11, 0.045, 0.074
HUE_WEIGHT = 0.8
BROAD_MM, BROAD_HIGH = 4.0, 2.5
SMALLEST_MM2, THINNEST_MM = 3.0, 1.0
SMOOTH_MM = 0.4
LEAST_WIDTH_MM, THREAD_MM = 1.4, 2.6
STRIP_RIM_MM, STRIP_WIDTH_MM = 3.5, 5.0
"""Narrow strips along the rim are not assessed: of 36 on the tuning styles none was real; a rounded
edge that turns away from the lamp makes them."""
RING_MM = (1.0, 5.0)
EDGE_MM = 0.7
MANY = 400


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One region at the map's size, measured against its ring.

    ``contrast`` is the difference of medians of log luminance, log R/G and log B/G; ``clearness``
    its length in units of the ring's own spread; ``edge`` the share of the contrast that is crossed
    within 0.7 mm of the border either side; ``straight`` area over that of the smallest upright or
    turned rectangle; ``rim_mm`` the median distance to the outline; ``heart`` the region less its
    border, ``ring`` the coat around that it is compared with.
    """

    box: tuple[slice, slice]
    mask: Mask
    contrast: NDArray[np.float64]
    clearness: float
    edge: float
    surrounded: float
    straight: float
    colour: seen_colour.SeenColour
    rim_mm: float
    area_mm2: float
    width_mm: float
    uneven: float
    plain_only: bool
    border: border.Border
    heart: Mask
    ring: Mask


def find(
    left: Residuals, coat: Coat, lab: Float, per_mm: float, *, plain_only: bool = False
) -> list[Candidate]:
    """The candidates, largest first.

    Parameters
    ----------
    left
        Residuals of the coat model.
    coat
        Geometry at the same size.
    lab
        Visible colour at the same size.
    per_mm
        Map pixels per millimetre; when assumed, so are all lengths here.
    plain_only
        Marks candidates of the fit without visible colour.
    """
    field = _Field(left, coat, lab, per_mm)
    low, high = field.low, field.high
    dark = field.smooth[..., 0] < -0.03
    found: list[Candidate] = []
    for side in (dark, ~dark):
        for box, component in _components(low & side, high & side, per_mm):
            grown = field.grown(box, component)
            if grown is None:
                continue
            measured = field.measured(*grown, plain_only=plain_only)
            if measured is not None:
                field.taken[measured.box] |= measured.mask
                found.append(measured)
    return sorted(found, key=lambda c: -c.area_mm2)


def _components(low: Mask, high: Mask, per_mm: float) -> list[tuple[tuple[slice, slice], Mask]]:
    """Boxes and masks of low components that hold a high pixel, thin ones opened away."""
    radius = max(1, round(THINNEST_MM * per_mm / 2))
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius + 1, 2 * radius + 1))
    opened = cv2.morphologyEx(low.astype(np.uint8), cv2.MORPH_OPEN, disc)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(opened, connectivity=8)
    held = np.bincount(labels[high], minlength=count)
    held[0] = 0
    least = max(12.0, SMALLEST_MM2 * per_mm**2)
    chosen = [k for k in np.argsort(-stats[:, cv2.CC_STAT_AREA]) if held[k] > 0.1 * least]
    boxes = []
    for k in chosen[:MANY]:
        if stats[k, cv2.CC_STAT_AREA] < 0.6 * least:
            continue
        x, y, w, h = (int(v) for v in stats[k, :4])
        box = slice(y, y + h), slice(x, x + w)
        boxes.append((box, labels[box] == k))
    return boxes


def _widened(
    box: tuple[slice, slice], by: int, shape: tuple[int, ...]
) -> tuple[tuple[slice, slice], tuple[slice, slice]]:
    """The box widened within the frame, and where the old one lies in it."""
    y0, x0 = max(0, box[0].start - by), max(0, box[1].start - by)
    y1, x1 = min(shape[0], box[0].stop + by), min(shape[1], box[1].stop + by)
    inner = (slice(box[0].start - y0, box[0].stop - y0), slice(box[1].start - x0, box[1].stop - x0))
    return (slice(y0, y1), slice(x0, x1)), inner


def _filled(mask: Mask) -> Mask:
    """Fill holes smaller than a tenth of the region."""
    outside = (~np.pad(mask, 1)).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(outside, connectivity=4)
    small = [
        k
        for k in range(1, count)
        if k != labels[0, 0] and stats[k, cv2.CC_STAT_AREA] < 0.1 * np.count_nonzero(mask)
    ]
    return mask | np.isin(labels, small)[1:-1, 1:-1] if small else mask


def contrast_size(contrast: NDArray[np.floating[Any]]) -> float:
    """One number for how far the glow differs: log light, and 0.8 of the larger hue ratio."""
    return float(np.hypot(contrast[0], HUE_WEIGHT * np.abs(contrast[1:]).max()))


def _mostly_light(contrast: NDArray[np.floating[Any]]) -> bool:
    light = abs(float(contrast[0]))
    return light >= 0.1 and light >= 0.5 * float(np.abs(contrast[1:]).max())


def _half_way(core: NDArray[np.floating[Any]]) -> float:
    """The share of the log contrast that is reached where half of the coat is changed.

    Half of a glow ratio r is (1 + r) / 2, whose logarithm is not half of log r.
    """
    if not _mostly_light(core):
        return 0.5
    light = float(core[0])
    return float(np.clip(np.log((1 + np.exp(light)) / 2) / light, 0.28, 0.62))


def _mixed(along: Float, contrast: NDArray[np.floating[Any]]) -> Float:
    """The share of changed coat for shares of the log contrast."""
    if not _mostly_light(contrast):
        return along
    light = np.float32(contrast[0])
    return np.asarray(np.expm1(np.clip(along, -1, 2) * light) / np.expm1(light), dtype=np.float32)


class _Field:
    """Smoothed residuals with what is needed to grow and to measure regions on them."""

    def __init__(self, left: Residuals, coat: Coat, lab: Float, per_mm: float) -> None:
        self.left, self.coat, self.lab, self.per_mm = left, coat, lab, per_mm
        sigma = max(0.6, SMOOTH_MM * per_mm)
        weight = structure.blurred(coat.inside.astype(np.float32), sigma)
        smooth = structure.blurred(left.values, sigma) / np.maximum(weight, 0.05)[..., None]
        self.smooth: Float = np.asarray(smooth * coat.inside[..., None], dtype=np.float32)
        scaled = self.smooth / left.spread.astype(np.float32)
        squared, size = scaled * scaled, np.abs(self.smooth)
        # channel by channel: along a short axis numpy takes its time
        summed = squared[..., 0] + squared[..., 1] + squared[..., 2]
        z = np.sqrt(summed / np.float32(3.0) * np.float32(1.5)) / left.rim_factor
        size = np.maximum(size[..., 0], HUE_WEIGHT * np.maximum(size[..., 1], size[..., 2]))
        self.low: Mask = (z > LOW) & (size > LOW_CONTRAST) & coat.inside
        broad = self._broad(weight)
        strong = (z > HIGH) & (size > HIGH_CONTRAST)
        self.high: Mask = (strong | (broad & (z > LOW))) & coat.inside
        self.taken: Mask = np.zeros(coat.inside.shape, bool)

    def _broad(self, weight: Float) -> Mask:
        """Where the light differs weakly, but over centimetres: a veil, or a pale shadow."""
        step = max(1, round(0.8 * self.per_mm))
        small = self.smooth[::step, ::step, 0] * weight[::step, ::step]
        sigma = BROAD_MM * self.per_mm / step
        under = structure.blurred(np.ascontiguousarray(weight[::step, ::step]), sigma)
        calm = structure.blurred(np.ascontiguousarray(small), sigma) / np.maximum(under, 0.2)
        differs = np.abs(calm) > max(HIGH_CONTRAST, BROAD_HIGH * float(self.left.spread[0]))
        whole = cv2.resize(
            differs.astype(np.uint8), weight.shape[::-1], interpolation=cv2.INTER_NEAREST
        )
        return np.asarray(whole > 0, dtype=bool)

    def grown(
        self, box: tuple[slice, slice], component: Mask
    ) -> tuple[tuple[slice, slice], Mask] | None:
        """Put the border where half of the component's own difference is reached."""
        wide, inner = _widened(box, max(3, round(2 * self.per_mm)), self.coat.inside.shape)
        values, spread = self.smooth[wide], self.left.spread.astype(np.float32)
        here = np.zeros(values.shape[:2], bool)
        here[inner] = component
        strength = np.sqrt(((values / spread) ** 2).sum(axis=2))
        inside = strength[here]
        core = np.median(values[here][inside >= np.percentile(inside, 35)], axis=0)
        direction = core / spread**2
        along = (values @ direction) / max(float(core @ direction), 1e-9)
        reach = cv2.dilate(
            here.astype(np.uint8),
            np.ones((5, 5), np.uint8),
            iterations=max(1, round(0.5 * self.per_mm)),
        )
        grown = (
            (along > _half_way(core)) & (reach > 0) & self.coat.inside[wide] & ~self.taken[wide]
        ).astype(np.uint8)
        grown = cv2.morphologyEx(grown, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
        count, labels, stats, _ = cv2.connectedComponentsWithStats(grown, connectivity=8)
        if count < 2:
            return None
        shared = np.bincount(labels[here], minlength=count)
        shared[0] = 0
        k = int(shared.argmax())
        if stats[k, cv2.CC_STAT_AREA] < max(12.0, SMALLEST_MM2 * self.per_mm**2):
            return None
        return wide, _filled(labels == k) & self.coat.inside[wide]

    def measured(
        self, box: tuple[slice, slice], mask: Mask, *, plain_only: bool
    ) -> Candidate | None:
        """Compare a region with its ring."""
        outer = round(RING_MM[1] * self.per_mm) + 2
        wide, inner = _widened(box, outer, self.coat.inside.shape)
        here = np.zeros((wide[0].stop - wide[0].start, wide[1].stop - wide[1].start), bool)
        here[inner] = mask
        away = cv2.distanceTransform((~here).astype(np.uint8), cv2.DIST_L2, 3) / self.per_mm
        deep = cv2.distanceTransform(np.pad(here, 1).astype(np.uint8), cv2.DIST_L2, 3)[1:-1, 1:-1]
        deep = np.asarray(deep, dtype=np.float32) / self.per_mm
        band = (away > RING_MM[0]) & (away < RING_MM[1])
        ring = band & self.coat.inside[wide]
        calm = ring & ~self.low[wide]
        if np.count_nonzero(calm) < 30:
            calm = ring
        if np.count_nonzero(calm) < 12:
            return None
        values = self.smooth[wide]
        beside = np.median(values[calm], axis=0).astype(float)
        width = 2 * float(deep.max())
        if width < LEAST_WIDTH_MM or (
            width < THREAD_MM and np.count_nonzero(here) > 5 * (width * self.per_mm) ** 2
        ):
            return None
        rim_mm = float(np.median(self.coat.rim[wide][here]))
        if rim_mm < STRIP_RIM_MM and width < STRIP_WIDTH_MM:
            return None
        heart = here & (deep >= min(0.6, 0.3 * width))
        middle = np.median(values[heart], axis=0).astype(float)
        contrast = middle - beside
        if contrast_size(contrast) < LEAST_CONTRAST:
            return None
        noise = 1.4826 * np.median(np.abs(values[calm] - beside), axis=0)
        unit = np.sqrt((0.5 * self.left.spread) ** 2 + noise.astype(float) ** 2)
        direction = contrast / unit**2
        total = max(float(contrast @ direction), 1e-9)
        along = ((values - beside) @ direction.astype(np.float32)) / total
        near_in = here & (deep < EDGE_MM + 0.3) & (deep > 0.3)
        near_out = (away < EDGE_MM + 0.3) & (away > 0.3) & self.coat.inside[wide]
        edge, mixed = 0.0, _mixed(along, contrast)
        if near_in.any() and near_out.any():
            edge = float(np.clip(np.median(mixed[near_in]) - np.median(mixed[near_out]), 0, 1))
        contour = max(
            cv2.findContours(here.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0],
            key=len,
        )
        around = cv2.minAreaRect(contour)[1]
        area = float(np.count_nonzero(here))
        free = self.coat.inside & ~self.low
        colour = seen_colour.compare(self.lab, free, heart, calm, at=(wide[0].start, wide[1].start))
        return Candidate(
            box=wide,
            mask=here,
            contrast=contrast,
            clearness=float(np.sqrt(total)),
            edge=edge,
            surrounded=float(np.count_nonzero(calm & (np.abs(along) < 0.5)) / max(1, band.sum())),
            straight=min(1.0, area / max(1.0, (around[0] + 1) * (around[1] + 1))),
            colour=colour,
            rim_mm=rim_mm,
            area_mm2=area / self.per_mm**2,
            width_mm=width,
            uneven=float(1.4826 * np.median(np.abs(along[heart] - 1.0))),
            plain_only=plain_only,
            border=border.look_at(
                here,
                mixed,
                self.coat.inside[wide],
                np.minimum(self.coat.rim[wide], self.coat.part[wide]),
                self.per_mm,
            ),
            heart=heart,
            ring=calm,
        )
