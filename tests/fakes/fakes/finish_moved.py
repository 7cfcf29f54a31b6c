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
Light = NDArray[np.floating]
FALL = 0.45
RIM, RIM_MM = 0.35, 2.5
EVEN_MM = 9.0
"""So far in from the rim the coat is painted even, for its own rim has the own lamp's shade."""


def encoded(light: NDArray[np.floating]) -> Bytes:
    """Linear light as code values of sRGB (IEC 61966-2-1)."""
    v = np.clip(light, 0, 1)
    code = np.where(v <= 0.0031308, 12.92 * v, 1.055 * np.power(v, 1 / 2.4) - 0.055)
    return np.round(255 * code).astype(np.uint8)


def _placed(pair: Pair, polygons: Sequence[Light], shape: tuple[int, int]) -> NDArray[np.uint8]:
    """Polygons of the visible half, filled in the UV half."""
    mask = np.zeros(shape, np.uint8)
    for polygon in polygons:
        there = np.column_stack([polygon, np.ones(len(polygon))]) @ np.linalg.inv(pair.transform).T
        cv2.fillPoly(mask, [np.round(there[:, :2] / there[:, 2:]).astype(np.int32)], 1)
    return mask


def _own_lamp(light: Light, coat: NDArray[np.bool_]) -> Light:
    """The pair's own lamp: a surface of second order through the log light of its coat."""
    h, w = coat.shape
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    x, y = (x - w / 2) / (w / 2), (y - h / 2) / (w / 2)
    terms = (np.ones_like(x), x, y, x * x, x * y, y * y)
    level = np.log(np.maximum(light.mean(axis=2), 1e-3))
    ys, xs = np.nonzero(coat & (level > np.percentile(level[coat], 25)))
    some = slice(None, None, max(1, len(ys) // 20_000))
    design = np.column_stack([one[ys[some], xs[some]] for one in terms])
    found, *_ = np.linalg.lstsq(design, level[ys[some], xs[some]], rcond=None)
    own = sum(float(c) * one for c, one in zip(found[1:], terms[1:], strict=True))
    return np.asarray(np.exp(own), dtype=float)


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
    body = _placed(pair, [pair.outline], (h, w))
    parts = cv2.dilate(_placed(pair, [one for _, one in pair.parts], (h, w)), np.ones((9, 9)))
    rim = cv2.distanceTransform(body, cv2.DIST_L2, 5) / pair.px_per_mm
    coat = (body > 0) & (parts == 0)
    inner = coat & (rim > EVEN_MM)
    light = light / _own_lamp(light, inner)[..., None]
    light[coat & ~inner] = np.median(light[inner], axis=0)
    smooth = cv2.GaussianBlur(rim, (0, 0), 3.0)
    gx, gy = cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    nx, ny = -gx / (np.hypot(gx, gy) + 1e-6), -gy / (np.hypot(gx, gy) + 1e-6)
    turn = np.radians(degrees)
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float32)
    along = (np.cos(turn) * (xs - w / 2) + np.sin(turn) * (ys - h / 2)) / (max(h, w) / 2)
    factor = np.exp(FALL * along)
    facing = np.cos(turn) * nx + np.sin(turn) * ny
    factor = factor * np.exp(RIM * facing * np.exp(-rim / RIM_MM) * body)
    for x, y, radius, depth in shade:
        away = ((xs - x) ** 2 + (ys - y) ** 2) / radius**2
        factor = factor * (1 - depth * np.exp(-(away**2)))
    return encoded(level * 0.8 * light * factor[..., None])
