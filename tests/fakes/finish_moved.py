"""A simulated pair lit from places of the lamp: its UV half under another light, drawn by hand.

The light of the pair's own lamp is taken out of its glow, and multiplied in are the fall-off of a
lamp in a direction and by a rim that turns to it; what a test adds to one frame alone is shade.
"""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from fakes.finish_simulator import Pair
from heelstamp.luminescence import linear

Bytes = NDArray[np.uint8]
FALL = 0.45
RIM, RIM_MM = 0.35, 2.5


def encoded(light: NDArray[np.floating]) -> Bytes:
    """Linear light as code values of sRGB (IEC 61966-2-1)."""
    v = np.clip(light, 0, 1)
    code = np.where(v <= 0.0031308, 12.92 * v, 1.055 * np.power(v, 1 / 2.4) - 0.055)
    return np.round(255 * code).astype(np.uint8)


def _own_lamp(light: NDArray[np.floating], body: NDArray[np.bool_]) -> NDArray[np.floating]:
    """The pair's own lamp: a surface of second order through the log light of the body."""
    h, w = body.shape
    ys, xs = np.nonzero(body)
    x, y = (xs - w / 2) / (w / 2), (ys - h / 2) / (w / 2)
    level = np.log(np.maximum(light[ys, xs].mean(axis=1), 1e-3))
    kept = level > np.percentile(level, 25)
    design = np.column_stack([np.ones(len(x)), x, y, x * x, x * y, y * y])
    found, *_ = np.linalg.lstsq(design[kept], level[kept], rcond=None)
    gy, gx = np.mgrid[0:h, 0:w]
    gx, gy = (gx - w / 2) / (w / 2), (gy - h / 2) / (w / 2)
    terms = (0 * gx, gx, gy, gx * gx, gx * gy, gy * gy)
    return np.exp(sum(c * t for c, t in zip(found, terms, strict=True)))


def lit_from(
    pair: Pair,
    degrees: float,
    *,
    shade: Sequence[tuple[float, float, float, float]] = (),
    level: float = 1.0,
) -> Bytes:
    """The UV half with a lamp in a direction of the picture, 0 right and 90 downwards.

    Parameters
    ----------
    shade
        x, y, radius in pixels of the UV half, and by what the light falls there: soft, and alike
        in all channels.
    level
        Factor on all light.
    """
    light = linear.decode(pair.uv)
    h, w = light.shape[:2]
    turn = np.radians(degrees)
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float32)
    along = (np.cos(turn) * (xs - w / 2) + np.sin(turn) * (ys - h / 2)) / (max(h, w) / 2)
    body = np.zeros((h, w), np.uint8)
    there = np.column_stack([pair.outline, np.ones(len(pair.outline))])
    moved = there @ np.linalg.inv(pair.transform).T
    cv2.fillPoly(body, [np.round(moved[:, :2] / moved[:, 2:]).astype(np.int32)], 1)
    factor = np.exp(FALL * along) / _own_lamp(light, body > 0)
    rim = cv2.distanceTransform(body, cv2.DIST_L2, 5) / pair.px_per_mm
    smooth = cv2.GaussianBlur(rim, (0, 0), 3.0)
    gx, gy = cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    facing = -(np.cos(turn) * gx + np.sin(turn) * gy) / (np.hypot(gx, gy) + 1e-6)
    factor = factor * np.exp(RIM * facing * np.exp(-rim / RIM_MM) * body)
    for x, y, radius, depth in shade:
        away = ((xs - x) ** 2 + (ys - y) ** 2) / radius**2
        factor = factor * (1 - depth * np.exp(-(away**2)))
    return encoded(level * 0.8 * light * factor[..., None])
