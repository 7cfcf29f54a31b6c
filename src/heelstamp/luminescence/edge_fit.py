"""Last fraction of a pixel: the homography that single edge points agree on.

Two ways lead to an answer, because each alone ends in a wrong place in a few pairs of a hundred:
straight from the rough position in linear light, and over a fit in code values (Tukey weights,
Beaton and Tukey, Technometrics 16 (1974) 147-185; first a shift, then an affine map, then a
homography). The answer with more support is kept; how far the other one lies from it, if nearly as
many edges bear it out, is told as ``rival``. Where outline and parts are drawn the fit is made of
all edges and of those that the lamp does not move; the first is kept where the second does not
contradict it. Stops holding when the start is farther off than the
first reach.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import consensus, structure
from heelstamp.luminescence.consensus import Frame
from heelstamp.luminescence.drawn import Bands
from heelstamp.luminescence.edge_match import (
    Edges,
    Gradient,
    Matches,
    Points,
    edge_points,
    gradient,
    match,
)
from heelstamp.luminescence.linear import Float
from heelstamp.luminescence.structure import Matrix

LEAST_POINTS = 60
DIRECT, OVER_CODE, IN_CODE = (8, 5, 3), (6, 4, 3), (10, 6)
TOLERANCE = 0.6
TUKEY = 4.685
STAGES = ([2, 5], [0, 1, 2, 3, 4, 5], [0, 1, 2, 3, 4, 5, 6, 7])
STIFFNESS = np.array([1e-9] * 6 + [1e-2] * 2)
NEARLY = 0.85
CONTRADICTS, CONTRADICTS_MM = 2.0, 0.4
"""Fits that lie further apart than so many expected errors, or so far, contradict one another."""


@dataclass(frozen=True, slots=True, eq=False)
class EdgeFit:
    """A refined warp visible → UV and how well it is borne out, px at the working size.

    ``spread`` is the robust spread of what is left; ``agreeing`` the share of edge points that
    agree among those with an edge near them in the UV photograph; ``expected`` the root mean square
    error to be expected over the body; ``rival`` the distance of another fit that nearly as many
    edges bear out, nought without one.
    """

    warp: Matrix
    spread: float
    agreeing: float
    points: int
    expected: float
    rival: float
    support: float
    grid: Points


def refine(
    here: Float,
    there: Float,
    warp: Matrix,
    *,
    light: tuple[Float, Float] | None = None,
    bands: Bands | None = None,
    lamp: float | None = None,
) -> EdgeFit | None:
    """Refine *warp* (here → there).

    Parameters
    ----------
    here, there
        Brightness of both photographs at the working size, code values.
    light
        The same in linear light; *here* and *there* are taken for it when None.
    bands
        Where rim and parts lie in *here*, when that is known.
    lamp
        From where the light of *there* comes, degrees in the picture; None where that is unknown.

    Returns
    -------
    EdgeFit or None
        None when too few edge points are found again or the fit runs away.
    """
    points, normals = edge_points(here)
    if len(points) < LEAST_POINTS:
        return None
    frame = Frame(np.array(here.shape[::-1]) / 2.0, max(here.shape) / 2.0)
    linear = light or (here, there)
    views = _Views(
        (gradient(linear[0]), gradient(linear[1])),
        (gradient(here), gradient(there)),
        warp,
        frame,
        one_stand=bands is not None,
    )
    plain = views.fitted(Edges.alike(points, normals))
    if bands is None:
        return plain
    shaded = views.fitted(_known(points, normals, bands, lamp))
    if plain is None or shaded is None:
        return plain or shaded
    # all edges tell more, unless those that no shade moves contradict them
    most = min(CONTRADICTS * shaded.expected, CONTRADICTS_MM * bands.per_mm)
    return plain if _apart(plain, shaded) <= most else shaded


@dataclass(frozen=True, slots=True, eq=False)
class _Views:
    """Both photographs in linear light and in code values, and where the fit begins."""

    light: tuple[Gradient, Gradient]
    code: tuple[Gradient, Gradient]
    warp: Matrix
    frame: Frame
    one_stand: bool
    """Outline and parts are drawn for one sitting: camera and body stayed but for a push."""

    def fitted(self, edges: Edges) -> EdgeFit | None:
        """Go both ways, keep the better borne out, and tell how far the other lies from it."""
        frame = self.frame
        found = [self._agreed(edges, self.warp, DIRECT)]
        over = _in_code(edges, self.code, self.warp, frame)
        if over is not None:
            found.append(self._agreed(edges, over, OVER_CODE))
        fits = sorted((f for f in found if f is not None), key=lambda f: -f.support)
        if not fits:
            return None
        rivals = [_apart(fits[0], f) for f in fits[1:] if f.support > NEARLY * fits[0].support]
        return replace(fits[0], rival=rivals[-1] if rivals else 0.0)

    def _agreed(self, edges: Edges, warp: Matrix, reaches: tuple[int, ...]) -> EdgeFit | None:
        begun = _similar(warp, self.frame) if self.one_stand else warp
        return _agreed(edges, self.light, begun, self.frame, reaches, one_stand=self.one_stand)


def _apart(one: EdgeFit, other: EdgeFit) -> float:
    """The root mean square distance of two fits over the body, px."""
    away = structure.apply(other.warp, one.grid) - structure.apply(one.warp, one.grid)
    return float(np.sqrt((away**2).sum(axis=1).mean()))


def _known(points: Points, normals: Points, bands: Bands, lamp: float | None) -> Edges:
    x, y = np.round(points).astype(int).T
    counts = bands.lit(lamp)[y, x].astype(float)
    return Edges(points, normals, counts, bands.outward(points), bands.rim_px)


def _similar(warp: Matrix, frame: Frame) -> Matrix:
    """The turn, scale and shift nearest to *warp* over the frame; perspective is kept out."""
    corners = frame.middle + frame.unit * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * 0.6
    there = structure.apply(warp, corners)
    here = corners - corners.mean(axis=0)
    moved = there - there.mean(axis=0)
    below = float((here**2).sum())
    turn = float((here[:, 0] * moved[:, 1] - here[:, 1] * moved[:, 0]).sum()) / below
    scale = float((here * moved).sum()) / below
    spin = np.array([(scale, -turn), (turn, scale)])
    matrix = np.eye(3)
    matrix[:2, :2] = spin
    matrix[:2, 2] = there.mean(axis=0) - spin @ corners.mean(axis=0)
    return matrix


def _agreed(
    edges: Edges,
    gradients: tuple[Gradient, Gradient],
    warp: Matrix,
    frame: Frame,
    reaches: tuple[int, ...],
    *,
    one_stand: bool,
) -> EdgeFit | None:
    """Match and agree again with ever smaller reach."""
    fit: EdgeFit | None = None
    for reach in reaches:
        matches = match(edges, *gradients, warp, reach)
        if len(matches.shift) < LEAST_POINTS:
            return None
        found = consensus.agree(matches, frame, TOLERANCE, one_stand=one_stand)
        warp = _moved(warp, found.step, frame)
        kept = found.weights > 0.1
        if not np.isfinite(warp).all() or np.abs(found.step[:8]).max() > 0.1 or kept.sum() < 12:
            return None
        fit = EdgeFit(
            warp,
            found.spread,
            float(kept.sum() / max(matches.found, 1)),
            len(edges.points),
            consensus.expected_error(matches, found, frame),
            0.0,
            found.support,
            consensus.body_grid(matches.points[kept]),
        )
    return fit


def _moved(warp: Matrix, step: NDArray[np.float64], frame: Frame) -> Matrix:
    moved = warp @ frame.change(step)
    return np.asarray(moved / moved[2, 2], dtype=float)


def _in_code(
    edges: Edges, gradients: tuple[Gradient, Gradient], warp: Matrix, frame: Frame
) -> Matrix | None:
    """Fit in code values: less exact, but its weights begin from all edges together."""
    for reach in IN_CODE:
        matches = match(edges, *gradients, warp, reach)
        if len(matches.shift) < LEAST_POINTS:
            return None
        warp = _moved(warp, _staged(matches, frame, reach / 10), frame)
    return warp if np.isfinite(warp).all() else None


def _staged(matches: Matches, frame: Frame, floor: float) -> NDArray[np.float64]:
    """Fit shift, then affine map, then homography, each starting from the weights of the last.

    The simple map cannot follow a rim that lies in the lamp's shade on one side only, so that such
    points are out before the homography could.
    """
    design = frame.equations(matches.points, matches.normals)
    weights = np.ones_like(matches.shift)
    step = np.zeros(8)
    for columns in STAGES:
        part = design[:, columns]
        for _ in range(10):
            weighted = part * (weights**2 * matches.weight)[:, None]
            normal = part.T @ weighted
            normal += np.diag(STIFFNESS[columns] * np.trace(normal))
            solved = np.linalg.solve(normal, weighted.T @ matches.shift)
            left = np.abs(matches.shift - part @ solved)
            spread = 1.4826 * consensus.weighted_median(left, matches.weight) + 1e-9
            weights = np.clip(1 - (left / (TUKEY * max(spread, floor))) ** 2, 0, None)
        step = np.zeros(8)
        step[columns] = solved
    return step
