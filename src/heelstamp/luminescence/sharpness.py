"""Blur and shake of the UV photograph, measured on edges it shares with the visible one.

The width of an edge alone says little: a rounded rim is soft in a sharp photograph. Here the spread
of each edge is measured in both photographs by blurring once more and comparing gradients (Zhuo and
Sim, Pattern Recognition 44 (2011) 1852-1858) and the visible spread is taken away in quadrature, so
that what the object itself softens drops out. Shake is told by the difference between
directions. Stops
holding with fewer than forty shared edges, or when the visible photograph is blurred as well: then
the visible spread itself is what the gate sees.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import structure
from heelstamp.luminescence.edge_match import edge_points
from heelstamp.luminescence.linear import Float
from heelstamp.luminescence.structure import Matrix

AGAIN = 1.5
DIRECTIONS = 6
LEAST = 40


@dataclass(frozen=True, slots=True)
class Sharpness:
    """Spreads in working pixels: visible, and added in UV in the worst and best direction."""

    visible: float
    added: float
    least_added: float
    edges: int


def compare(
    visible: Float, uv: Float, warp: Matrix, counts: Float | None = None
) -> Sharpness | None:
    """Compare the spread of shared edges.

    Parameters
    ----------
    visible, uv
        Brightness at the working size, before any smoothing.
    warp
        Visible → UV at that size.
    counts
        One in *visible* where an edge lies where it is under the lamp (``drawn``), all when None:
        the border of a shade is soft in a sharp photograph.

    Returns
    -------
    Sharpness or None
        None with too few shared edges to tell.
    """
    points, normals = edge_points(visible)
    if counts is not None and len(points):
        x, y = points.astype(int).T
        kept = counts[y, x] == 1
        points, normals = points[kept], normals[kept]
    if len(points) < LEAST:
        return None
    places = structure.apply(warp, points)
    tip = structure.apply(warp, points + normals) - places
    tip /= np.linalg.norm(tip, axis=1, keepdims=True) + 1e-9
    here, strong_here = _spread(visible, points, normals)
    there, strong_there = _spread(uv, places, tip)
    good = (
        np.isfinite(here)
        & np.isfinite(there)
        & (strong_here > 0.25 * np.percentile(strong_here, 90))
        & (strong_there > 0.25 * np.percentile(strong_there, 90))
    )
    if np.count_nonzero(good) < LEAST:
        return None
    here, there = here[good], there[good]
    added = np.sqrt(np.maximum(there**2 - here**2, 0.0))
    angle = np.degrees(np.arctan2(tip[good, 1], tip[good, 0])) % 180
    sector = (angle / (180 / DIRECTIONS)).astype(int) % DIRECTIONS
    widths = [
        float(np.percentile(added[sector == k], 25))
        for k in range(DIRECTIONS)
        if np.count_nonzero(sector == k) >= 15
    ] or [float(np.percentile(added, 25))]
    return Sharpness(float(np.percentile(here, 25)), max(widths), min(widths), int(good.sum()))


def _spread(
    image: Float, points: NDArray[np.float64], normals: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The spread of each edge, and its strength, from its steepest place within two pixels."""
    base = structure.blurred(image, 0.7)
    sharp, soft = _size(base), _size(structure.blurred(base, AGAIN))
    t = np.arange(-2.0, 2.1, 1.0)
    at = (points[:, None, :] + t[None, :, None] * normals[:, None, :]).astype(np.float32)
    one = cv2.remap(sharp, at[..., 0], at[..., 1], cv2.INTER_LINEAR).max(axis=1).astype(float)
    two = cv2.remap(soft, at[..., 0], at[..., 1], cv2.INTER_LINEAR).max(axis=1).astype(float)
    ratio = one / np.maximum(two, 1e-9)
    spread = np.where(ratio > 1.02, AGAIN / np.sqrt(np.maximum(ratio**2 - 1, 1e-6)), np.nan)
    return np.minimum(spread, 12.0), one


def _size(image: Float) -> Float:
    return np.asarray(
        cv2.magnitude(cv2.Sobel(image, cv2.CV_32F, 1, 0), cv2.Sobel(image, cv2.CV_32F, 0, 1)),
        dtype=np.float32,
    )
