"""Where the lamp stood, from one UV-A frame: the rounded rim is bright towards it.

The log light of a band along the rim, less that further in on the same normal, is regressed on the
outward normal: Lambert's cosine makes the coefficient point at the lamp. Where the rim tells too
little (square edges, parts all around), the fall-off over the face does: a lamp is nearer to the
side on which it stands.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.coat_model import Coat
from heelstamp.luminescence.linear import Float

Numbers = NDArray[np.float64]
NEAR_MM, FAR_MM = (1.3, 4.5), 9.0
PART_MM = 6.0
SAMPLES = 4000
BIWEIGHT, TURNS = 4.0, 15
ALIKE_PX = 40.0
"""Neighbours along a rim that count as one."""
SURE = 4.0
"""A direction counts from so many standard errors."""
LEAST = 60
ALIKE_DEGREES = 60.0
"""Rim and fall-off that differ by less are averaged; else the rim tells, as lamps are aimed."""


@dataclass(frozen=True, slots=True)
class Direction:
    """Degrees in the picture, 0 to the right, 90 downwards; how many errors it stands out by."""

    degrees: float
    errors: float


def towards(light: Float, coat: Coat) -> Direction | None:
    """Find the direction of the lamp.

    Parameters
    ----------
    light
        Log luminance of the glow over the map, smoothed against noise.
    coat
        Geometry at the same size.

    Returns
    -------
    Direction or None
        None when neither rim nor fall-off tells.
    """
    rim, fall = (_sure(one) for one in (_by_rim(light, coat), _by_fall_off(light, coat)))
    if rim is None or fall is None:
        return rim or fall
    if span(rim, fall) > ALIKE_DEGREES:
        return rim
    turn = (fall.degrees - rim.degrees + 180.0) % 360.0 - 180.0
    return Direction((rim.degrees + turn / 2.0) % 360.0, rim.errors)


def _sure(one: Direction | None) -> Direction | None:
    return one if one is not None and one.errors >= SURE else None


def span(one: Direction, other: Direction) -> float:
    """The angle between two directions, 0 to 180 degrees."""
    return abs((one.degrees - other.degrees + 180.0) % 360.0 - 180.0)


def _by_rim(light: Float, coat: Coat) -> Direction | None:
    band = coat.inside & (coat.rim > NEAR_MM[0]) & (coat.rim < NEAR_MM[1]) & (coat.part > PART_MM)
    ys, xs = np.nonzero(band)
    step = max(1, len(ys) // SAMPLES)
    ys, xs = ys[::step], xs[::step]
    nx, ny = coat.normal_x[ys, xs].astype(float), coat.normal_y[ys, xs].astype(float)
    inward = (FAR_MM + 1.0 - coat.rim[ys, xs].astype(float)) * coat.per_mm
    to_x = np.round(xs - inward * nx).astype(int)
    to_y = np.round(ys - inward * ny).astype(int)
    h, w = coat.inside.shape
    kept = (to_x >= 0) & (to_x < w) & (to_y >= 0) & (to_y < h)
    kept[kept] = (coat.inside & (coat.rim > FAR_MM) & (coat.part > PART_MM))[to_y[kept], to_x[kept]]
    if np.count_nonzero(kept) < LEAST:
        return None
    change = light[ys[kept], xs[kept]] - light[to_y[kept], to_x[kept]]
    design = np.column_stack([np.ones(len(change)), nx[kept], ny[kept]])
    return _fitted(design, change.astype(float), count=np.count_nonzero(band) / ALIKE_PX)


def _by_fall_off(light: Float, coat: Coat) -> Direction | None:
    ys, xs = np.nonzero(coat.inside & (coat.rim > FAR_MM) & (coat.part > PART_MM))
    step = max(1, len(ys) // SAMPLES)
    ys, xs = ys[::step], xs[::step]
    if len(ys) < LEAST:
        return None
    unit = max(coat.inside.shape) / 2.0
    x, y = (xs - xs.mean()) / unit, (ys - ys.mean()) / unit
    design = np.column_stack([np.ones(len(x)), x, y, x * x, x * y, y * y])
    return _fitted(design, light[ys, xs].astype(float), count=LEAST)


def _fitted(design: Numbers, target: Numbers, *, count: float) -> Direction | None:
    """The direction of the second and third coefficient of a biweight fit."""
    weights = np.ones(len(target))
    for _ in range(TURNS):
        weighted = design * weights[:, None]
        normal = design.T @ weighted + 1e-9 * np.eye(design.shape[1])
        found = np.linalg.solve(normal, weighted.T @ target)
        left = target - design @ found
        scale = max(1.4826 * float(np.median(np.abs(left))), 1e-4)
        weights = np.clip(1 - (left / (BIWEIGHT * scale)) ** 2, 0, None) ** 2
    errors = np.linalg.inv(normal)[1:3, 1:3] * scale**2 * len(target) / max(count, 1.0)
    size = float(np.hypot(found[1], found[2]))
    spread = float(np.sqrt(max(np.trace(errors) / 2, 1e-12)))
    return Direction(float(np.degrees(np.arctan2(found[2], found[1]))) % 360.0, size / spread)
