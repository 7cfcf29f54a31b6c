"""Single edge points of the visible photograph, found again in the UV one.

At each edge point the gradient magnitude along the normal is compared in both photographs; the
shift of best normalised correlation is one equation for the position. Edges are chosen in code
values, where dark ones count as well, and compared in linear light: blur adds up light, so that in
code values an edge moves towards its dark side by about the spread of the blur, and a body that is
bright in one photograph and dark in the other seems larger in one of them. Stops holding when the
start is farther off than ``reach``.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import structure
from heelstamp.luminescence.linear import Float
from heelstamp.luminescence.structure import Matrix

HALF, CELL, PER_CELL = 6, 24, 4
LEAST_SCORE = 0.7
LEAST_PEAK = 3.0
SCORE_POWER = 12
Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Gradient:
    """Gradient of one photograph at the working size: parts, length, median length."""

    x: Float
    y: Float
    size: Float
    usual: float


@dataclass(frozen=True, slots=True, eq=False)
class Matches:
    """Edge points found again: place, unit normal, shift along it (px), weight.

    ``rising`` is 1 where both photographs grow brighter along the normal and -1 where they differ;
    ``found`` counts the points that have an edge within reach in the UV photograph at all;
    ``outward`` is the unit normal of the body's outline at points near it, nought elsewhere, and
    ``rim_px`` how far a rim is thought to be displaced by shade.
    """

    points: Points
    normals: Points
    shift: NDArray[np.float64]
    weight: NDArray[np.float64]
    rising: NDArray[np.float64]
    found: int
    outward: Points = field(default_factory=lambda: np.zeros((0, 2)))
    rim_px: float = 0.0

    @property
    def on_rim(self) -> NDArray[np.bool_]:
        """Whether each point lies near the outline."""
        if not len(self.outward):
            return np.zeros(len(self.shift), bool)
        return np.asarray((self.outward != 0).any(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Edge points of the visible photograph: places, unit normals, how much each counts.

    ``outward`` and ``rim_px`` are those of ``Matches``.
    """

    points: Points
    normals: Points
    counts: NDArray[np.float64]
    outward: Points
    rim_px: float = 0.0

    @staticmethod
    def alike(points: Points, normals: Points) -> Edges:
        """All edges count alike, and nothing is known of the rim."""
        return Edges(points, normals, np.ones(len(points)), np.zeros_like(points))


def gradient(image: Float) -> Gradient:
    """The gradient of a brightness image."""
    smooth = cv2.GaussianBlur(image, (0, 0), 0.8)
    x, y = (cv2.Sobel(smooth, cv2.CV_32F, *axis) for axis in ((1, 0), (0, 1)))
    size = np.asarray(cv2.magnitude(x, y), dtype=np.float32)
    usual = float(np.median(size[::2, ::2])) + 1e-9
    return Gradient(np.asarray(x, np.float32), np.asarray(y, np.float32), size, usual)


def edge_points(image: Float) -> tuple[Points, Points]:
    """Strong edge points (n, 2) and unit normals (n, 2), spread over the frame."""
    smooth = cv2.GaussianBlur(image, (0, 0), 1.0)
    gx, gy = cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    size = cv2.magnitude(gx, gy)
    ridge = size >= cv2.dilate(size, np.ones((3, 3), np.uint8))
    ridge &= size > max(4.0 * float(np.median(size)), 0.04)
    rim = HALF + 12
    ridge[:rim], ridge[-rim:], ridge[:, :rim], ridge[:, -rim:] = False, False, False, False
    ys, xs = np.nonzero(ridge)
    if not len(ys):
        return np.zeros((0, 2)), np.zeros((0, 2))
    strength = size[ys, xs]
    order = np.argsort(-strength, kind="stable")
    ys, xs = ys[order], xs[order]
    cell = (ys // CELL) * 100_000 + xs // CELL
    by_cell = np.argsort(cell, kind="stable")
    sorted_cell = cell[by_cell]
    first = np.r_[True, sorted_cell[1:] != sorted_cell[:-1]]
    begins = np.maximum.accumulate(np.where(first, np.arange(len(first)), 0))
    kept = by_cell[np.arange(len(by_cell)) - begins < PER_CELL]
    ys, xs = ys[kept], xs[kept]
    normal = np.column_stack([gx[ys, xs], gy[ys, xs]]).astype(float)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True) + 1e-12
    return np.column_stack([xs, ys]).astype(float), normal


def match(edges: Edges, here: Gradient, there: Gradient, warp: Matrix, reach: int) -> Matches:
    """Find *edges* again within *reach* pixels.

    A match at the end of the reach, below ``LEAST_SCORE``, or on a place no steeper than the
    frame's noise is left out. Weight is the correlation to a high power, so that the shape of an
    edge decides, times the geometric mean of its strengths, times what the edge counts.
    """
    points, normals = edges.points, edges.normals
    short = _sample(here.size, points, normals, np.eye(3), HALF)
    long = _sample(there.size, points, normals, warp, HALF + reach)
    shift, score = _best_shift(short, long, reach)
    steep, peak = short.max(axis=1, initial=0.0), long.max(axis=1, initial=0.0)
    seen = peak > LEAST_PEAK * there.usual
    good = seen & (score > LEAST_SCORE) & (np.abs(shift) < reach - 0.6)
    if not good.any():
        return Matches(points[:0], normals[:0], shift[:0], shift[:0], shift[:0], int(seen.sum()))
    strength = np.sqrt(
        steep[good] / np.percentile(steep[good], 90) * peak[good] / np.percentile(peak[good], 90)
    )
    weight = score[good] ** SCORE_POWER * np.clip(strength, 0.02, 1.0) * edges.counts[good]
    at = points[good] + shift[good, None] * normals[good]
    places = structure.apply(warp, at)
    tip = structure.apply(warp, at + normals[good]) - places
    maps = places.astype(np.float32)[None]
    gx, gy = (cv2.remap(g, maps[..., 0], maps[..., 1], 1)[0] for g in (there.x, there.y))
    rising = np.sign(gx * tip[:, 0] + gy * tip[:, 1])
    count = int(seen.sum())
    kept = points[good], normals[good], shift[good]
    return Matches(*kept, weight, rising, count, edges.outward[good], edges.rim_px)


def _sample(image: Float, points: Points, normals: Points, warp: Matrix, half: int) -> Points:
    """Image values at whole-pixel steps along each normal, places mapped by *warp*."""
    t = np.arange(-half, half + 1, dtype=float)
    places = points[:, None, :] + t[None, :, None] * normals[:, None, :]
    mapped = structure.apply(warp, places.reshape(-1, 2)).astype(np.float32)
    maps = mapped.reshape(len(points), len(t), 2)
    return np.asarray(cv2.remap(image, maps[..., 0], maps[..., 1], cv2.INTER_LINEAR), dtype=float)


def _best_shift(
    short: Points, long: Points, reach: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The shift along the normal of best normalised correlation, and that correlation."""
    windows = np.lib.stride_tricks.sliding_window_view(long, short.shape[1], axis=1)
    a = short - short.mean(axis=1, keepdims=True)
    b = windows - windows.mean(axis=2, keepdims=True)
    above = np.einsum("nk,nsk->ns", a, b)
    below = np.linalg.norm(a, axis=1)[:, None] * np.linalg.norm(b, axis=2) + 1e-9
    score = above / below
    best = np.clip(score.argmax(axis=1), 1, 2 * reach - 1)
    rows = np.arange(len(short))
    left, mid, right = score[rows, best - 1], score[rows, best], score[rows, best + 1]
    bend = left - 2 * mid + right
    part = np.where(bend < -1e-9, 0.5 * (left - right) / np.minimum(bend, -1e-9), 0.0)
    return best - reach + np.clip(part, -1, 1), mid
