"""A proposal for the outline of the body, to be corrected by hand.

The background is taken from the border of the frame as a smooth surface of colour; what differs
from it, seeded into GrabCut (Rother, Kolmogorov and Blake, ACM ToG 23 (2004) 309-314, as in
OpenCV), is the instrument. The neck is cut off where it leaves the frame, and the contour is moved
to the steepest place nearby. Stops holding where the body has the colour of the background, where
it touches the border, and where anything but the neck leaves the frame.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import linear, part_proposal, structure
from heelstamp.luminescence.findings import Masks, Points, Reason
from heelstamp.luminescence.linear import Bytes, Float
from heelstamp.luminescence.structure import Matrix

Mask = NDArray[np.bool_]
SMALL, LARGE = 400, 1200
BORDER = 0.05
LEAST_DIFFERENCE = 5.0
LEAST_SHARE, MOST_SHARE = 0.08, 0.85
NECK_WIDENS = 1.45
NOT_FOUND = Reason(
    "body not found",
    "the body does not stand out from the background",
    "Draw its outline, or photograph it on an even background of another brightness.",
)
PROPOSAL_COSTS = Reason(
    "masks not looked at",
    "the proposal may miss a part of the coat's own colour, which then shows as a dark region with "
    "a hard border, and may take wear with a crisp border for a part; the assessed area, and areas "
    "that touch the proposed outline or parts, are not given",
    "Correct the proposed masks, and hand them in.",
)

MAY_BE_PARTS = "parts not drawn"
UNDRAWN = "no_glow"


def may_be_parts(centres: Sequence[tuple[float, float]]) -> Reason:
    """Tell places that hardly glow behind a hard border and that nobody has looked at."""
    places = "; ".join(f"{x:.0f}, {y:.0f}" for x, y in centres)
    return Reason(
        MAY_BE_PARTS,
        f"places that hardly glow behind a hard border, as parts do, were left out (around {places}"
        " in pixels)",
        f"They stand in the proposed masks as {UNDRAWN}_1 and so on: take out those that are coat.",
    )


def filled(polygon: Points, place: Matrix, shape: tuple[int, int]) -> Mask:
    """The pixels of an image of *shape* inside *polygon* mapped by *place*."""
    at = structure.apply(place, np.asarray(polygon, dtype=float))
    canvas = np.zeros(shape, np.uint8)
    cv2.fillPoly(canvas, [np.round(np.clip(at, -3e4, 3e4) * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    return canvas.astype(bool)


def propose(visible: Bytes) -> Masks | None:
    """Propose outline and parts from the visible photograph.

    Parameters
    ----------
    visible
        RGB code values, 8 bits.

    Returns
    -------
    Masks or None
        In pixels of *visible*; None when no body stands out.
    """
    small, _ = structure.reduce_to(visible, SMALL)
    lab = linear.lab(linear.decode(cv2.GaussianBlur(small, (0, 0), 0.8).astype(np.uint8)))
    instrument = _instrument(small, lab)
    if instrument is None:
        return None
    body = _without_neck(instrument)
    if not LEAST_SHARE < body.mean() < MOST_SHARE:
        return None
    contour = _largest_contour(body)
    to_full = structure.between(small.shape, visible.shape)
    outline = _snapped(visible, structure.apply(to_full, contour))
    parts = part_proposal.parts(visible, outline)
    neck = instrument & ~body
    if np.count_nonzero(neck) > 0.002 * neck.size:
        strip = structure.apply(to_full, _largest_contour(neck))
        parts = (("neck", strip), *parts)
    return Masks(outline, parts)


def _instrument(small: Bytes, lab: Float) -> Mask | None:
    """What is not background, the largest piece, holes filled."""
    difference, spread = _from_background(lab)
    sure = difference > max(LEAST_DIFFERENCE, 4.0 * spread)
    share = float(sure.mean())
    if not 0.5 * LEAST_SHARE < share < 0.95:
        return None
    labels = np.where(sure, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    core = cv2.erode(sure.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    calm = difference < max(0.5 * LEAST_DIFFERENCE, 1.5 * spread)
    far = cv2.erode((~sure).astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    labels[core & (difference > 2 * max(LEAST_DIFFERENCE, 4.0 * spread))] = cv2.GC_FGD
    labels[calm & far] = cv2.GC_BGD
    if not (labels == cv2.GC_FGD).any() or not (labels == cv2.GC_BGD).any():
        return _solid(sure)
    try:
        cv2.setRNGSeed(0)
        cv2.grabCut(
            np.ascontiguousarray(small[..., ::-1]),
            labels,
            (0, 0, 1, 1),
            np.zeros((1, 65)),
            np.zeros((1, 65)),
            3,
            cv2.GC_INIT_WITH_MASK,
        )
    except cv2.error:
        return _solid(sure)
    return _solid((labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD))


def _from_background(lab: Float) -> tuple[Float, float]:
    """The colour difference from a quadratic surface fitted to the frame's border."""
    h, w = lab.shape[:2]
    ys, xs = np.mgrid[0:h, 0:w]
    x, y = (xs / w - 0.5).ravel(), (ys / h - 0.5).ravel()
    design = np.column_stack([np.ones_like(x), x, y, x * x, x * y, y * y])
    edge = max(3, round(BORDER * min(h, w)))
    border = np.ones((h, w), bool)
    border[edge:-edge, edge:-edge] = False
    values = lab.reshape(-1, 3).astype(float)
    at = np.flatnonzero(border)
    weights = np.ones(len(at))
    median = np.median(values[at], axis=0)
    coefficients = np.zeros((6, 3))
    for turn in range(12):
        if turn:
            left = np.linalg.norm(values[at] - design[at] @ coefficients, axis=1)
        else:
            left = np.linalg.norm(values[at] - median, axis=1)
        scale = 1.4826 * float(np.median(left)) + 0.5
        weights = np.clip(1 - (left / (4.7 * scale)) ** 2, 0, None) ** 2
        weighted = design[at] * weights[:, None]
        coefficients = np.linalg.solve(
            design[at].T @ weighted + 1e-3 * np.eye(6), weighted.T @ values[at]
        )
    left = np.linalg.norm(values[at] - design[at] @ coefficients, axis=1)
    difference = np.linalg.norm(values - design @ coefficients, axis=1).reshape(h, w)
    return difference.astype(np.float32), float(np.median(left))


def _solid(mask: Mask) -> Mask:
    """The largest piece after a small opening, holes filled."""
    opened = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(opened, connectivity=4)
    if count < 2:
        return mask
    largest = labels == 1 + int(stats[1:, cv2.CC_STAT_AREA].argmax())
    outside = cv2.copyMakeBorder(
        (~largest).astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=1
    )
    flood = np.zeros((outside.shape[0] + 2, outside.shape[1] + 2), np.uint8)
    cv2.floodFill(outside, flood, (0, 0), 2)
    return np.asarray(outside[1:-1, 1:-1] != 2, dtype=bool)


def _without_neck(instrument: Mask) -> Mask:
    """Cut off what leaves the frame as a strip of even width, up to where it widens."""
    h, w = instrument.shape
    sides = {
        "left": instrument[:, 0],
        "right": instrument[:, -1],
        "top": instrument[0],
        "bottom": instrument[-1],
    }
    side = max(sides, key=lambda name: int(sides[name].sum()))
    if sides[side].sum() < 0.02 * min(h, w):
        return instrument
    turned = {"left": 0, "top": 1, "right": 2, "bottom": 3}[side]
    upright = np.rot90(instrument, turned).copy()
    rows = np.flatnonzero(upright[:, 0])
    width, middle = len(rows), int(np.median(rows))
    for x in range(upright.shape[1]):
        column = upright[:, x]
        if not column[middle]:
            break
        above = np.flatnonzero(~column[:middle])
        below = np.flatnonzero(~column[middle:])
        top = int(above[-1]) + 1 if len(above) else 0
        bottom = middle + int(below[0]) if len(below) else len(column)
        if bottom - top > NECK_WIDENS * width:
            break
        upright[top:bottom, x] = False
        middle = (top + bottom) // 2
    body = np.rot90(upright, -turned)
    return _solid(np.ascontiguousarray(body))


def _largest_contour(mask: Mask) -> Points:
    contours = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0]
    return np.asarray(max(contours, key=cv2.contourArea)[:, 0, :], dtype=float)


def _snapped(visible: Bytes, contour: Points) -> Points:
    """Move contour points along their normals to the steepest place within about 6 mm."""
    large, factor = structure.reduce_to(visible, LARGE)
    grey = structure.blurred(structure.grey(large), 1.0)
    size = cv2.magnitude(cv2.Sobel(grey, cv2.CV_32F, 1, 0), cv2.Sobel(grey, cv2.CV_32F, 0, 1))
    n = 480
    points = _smoothed(_evenly(contour, n), 2.0)
    tangent = np.roll(points, -2, 0) - np.roll(points, 2, 0)
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True) + 1e-9
    reach = 12
    t = np.arange(-reach, reach + 1, dtype=float) * (LARGE / 1200)
    place = structure.between(visible.shape, large.shape)
    at = structure.apply(place, points)[:, None, :] + t[None, :, None] * normal[:, None, :]
    maps = at.astype(np.float32)
    profile = np.asarray(cv2.remap(size, maps[..., 0], maps[..., 1], cv2.INTER_LINEAR), dtype=float)
    profile *= np.exp(-0.5 * (t / 6.0) ** 2)
    shift = t[profile.argmax(axis=1)]
    padded = np.concatenate([shift[-5:], shift, shift[:5]])
    windows = np.lib.stride_tricks.sliding_window_view(padded, 11)
    steady = np.median(windows, axis=1)
    return np.asarray(points + (steady / factor)[:, None] * normal, dtype=float)


def _evenly(contour: Points, n: int) -> Points:
    closed = np.vstack([contour, contour[:1]])
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))]
    at = np.linspace(0, along[-1], n, endpoint=False)
    return np.column_stack([np.interp(at, along, closed[:, k]) for k in (0, 1)])


def _smoothed(points: Points, sigma: float) -> Points:
    reach = int(3 * sigma)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    kernel /= kernel.sum()
    padded = np.vstack([points[-reach:], points, points[:reach]])
    return np.column_stack([np.convolve(padded[:, k], kernel, "valid") for k in (0, 1)])
