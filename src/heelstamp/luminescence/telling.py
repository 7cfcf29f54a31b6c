"""Candidates of the map as what is told of them: regions with areas, doubts with a place alone."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import candidates, causes, regions, scale
from heelstamp.luminescence.findings import Doubt, Region
from heelstamp.luminescence.one_frame import Why

EDGE_PX = 0.7


def region(
    number: int, one: regions.Candidate, sure: float, factor: float, *, known: scale.Scale | None
) -> Region:
    """A claimed candidate in pixels of the photograph.

    Parameters
    ----------
    factor
        Size of the map against the photograph.
    known
        Scale of the photograph; None where the region bears no area.
    """
    contour = _contour(one)
    polygon = cv2.approxPolyDP(contour, EDGE_PX, closed=True)[:, 0, :].astype(float)
    area_px = float(np.count_nonzero(one.mask)) / factor**2
    perimeter = cv2.arcLength(contour, closed=True) / factor
    area, doubted = (
        (None, None)
        if known is None
        else scale.area_mm2(area_px, perimeter, known, edge_px=EDGE_PX / factor)
    )
    return Region(
        number,
        _placed(polygon, one, factor),
        centre_of(one, factor),
        area_px,
        area,
        doubted,
        candidates.kind_of(one),
        float(np.exp(one.contrast[0])),
        float(one.contrast[2]),
        one.edge,
        one.surrounded,
        one.straight,
        one.colour.difference,
        one.colour.usual,
        one.colour.visible,
        sure,
        causes.support(one),
    )


def doubt(one: regions.Candidate, why: Why, factor: float) -> Doubt:
    """A candidate that is not claimed: where it is, no more."""
    middle, reach = cv2.minEnclosingCircle(_contour(one))
    at = _placed(np.array([middle], dtype=float), one, factor)[0]
    return Doubt((float(at[0]), float(at[1])), float(reach) / factor, candidates.kind_of(one), why)


def centre_of(one: regions.Candidate, factor: float) -> tuple[float, float]:
    """The mean place of a candidate in pixels of the photograph."""
    ys, xs = np.nonzero(one.mask)
    at = _placed(np.array([[xs.mean(), ys.mean()]]), one, factor)[0]
    return float(at[0]), float(at[1])


def _contour(one: regions.Candidate) -> NDArray[np.int32]:
    found = cv2.findContours(one.mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(max(found[0], key=len), dtype=np.int32)


def _placed(
    points: NDArray[np.float64], one: regions.Candidate, factor: float
) -> NDArray[np.float64]:
    """Points of a candidate's box in pixels of the photograph, pixel centres at whole numbers."""
    corner = np.array([one.box[1].start, one.box[0].start], dtype=float)
    return np.asarray((points + corner + 0.5) / factor - 0.5, dtype=float)
