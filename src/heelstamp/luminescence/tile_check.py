"""Whether two photographs lie on one another, tile by tile.

Phase correlation (Kuglin and Hines 1975, as in OpenCV) of the edges in each tile of the visible
photograph with those of the warped UV photograph. Tiles without edges are left out; a tile agrees
when its peak is clear. The median length of the shift in the tiles that agree is the residual. It
is another method than the fit it checks (``edge_fit``). A tile sees no shift along a straight edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.linear import Float
from heelstamp.luminescence.structure import Matrix

TILE = 128
CLEAR_PEAK = 0.12
TEXTURED = 0.5


@dataclass(frozen=True, slots=True)
class Residuals:
    """Shifts (n, 2) of the tiles that agree, pixels at the working size; all textured tiles."""

    shifts: NDArray[np.float64]
    count: int

    @property
    def good_share(self) -> float:
        """Share of textured tiles whose peak is clear."""
        return len(self.shifts) / self.count if self.count else 0.0

    @property
    def median(self) -> float:
        """Median length of the shift; infinite without a good tile."""
        return self.at(0.5)

    def at(self, share: float) -> float:
        """Shift that *share* of the good tiles stay below; infinite without a good tile."""
        if not len(self.shifts):
            return float("inf")
        return float(np.quantile(np.linalg.norm(self.shifts, axis=1), share))


def residuals(here: Float, there: Float, warp: Matrix) -> Residuals:
    """Compare edges *here* with edges *there* pulled back by *warp* (here → there)."""
    h, w = here.shape
    moved = cv2.warpPerspective(there, warp, (w, h), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    tile = TILE if max(h, w) > 6 * TILE else 64
    window = cv2.createHanningWindow((tile, tile), cv2.CV_32F)
    level = 0.5 * float(here.std()), 0.5 * float(moved.std())
    shifts, count = [], 0
    for y in range(0, h - tile + 1, tile // 2):
        for x in range(0, w - tile + 1, tile // 2):
            one, two = here[y : y + tile, x : x + tile], moved[y : y + tile, x : x + tile]
            if float(one.std()) < 2 * TEXTURED * level[0] * 2:
                continue
            if float(two.std()) < 2 * TEXTURED * level[1]:
                continue
            count += 1
            (dx, dy), peak = cv2.phaseCorrelate(one, two, window)
            if peak > CLEAR_PEAK:
                shifts.append((dx, dy))
    return Residuals(np.array(shifts, dtype=float).reshape(-1, 2), count)
