"""The border of a region: how much is crossed quickly on coat, how much runs beside parts.

A penumbra, a slope and gloss fade in over millimetres, and the shade of a part begins at the part.
A border that is crossed within a millimetre either side all around, on coat, is neither; how much
of it is, separates better than how crisp the middle of it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.linear import Float

Mask = NDArray[np.bool_]
CROSSED_MM, CROSSED = 1.0, 0.5
BESIDE_MM = 3.5


@dataclass(frozen=True, slots=True)
class Border:
    """What a region's border is like, both as shares of its whole length.

    ``closed`` is crossed by half of the contrast from 1 mm within to 1 mm without, both on coat;
    ``beside`` lies within 3.5 mm of a part or of the rim.
    """

    closed: float
    beside: float


def look_at(here: Mask, changed: Float, coat: Mask, nearest: Float, per_mm: float) -> Border:
    """Measure the border of a region.

    Parameters
    ----------
    here
        The region in a box of the map.
    changed
        Share of changed coat in the same box: one within, nought without.
    coat
        Where coat is assessed.
    nearest
        Distance to the next part or to the rim, mm.
    per_mm
        Map pixels per millimetre.
    """
    grid = here.astype(np.uint8)
    away = cv2.distanceTransform(1 - grid, cv2.DIST_L2, 5)
    deep = cv2.distanceTransform(np.pad(grid, 1), cv2.DIST_L2, 5)[1:-1, 1:-1]
    within = cv2.GaussianBlur(
        (np.asarray(deep) - np.asarray(away)).astype(np.float32), (0, 0), max(0.8, 0.3 * per_mm)
    )
    gx, gy = cv2.Sobel(within, cv2.CV_32F, 1, 0), cv2.Sobel(within, cv2.CV_32F, 0, 1)
    line = here & ~cv2.erode(grid, np.ones((3, 3), np.uint8)).astype(bool)
    ys, xs = np.nonzero(line)
    if not ys.size:
        return Border(0.0, 1.0)
    size = np.hypot(gx[line], gy[line]) + 1e-6
    across = np.float32(CROSSED_MM * per_mm)
    step_x, step_y = across * gx[line] / size, across * gy[line] / size
    sides = []
    for sign in (1.0, -1.0):
        x = (xs + sign * step_x).astype(np.float32)[None]
        y = (ys + sign * step_y).astype(np.float32)[None]
        value = cv2.remap(changed, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[0]
        on = cv2.remap(coat.astype(np.uint8), x, y, cv2.INTER_NEAREST, borderValue=0)[0] > 0
        sides.append((value, on))
    (inner, inner_on), (outer, outer_on) = sides
    crossed = inner_on & outer_on & (inner - outer >= CROSSED)
    return Border(float(crossed.mean()), float((nearest[line] < BESIDE_MM).mean()))
