"""The homography most edge points agree on, and how far it may be off.

Many edge points are wrong together: a rim in the lamp's shade is seen too far inwards for a quarter
of the outline. A fit that starts from all of them follows the middle. Here small samples propose
(Fischler and Bolles, Comm. ACM 24 (1981) 381-395), a truncated loss chooses (Torr and Zisserman,
CVIU 78 (2000) 138-156), and Tukey weights finish. Two more unknowns beside the eight take up what a
camera's tone curve does to edges: a shift towards the bright side, and one that changes sign where
the UV photograph is bright on the other side. Priors say that a camera was bumped, no more:
perspective of ``BUMP``, 4 pixels at the rim of a frame of 2000, about half a degree of tilt.

The expected error comes from the curvature of the loss, as if ``TOGETHER`` neighbouring points were
one, for they err together. Stops holding where nearly all edges are wrong the same way.

A rounded rim that turns away from a lamp is dark, so that the body seems to end inside itself there
and not on the side towards the lamp: up to a millimetre and a half that follow the direction of the
rim, and that a shift of the camera would explain as well. Where the outline is known, its points
have five unknowns of their own for that (a surface of second order over the rim's direction), they
propose less, and what lies inside decides.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.edge_match import Matches, Points

Vector = NDArray[np.float64]
AFFINE, BUMP, TONE = 0.02, 0.004, 0.5
SHAPE = 0.002
"""A camera that turns or slides before a plane squeezes and shears it to second order only."""
NEAR = 0.006
SAMPLES, SAMPLE, TRIED = 400, 6, 6
RIM_PROPOSES = 0.15
POINT, TOGETHER = 0.3, 10.0
NARROWING = (2.0, 1.5, 1.0, 1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Middle and half length of the frame: homographies are fitted in coordinates of ±1."""

    middle: Vector
    unit: float

    def change(self, step: Vector) -> NDArray[np.float64]:
        """The map of pixels that the first eight numbers of *step* stand for."""
        back = np.array([[self.unit, 0, self.middle[0]], [0, self.unit, self.middle[1]], [0, 0, 1]])
        change = np.array(
            [[1 + step[0], step[1], step[2]], [step[3], 1 + step[4], step[5]], [*step[6:8], 1.0]]
        )
        return np.asarray(back @ change @ np.linalg.inv(back), dtype=float)

    def equations(self, points: Points, normals: Points) -> NDArray[np.float64]:
        """The derivative of the shift along each normal by the eight numbers, px."""
        x, y = ((points - self.middle) / self.unit).T
        nx, ny = normals.T
        along = nx * x + ny * y
        columns = [nx * x, nx * y, nx, ny * x, ny * y, ny, -x * along, -y * along]
        return np.column_stack(columns) * self.unit


@dataclass(frozen=True, slots=True, eq=False)
class Agreement:
    """Ten numbers, weights of the points from 0 to 1, and what all of it is worth.

    Where the rim is known five more numbers follow, for what shade does to it.
    """

    step: Vector
    weights: Vector
    support: float
    spread: float
    design: NDArray[np.float64]
    prior: NDArray[np.float64]


def _prior(affine: float, more: int, rim_px: float, *, one_stand: bool) -> NDArray[np.float64]:
    """What is known before: precisions of the eight numbers, of two of tone, of *more* of shade."""
    spread = [affine] * 6 + [BUMP] * 2 + [TONE] * 2 + [rim_px] * more
    known = np.diag(np.array(spread) ** -2.0)
    for one, other, sign in ((0, 4, -1.0), (1, 3, 1.0)) if one_stand else ():
        along = np.zeros(len(known))
        along[one], along[other] = np.sqrt(0.5), sign * np.sqrt(0.5)
        known += np.outer(along, along) * SHAPE**-2.0
    return np.asarray(known, dtype=float)


def agree(
    matches: Matches, frame: Frame, tolerance: float, *, one_stand: bool = False
) -> Agreement:
    """Find what most *matches* agree on to *tolerance* pixels; the same for the same matches.

    With *one_stand* the camera stood before one plane in both: nothing is squeezed or sheared.
    """
    ones = np.ones_like(matches.shift)
    design = np.column_stack(
        [frame.equations(matches.points, matches.normals), ones, matches.rising, _shade(matches)]
    )
    more = design.shape[1] - 10
    loose, close = (
        _prior(one, more, max(matches.rim_px, 1e-3), one_stand=one_stand) for one in (AFFINE, NEAR)
    )
    shift, prior = matches.shift, matches.weight
    proposes = prior * np.where(matches.on_rim, RIM_PROPOSES, 1.0)
    draw = np.random.default_rng(0)
    chosen = draw.choice(len(shift), (SAMPLES, SAMPLE), p=proposes / proposes.sum())
    rows, wanted = design[chosen] / (0.5 * POINT), shift[chosen] / (0.5 * POINT)
    normal = rows.transpose(0, 2, 1) @ rows + close
    proposed = np.linalg.solve(normal, rows.transpose(0, 2, 1) @ wanted[..., None])[..., 0]
    left = shift[:, None] - design @ proposed.T
    worth = proposes @ _tukey(left, 2 * tolerance)
    best: tuple[float, Vector, Vector] | None = None
    certain = POINT**2 * TOGETHER
    for i in np.argsort(-worth, kind="stable")[:TRIED]:
        step = proposed[i]
        for wider in NARROWING:
            weighted = design * (_tukey(shift - design @ step, wider * tolerance) * prior)[:, None]
            step = np.linalg.solve(weighted.T @ design + loose * certain, weighted.T @ shift)
        weights = _tukey(shift - design @ step, tolerance)
        support = float(weights @ prior - 0.5 * certain * (step @ loose @ step))
        if best is None or support > best[0]:
            best = support, step, weights
    if best is None:
        raise AssertionError("no sample was tried")
    support, step, weights = best
    kept = weights > 0.01
    size = np.abs(shift - design @ step)[kept]
    spread = 1.4826 * weighted_median(size, prior[kept]) if kept.any() else tolerance
    return Agreement(step, weights, support, spread, design, loose)


def _shade(matches: Matches) -> NDArray[np.float64]:
    """How a displacement of the rim along its outward normal shows along each point's normal."""
    if not matches.on_rim.any():
        return np.zeros((len(matches.shift), 0))
    ox, oy = matches.outward.T
    shows = (matches.outward * matches.normals).sum(axis=1)
    terms = [np.ones_like(ox), ox, oy, ox * ox - oy * oy, 2 * ox * oy]
    return np.asarray(np.column_stack(terms) * shows[:, None], dtype=float)


def expected_error(matches: Matches, found: Agreement, frame: Frame) -> float:
    """The root mean square error to be expected between the points that agree, px."""
    kept = found.weights > 0.1
    if np.count_nonzero(kept) < 3:
        return float("inf")
    weighted = found.design * (found.weights * matches.weight)[:, None]
    noise = max(found.spread, 0.1) ** 2 * TOGETHER
    covariance = np.linalg.inv(weighted.T @ found.design / noise + found.prior)[:8, :8]
    places = body_grid(matches.points[kept])
    square = 0.0
    for axis in ((1.0, 0.0), (0.0, 1.0)):
        rows = frame.equations(places, np.tile(axis, (len(places), 1)))
        square += float(np.einsum("ni,ij,nj->n", rows, covariance, rows).mean())
    return float(np.sqrt(square))


def body_grid(points: Points) -> Points:
    """A grid of at most 256 places within the convex hull of *points*."""
    hull = cv2.convexHull(points.astype(np.float32))
    low, high = points.min(axis=0), points.max(axis=0)
    x, y = np.meshgrid(*(np.linspace(a, b, 16) for a, b in zip(low, high, strict=True)))
    grid = np.column_stack([x.ravel(), y.ravel()])
    inside = [cv2.pointPolygonTest(hull, (float(a), float(b)), False) >= 0 for a, b in grid]
    return grid[inside] if any(inside) else points


def _tukey(left: NDArray[np.float64], width: float) -> NDArray[np.float64]:
    return np.asarray(np.clip(1 - (left / width) ** 2, 0, None) ** 2, dtype=float)


def weighted_median(values: Vector, weights: Vector) -> float:
    """The value that half of the weight lies below."""
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(total, 0.5 * total[-1])])
