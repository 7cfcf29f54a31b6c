"""A proposal for the parts on the body, from the visible photograph.

What can be reached from the outline without crossing a crisp edge of colour is taken for coat at
first; its colour is then regressed robustly on place and depth from the outline (which follows a
sunburst). Compact pieces with a crisp border that differ clearly are proposed as parts. A piece
with a soft border and no regular form is left to the coat, since it may be wear. Stops holding for
parts of the coat's own colour: they are missed, and must be drawn; and for chips with a crisp
border, and wear that runs into a part: they are proposed as parts, and must be taken away.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import linear, structure
from heelstamp.luminescence.linear import Bytes, Float

Mask = NDArray[np.bool_]
Points = NDArray[np.float64]
SIZE = 640
LEAST_DIFFERENCE, TIMES_SPREAD = 9.0, 4.5
LEAST_SHARE = 0.0006
CRISP, CRISP_STEP = 0.55, 2.5
SOLID = 0.62
REACH = 9.0
BOXY, ROUND = 0.90, 0.88
FINE, WIDEST_EDGE_PX = 1600, 4.7
"""Borders are looked at finer: parts of the tuning styles had 2.2 to 4.6 px there, wear 4.9 to
7.8 (``docs/methods/luminescence.md``)."""


def parts(visible: Bytes, outline: Points) -> tuple[tuple[str, Points], ...]:
    """Named polygons of pieces that are likely no coat, in pixels of *visible*."""
    small, _ = structure.reduce_to(visible, SIZE)
    place = structure.between(visible.shape, small.shape)
    body = np.zeros(small.shape[:2], np.uint8)
    cv2.fillPoly(body, [np.round(structure.apply(place, outline)).astype(np.int32)], 1)
    depth = cv2.distanceTransform(np.pad(body, 1), cv2.DIST_L2, 3)[1:-1, 1:-1].astype(np.float32)
    inside = depth > 3
    if np.count_nonzero(inside) < 500:
        return ()
    lab = linear.lab(linear.decode(small))
    calm = structure.blurred(lab, 1.0)
    difference, spread = _from_coat(calm, inside, depth, _reached(lab, inside, depth))
    limit = max(LEAST_DIFFERENCE, TIMES_SPREAD * spread)
    differs = ((difference > limit) & inside).astype(np.uint8)
    closed = cv2.morphologyEx(differs, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    odd = cv2.morphologyEx(closed, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(odd, connectivity=4)
    back = np.linalg.inv(place)
    fine, _ = structure.reduce_to(visible, FINE)
    to_fine = structure.between(visible.shape, fine.shape)
    fine_lab = linear.lab(linear.decode(fine))
    found: list[tuple[str, Points]] = []
    for k in np.argsort(-stats[1:, cv2.CC_STAT_AREA]) + 1:
        if stats[k, cv2.CC_STAT_AREA] < LEAST_SHARE * body.sum() or count < 2:
            break
        piece = (labels == k).astype(np.uint8)
        contour = max(cv2.findContours(piece, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0], key=len)
        hull = cv2.contourArea(cv2.convexHull(contour))
        solid = cv2.contourArea(contour) / max(hull, 1.0)
        if solid < SOLID and stats[k, cv2.CC_STAT_AREA] < 0.03 * body.sum():
            continue
        if _crispness(lab, piece) < CRISP:
            continue
        wide = cv2.dilate(piece, np.ones((3, 3), np.uint8))
        border = max(cv2.findContours(wide, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0], key=len)
        polygon = cv2.approxPolyDP(border, 0.8, closed=True)[:, 0, :].astype(float)
        if len(polygon) < 3:
            continue
        whole = structure.apply(back, polygon)
        width = edge_px(fine_lab, structure.apply(to_fine, whole))
        if width <= WIDEST_EDGE_PX or not np.isfinite(width) or _regular(contour):
            found.append((f"part_{len(found) + 1}", whole))
    return tuple(found)


def _reached(lab: Float, inside: Mask, depth: Float) -> Mask:
    """What is joined to the body's rim without crossing a crisp edge."""
    calm = structure.blurred(lab, 0.7)
    steep = np.zeros(inside.shape, np.float32)
    for channel in range(3):
        gx = cv2.Sobel(calm[..., channel], cv2.CV_32F, 1, 0, scale=0.125)
        gy = cv2.Sobel(calm[..., channel], cv2.CV_32F, 0, 1, scale=0.125)
        steep += gx * gx + gy * gy
    usual = float(np.median(steep[inside]))
    open_ground = inside & (steep < max(CRISP_STEP**2, 9.0 * usual))
    count, labels = cv2.connectedComponents(open_ground.astype(np.uint8), connectivity=4)
    rim = labels[open_ground & (depth < 0.05 * float(depth.max()) + 6)]
    touching = np.bincount(rim, minlength=count)
    touching[0] = 0
    return np.asarray(labels == int(touching.argmax()), dtype=bool)


def _from_coat(lab: Float, inside: Mask, depth: Float, first: Mask) -> tuple[Float, float]:
    """The colour difference from a robust model of the coat over place and depth."""
    h, w = inside.shape
    unit = max(h, w) / 2
    ys, xs = np.mgrid[0:h, 0:w]
    x, y, d = (xs - w / 2) / unit, (ys - h / 2) / unit, depth / unit
    terms = [np.ones_like(x), x, y, x * x, x * y, y * y, d, d * d]
    terms += [np.exp(-d / reach) for reach in (0.02, 0.06, 0.15, 0.3)]
    design = np.stack([t[inside] for t in terms], axis=1)
    values = lab[inside].astype(float)
    step = max(1, len(values) // 8000)
    some, target = design[::step], values[::step]
    weights = first[inside][::step].astype(float)
    if weights.mean() < 0.15:
        weights = np.ones(len(some))
    coefficients = np.zeros((design.shape[1], 3))
    scale = 1.0
    for turn in range(20):
        weighted = some * weights[:, None]
        coefficients = np.linalg.solve(
            some.T @ weighted + 1e-4 * len(some) * np.eye(some.shape[1]), weighted.T @ target
        )
        left = np.linalg.norm(target - some @ coefficients, axis=1)
        trusted = left[weights > 0.2] if turn else left[weights > 0]
        scale = max(1.2 * float(np.median(trusted)), 1.0)
        weights = np.clip(1 - (left / (5.0 * scale)) ** 2, 0, None) ** 2
    difference = np.zeros((h, w), np.float32)
    difference[inside] = np.linalg.norm(values - design @ coefficients, axis=1)
    kept = weights > 0.2
    spread = float(np.median(left[kept])) if kept.any() else scale
    return difference, spread


def _crispness(lab: Float, piece: NDArray[np.uint8]) -> float:
    """The share of the border's colour step that is crossed within one pixel either side."""
    inner = cv2.distanceTransform(np.pad(piece, 1), cv2.DIST_L2, 3)[1:-1, 1:-1]
    outer = cv2.distanceTransform(1 - piece, cv2.DIST_L2, 3)
    signed = np.where(piece > 0, inner - 0.5, 0.5 - outer)
    bands = [
        (-4.5, -2.5),
        (-2.5, -1.5),
        (-1.5, -0.5),
        (-0.5, 0.5),
        (0.5, 1.5),
        (1.5, 2.5),
        (2.5, 4.5),
    ]
    steps = []
    for low, high in bands:
        band = (signed > low) & (signed <= high)
        if np.count_nonzero(band) < 5:
            return 0.0
        steps.append(np.median(lab[band], axis=0))
    total = float(np.linalg.norm(steps[-1] - steps[0])) + 1e-6
    moves = [float(np.linalg.norm(b - a)) for a, b in pairwise(steps)]
    return max(a + b for a, b in pairwise(moves)) / total


def _regular(contour: NDArray[Any]) -> bool:
    """Say whether a piece nearly fills its smallest rectangle or circle, as made things do."""
    area = cv2.contourArea(contour)
    (_, (w, h), _), (_, radius) = cv2.minAreaRect(contour), cv2.minEnclosingCircle(contour)
    return bool(area > BOXY * max(w * h, 1.0) or area > ROUND * np.pi * max(radius, 1.0) ** 2)


def edge_px(lab: Float, polygon: Points) -> float:
    """How wide the border of a piece is: colour step over greatest slope, median, pixels.

    Profiles run along the normals, averaged over five neighbours against grain and noise; the step
    is taken along its own colour direction. Infinity where too
    little of the border has a step to judge by.
    """
    contour = np.vstack([polygon, polygon[:1]])
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(contour, axis=0), axis=1))]
    count = int(np.clip(along[-1] / 2.0, 40, 400))
    at = np.linspace(0, along[-1], count, endpoint=False)
    points = np.column_stack([np.interp(at, along, contour[:, k]) for k in (0, 1)])
    ahead = np.roll(points, -3, axis=0) - np.roll(points, 3, axis=0)
    length = np.linalg.norm(ahead, axis=1, keepdims=True)
    normal = np.column_stack([-ahead[:, 1], ahead[:, 0]]) / np.maximum(length, 1e-9)
    t = np.arange(-REACH, REACH + 0.01, 0.5)
    places = (points[:, None, :] + t[None, :, None] * normal[:, None, :]).astype(np.float32)
    profiles = np.stack(
        [
            cv2.remap(
                np.ascontiguousarray(lab[..., c]),
                places[..., 0],
                places[..., 1],
                cv2.INTER_LINEAR,
                borderMode=cv2.BORDER_REPLICATE,
            )
            for c in range(3)
        ],
        axis=-1,
    )
    mean = np.mean([np.roll(profiles, k, axis=0) for k in (-2, -1, 0, 1, 2)], axis=0)
    ends = len(t) // 6
    step = mean[:, -ends:].mean(axis=1) - mean[:, :ends].mean(axis=1)
    size = np.linalg.norm(step, axis=1)
    clear = size > LEAST_DIFFERENCE
    if np.count_nonzero(clear) < 0.25 * count:
        return float("inf")
    values = np.einsum("ijk,ik->ij", mean[clear], step[clear] / size[clear, None])
    slope = np.abs(values[:, 2:] - values[:, :-2]).max(axis=1)
    return float(np.median(size[clear] / np.maximum(slope, 1e-6)))
