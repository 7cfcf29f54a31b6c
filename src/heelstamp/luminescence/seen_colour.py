"""Whether the eye sees a region in ordinary light: its colour against what the ground does anyway.

A small place on wood differs from the ground beside it by its grain alone, on a sunburst by the
shading. So the same measure, region against ring, is taken of the same shape laid elsewhere on the
coat around. Their root mean square is the standard error of the measure where nothing differs; a
difference within twice that (19 of 20 if the error is normal) is the ground's, not the region's.
Beyond it, one just noticeable difference decides: 2.3 in CIELAB (Mahy, Van Eycken and
Oosterlinck, Color Research and Application 19(2) (1994) 105-121), taken over to CIEDE2000 as
judgement. Stops holding where fewer than three places fit around (large regions, crowded faces):
then the just noticeable difference decides alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.linear import Float, ciede2000

Mask = NDArray[np.bool_]
Offset = tuple[int, int]
Places = tuple[NDArray[np.intp], NDArray[np.intp]]

JUST_NOTICEABLE = 2.3
STANDARD_ERRORS = 2.0
LEAST_PLACES = 3
LEAST_COVERED = 0.6
DIRECTIONS, REACHES = 12, (1.0, 1.7)
SAMPLES = 1500


@dataclass(frozen=True, slots=True)
class SeenColour:
    """Colour of a region against its ring, CIEDE2000.

    ``difference`` is that of the region, ``lighter`` its L* less that of the ring; ``usual`` is
    twice the root mean square of places of the same shape around it, nought where fewer than three
    fit.
    """

    difference: float
    usual: float
    lighter: float

    @property
    def beyond(self) -> float:
        """The difference where it is more than the ground's own, else nought."""
        return self.difference if self.difference > self.usual else 0.0

    @property
    def visible(self) -> bool:
        """Whether the eye can tell the region from the coat around it in ordinary light."""
        return self.beyond >= JUST_NOTICEABLE


def compare(lab: Float, free: Mask, heart: Mask, ring: Mask, *, at: Offset) -> SeenColour:
    """Compare a region with its ring, and the same shape with its ring elsewhere.

    Parameters
    ----------
    lab
        L*, a*, b* of the visible photograph at the map's size (h, w, 3).
    free
        (h, w) sound coat: neither parts nor any place where the glow differs.
    heart, ring
        Region, less its border, and the ring of coat around it, in a box of the map.
    at
        Row and column of the box.
    """
    inner, outer = _sampled(heart, at), _sampled(ring, at)
    difference = _difference(lab, inner, outer)
    lighter = float(np.median(lab[inner][:, 0]) - np.median(lab[outer][:, 0]))
    rows, columns = np.nonzero(heart)
    tall, wide = int(np.ptp(rows)) + 1, int(np.ptp(columns)) + 1
    usual = []
    for reach in REACHES:
        for angle in np.arange(DIRECTIONS) * (2 * np.pi / DIRECTIONS):
            by = (
                round(reach * (tall + 2) * float(np.sin(angle))),
                round(reach * (wide + 2) * float(np.cos(angle))),
            )
            moved = _moved(inner, by, free), _moved(outer, by, free)
            if moved[0] is not None and moved[1] is not None:
                usual.append(_difference(lab, moved[0], moved[1]))
    if len(usual) < LEAST_PLACES:
        return SeenColour(difference, 0.0, lighter)
    spread = float(np.sqrt(np.mean(np.square(usual))))
    return SeenColour(difference, STANDARD_ERRORS * spread, lighter)


def _sampled(mask: Mask, at: Offset) -> Places:
    rows, columns = np.nonzero(mask)
    step = max(1, len(rows) // SAMPLES)
    return rows[::step] + at[0], columns[::step] + at[1]


def _moved(places: Places, by: Offset, free: Mask) -> Places | None:
    """The places moved, less what is not free; None if too little is left."""
    rows, columns = places[0] + by[0], places[1] + by[1]
    kept = (rows >= 0) & (rows < free.shape[0]) & (columns >= 0) & (columns < free.shape[1])
    kept[kept] = free[rows[kept], columns[kept]]
    if np.count_nonzero(kept) < LEAST_COVERED * len(rows):
        return None
    return rows[kept], columns[kept]


def _difference(lab: NDArray[np.floating[Any]], inner: Places, outer: Places) -> float:
    return float(ciede2000(np.median(lab[inner], axis=0), np.median(lab[outer], axis=0)))
