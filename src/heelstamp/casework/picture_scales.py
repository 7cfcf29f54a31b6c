"""Scales of photographs: what the width of a picture spans, and the bar that a paper draws on it.

Two points of a known length are entered on a photograph (`PictureScale`). Lengths hold in the plane
of those points; what lies nearer or further is seen larger or smaller.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from heelstamp.catalogue import DossierState, PictureScale

_BARS_MM = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
_BAR_SHARE = 0.3
"""A bar is the longest of the usual lengths that fills at most this share of the width."""


def scales_of(state: DossierState) -> Mapping[str, float]:
    """Millimetres that the width of each photograph spans, where a scale was entered."""
    found = {}
    for one in state.of(PictureScale).values():
        picture = state.photographs.get(one.frame)
        if picture is not None:
            high = picture.height / picture.width
            share = math.hypot(one.x1 - one.x0, (one.y1 - one.y0) * high)
            found[one.frame] = one.length_mm / share
    return found


def bar_of(width_mm: float | None) -> tuple[float, float]:
    """Length of a scale bar in mm and as a share of the width; two noughts without a scale.

    Examples
    --------
    >>> bar_of(120.0), bar_of(None)
    ((20.0, 0.16666666666666666), (0.0, 0.0))
    """
    if width_mm is None:
        return 0.0, 0.0
    fitting = [one for one in _BARS_MM if one <= _BAR_SHARE * width_mm] or [_BARS_MM[0]]
    return fitting[-1], min(1.0, fitting[-1] / width_mm)
