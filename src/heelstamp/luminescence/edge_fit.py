"""Last fraction of a pixel: edge points of the visible photograph found again in the UV one.

At each edge point the gradient magnitude along the normal is compared in both photographs; the
shift of best normalised correlation is one equation for the homography. Tukey weights (Beaton and
Tukey, Technometrics 16 (1974) 147-185) leave out edges that belong to one photograph only: colour
borders that do not glow, patches that glow and are not seen, rims in the lamp's shade. Stops
holding when the start is farther off than ``reach``.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import structure
from heelstamp.luminescence.linear import Float
from heelstamp.luminescence.structure import Matrix

HALF, CELL, PER_CELL = 6, 24, 4
TUKEY = 4.685
LEAST_POINTS = 60
LEAST_SCORE = 0.7
STIFF_PERSPECTIVE = 1e-2
STIFFNESS = np.array([1e-9] * 6 + [STIFF_PERSPECTIVE] * 2)
STAGES = ([2, 5], [0, 1, 2, 3, 4, 5], [0, 1, 2, 3, 4, 5, 6, 7])


@dataclass(frozen=True, slots=True)
class EdgeFit:
    """A refined warp visible → UV, the robust spread of what is left (px), and who agreed."""

    warp: Matrix
    spread: float
    agreeing: float
    points: int


def refine(
    here: Float, there: Float, warp: Matrix, *, reaches: tuple[int, ...] = (10, 6, 4)
) -> EdgeFit | None:
    """Refine *warp* (here → there) on brightness images at the working size.

    Returns
    -------
    EdgeFit or None
        None when too few edge points are found again or the fit runs away.
    """
    size_here, size_there = _gradient(here), _gradient(there)
    points, normals = edge_points(here)
    if len(points) < LEAST_POINTS:
        return None
    found: EdgeFit | None = None
    middle, unit = np.array(here.shape[::-1]) / 2.0, max(here.shape) / 2.0
    for reach in reaches:
        profile_here = _sample(size_here, points, normals, np.eye(3), HALF)
        profile_there = _sample(size_there, points, normals, warp, HALF + reach)
        shift, score = _best_shift(profile_here, profile_there, reach)
        good = score > LEAST_SCORE
        if np.count_nonzero(good) < LEAST_POINTS:
            return found
        u = (points[good] - middle) / unit
        design = _equations(u, normals[good])
        step, spread, weights = _tukey(
            design, shift[good] / unit, score[good] ** 6, reach / 10 / unit
        )
        back = np.array([[unit, 0, middle[0]], [0, unit, middle[1]], [0, 0, 1]])
        change = np.array(
            [[1 + step[0], step[1], step[2]], [step[3], 1 + step[4], step[5]], [*step[6:], 1.0]]
        )
        warp = warp @ back @ change @ np.linalg.inv(back)
        warp = warp / warp[2, 2]
        if not np.isfinite(warp).all() or np.abs(step).max() > 0.1:
            return found
        share = float(np.count_nonzero(weights > 0.1) / len(points))
        found = EdgeFit(warp, spread * unit, share, len(points))
    return found


def edge_points(image: Float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give strong edge points (n, 2) and unit normals (n, 2), spread over the frame."""
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


def _gradient(image: Float) -> Float:
    smooth = cv2.GaussianBlur(image, (0, 0), 0.8)
    gx, gy = cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    return np.asarray(cv2.magnitude(gx, gy), dtype=np.float32)


def _sample(
    image: Float, points: NDArray[np.float64], normals: NDArray[np.float64], warp: Matrix, half: int
) -> NDArray[np.float64]:
    """Give image values at whole-pixel steps along each normal, places mapped by *warp*."""
    t = np.arange(-half, half + 1, dtype=float)
    places = points[:, None, :] + t[None, :, None] * normals[:, None, :]
    mapped = structure.apply(warp, places.reshape(-1, 2)).astype(np.float32)
    maps = mapped.reshape(len(points), len(t), 2)
    return np.asarray(cv2.remap(image, maps[..., 0], maps[..., 1], cv2.INTER_LINEAR), dtype=float)


def _best_shift(
    short: NDArray[np.float64], long: NDArray[np.float64], reach: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the shift along the normal of best normalised correlation, and that correlation."""
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


def _equations(u: NDArray[np.float64], n: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give the derivative of the normal shift by the eight numbers of a homography near one."""
    x, y, nx, ny = u[:, 0], u[:, 1], n[:, 0], n[:, 1]
    along = nx * x + ny * y
    return np.column_stack([nx * x, nx * y, nx, ny * x, ny * y, ny, -x * along, -y * along])


def _tukey(
    design: NDArray[np.float64],
    target: NDArray[np.float64],
    prior: NDArray[np.float64],
    floor: float,
) -> tuple[NDArray[np.float64], float, NDArray[np.float64]]:
    """Fit shift, then affine map, then homography, each starting from the weights of the last.

    The simple map cannot follow a rim that lies in the lamp's shade on one side only, so that such
    points are out before the homography could. Spread is 1.4826 times the weighted median.
    """
    weights = np.ones_like(target)
    step = np.zeros(design.shape[1])
    spread = 0.0
    for columns in STAGES:
        part = design[:, columns]
        for _ in range(10):
            weighted = part * ((weights * prior) ** 2)[:, None]
            normal = part.T @ weighted
            normal += np.diag(STIFFNESS[columns] * np.trace(normal))
            solved = np.linalg.solve(normal, weighted.T @ target)
            left = target - part @ solved
            spread = 1.4826 * _weighted_median(np.abs(left), prior) + 1e-9
            weights = np.clip(1 - (left / (TUKEY * max(spread, floor))) ** 2, 0, None)
        step = np.zeros(design.shape[1])
        step[columns] = solved
    return step, spread, weights**2


def _weighted_median(values: NDArray[np.float64], weights: NDArray[np.float64]) -> float:
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(total, 0.5 * total[-1])])
