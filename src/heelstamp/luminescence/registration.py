"""Laying the UV photograph over the visible one.

Correlation of edges over the whole frame gives starts (several turns, upright and upside down, and
mirrored ones that expose a wrong side); enhanced correlation (Evangelidis and Psarakis, IEEE TPAMI
30(10) (2008) 1858-1865, as in OpenCV) refines them up a pyramid, affine only, because the shaded
rim of a body bends a homography; ``edge_fit`` then fits the homography to single edge points in
linear light and states the error to be expected, and tiles (``tile_check``) verify it.
Stops holding for a camera that moved far enough to see round the body (parallax), and for lenses
with strong distortion.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.errors import InputError
from heelstamp.luminescence import edge_fit, exact, structure, tile_check
from heelstamp.luminescence.drawn import Bands, Drawn
from heelstamp.luminescence.linear import Bytes, Float
from heelstamp.luminescence.structure import Matrix

COARSE, MIDDLE, FINE = 250, 500, 2000
TURNS = (0.0, -3.0, 3.0, 180.0, 177.0, 183.0)
UNSHADED = 0.3
"""Share of the tiles that is looked at where the lamp stood at one side: the others may hold shade,
which begins where no edge of the visible photograph is."""
STEPS = {COARSE: 60, MIDDLE: 40}
PointPair = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Registration:
    """UV → visible in pixels of the photographs as taken, and how well it is borne out.

    ``correlation`` is that of normalised edges at 500 px; ``residual`` the median of tile
    residuals, or their ``UNSHADED`` quantile under a lamp at one side, and ``spread`` the
    robust spread of edge points along their normals, both in pixels of the visible photograph;
    ``agreeing`` and ``good_tiles`` the shares of edge points and tiles that were found again.
    ``upright`` and ``mirrored`` are the best correlations at 250 px of the photograph as taken
    and mirrored; ``expected`` is the root mean square error to be expected over the body and
    ``rival`` how far another fit lies that nearly as many edges bear out, both in pixels of the
    visible photograph; ``turned`` says that the UV photograph stood upside down; ``lamp_from``
    is the direction of the UV light where outline and parts are drawn and it tells.
    """

    transform: Matrix
    correlation: float
    residual: float
    spread: float
    agreeing: float
    expected: float
    rival: float
    good_tiles: float
    tiles: int
    upright: float
    mirrored: float
    turned: bool
    by_points: bool = False
    lamp_from: float | None = None

    @property
    def stated(self) -> float:
        """Error over the body that must be reckoned with, px: twice the expected, and the rival."""
        return float(np.hypot(2.0 * self.expected, self.rival))


@dataclass(frozen=True, slots=True)
class _Start:
    score: float
    warp: Matrix
    turned: bool


def register(
    visible: Bytes,
    uv: Bytes,
    *,
    drawn: Drawn | None = None,
    coarse_done: Callable[[Matrix], None] | None = None,
) -> Registration | None:
    """Find the homography that lays *uv* over *visible*.

    Parameters
    ----------
    visible, uv
        RGB code values; they may differ in size and are worked on at 2000 px at most.
    drawn
        Outline and parts in *visible*, when known: edges that a lamp moves count little.
    coarse_done
        Called with the first rough UV → visible map, for a preview.

    Returns
    -------
    Registration or None
        None when no start converged. Judge the figures with ``gates``.
    """
    levels = _Pyramid(visible, uv)
    starts = _starts(levels.edges(0, COARSE), levels.edges(1, COARSE), mirrored=False)
    refined = [one for s in starts[:3] if (one := levels.refine(s, (COARSE,))) is not None]
    if not refined:
        return None
    if coarse_done is not None:
        coarse_done(np.linalg.inv(max(refined, key=lambda one: one.score).warp))
    # a sunburst has edges at 250 px that do not glow: its first start may be better unrefined
    first = _Start(0.0, levels.to_full(starts[0].warp, COARSE), starts[0].turned)
    tried = _apart([*refined, first])
    finer = [one for s in tried if (one := levels.refine(s, (MIDDLE,))) is not None]
    best = max(finer or refined, key=lambda one: one.score)
    mirrored = 0.0
    for start in _starts(levels.edges(0, COARSE), levels.edges(1, COARSE), mirrored=True)[:1]:
        found = levels.refine(start, (COARSE,))
        mirrored = 0.0 if found is None else found.score
    coarse = (max(one.score for one in refined), mirrored)
    return _verified(levels, best.warp, best.score, coarse, turned=best.turned, drawn=drawn)


def from_points(
    visible: Bytes, uv: Bytes, pairs: Sequence[PointPair], *, drawn: Drawn | None = None
) -> Registration:
    """Lay *uv* over *visible* by four or more points that a person marked in both.

    Parameters
    ----------
    pairs
        ((x, y) in the visible photograph, (x, y) in the UV photograph), pixels.
    drawn
        As for ``register``.

    Raises
    ------
    InputError
        Fewer than four points, or points on one line.
    """
    here = np.array([p[0] for p in pairs], dtype=float).reshape(-1, 2)
    there = np.array([p[1] for p in pairs], dtype=float).reshape(-1, 2)
    matrix = None
    if len(pairs) >= 4 and _spread(here) > 0.02 and _spread(there) > 0.02:
        matrix, _ = cv2.findHomography(here, there, 0)
    if matrix is None or abs(float(np.linalg.det(matrix))) < 1e-9:
        raise InputError(
            "four points that do not fix the position",
            where="points in both photographs",
            received=list(pairs),
            remedy="Mark four points spread over the body, no three of them on one line.",
        )
    levels = _Pyramid(visible, uv)
    start = _Start(0.0, np.asarray(matrix, dtype=float), turned=False)
    return _verified(levels, start.warp, 1.0, (1.0, 0.0), turned=False, by_points=True, drawn=drawn)


def _spread(points: NDArray[np.float64]) -> float:
    """The smaller over the larger extent of the points."""
    s = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    return float(s[1] / s[0]) if s[0] > 0 else 0.0


def _apart(starts: list[_Start]) -> list[_Start]:
    """Leave out starts that arrived where a better one did."""
    kept: list[_Start] = []
    corner = np.array([(0.0, 0.0), (1000.0, 0.0), (0.0, 1000.0)])
    for one in sorted(starts, key=lambda start: -start.score):
        at = structure.apply(one.warp, corner)
        if all(np.abs(at - structure.apply(k.warp, corner)).max() > 8.0 for k in kept):
            kept.append(one)
    return kept


class _Pyramid:
    """Both photographs reduced once to each size, with their edges."""

    def __init__(self, visible: Bytes, uv: Bytes) -> None:
        self.full = (visible.shape, uv.shape)
        tops = [structure.reduce_to(one, FINE)[0] for one in (visible, uv)]
        self.greys: list[Float] = [structure.grey(top) for top in tops]
        self.lights = structure.light(visible, FINE), structure.light(uv, FINE)
        self._kept: dict[tuple[int, int], Float] = {}

    def edges(self, which: int, size: int) -> Float:
        """Edges of the visible (0) or UV (1) photograph at *size* pixels."""
        if (which, size) not in self._kept:
            small = structure.reduce_to(self.greys[which], size)[0]
            blur = 1.0 if size > COARSE else 1.2
            self._kept[which, size] = structure.edges(
                np.asarray(small, dtype=np.float32), blur=blur
            )
        return self._kept[which, size]

    def to_level(self, warp: Matrix, size: int) -> Matrix:
        """A full-size visible → UV warp at the pyramid's *size*."""
        a = structure.between(self.full[0], self.edges(0, size).shape)
        b = structure.between(self.full[1], self.edges(1, size).shape)
        return np.asarray(b @ warp @ np.linalg.inv(a), dtype=float)

    def to_full(self, warp: Matrix, size: int) -> Matrix:
        """Undo ``to_level``."""
        a = structure.between(self.full[0], self.edges(0, size).shape)
        b = structure.between(self.full[1], self.edges(1, size).shape)
        full = np.linalg.inv(b) @ warp @ a
        return np.asarray(full / full[2, 2], dtype=float)

    def refine(self, start: _Start, sizes: Sequence[int]) -> _Start | None:
        """Climb the pyramid by enhanced correlation; None when it does not converge.

        A start at the coarse size is in that size's pixels, any other in full pixels.
        """
        warp, score = start.warp, start.score
        for size in sizes:
            level = warp if size == COARSE else self.to_level(warp, size)
            found = _ecc(self.edges(0, size), self.edges(1, size), level, STEPS[size])
            if found is None:
                return None
            score, level = found
            warp = self.to_full(level, size)
        return _Start(score, warp, start.turned)


def _ecc(here: Float, there: Float, warp: Matrix, steps: int) -> tuple[float, Matrix] | None:
    """Refine an affine map *here* → *there*; None when the correlation does not converge."""
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, steps, 1e-5)
    start = (warp / warp[2, 2])[:2].astype(np.float32)
    try:
        score, found = cv2.findTransformECC(
            here, there, start, cv2.MOTION_AFFINE, criteria, None, 3
        )  # type: ignore[call-overload]
    except cv2.error:
        return None
    matrix = np.vstack([np.asarray(found, dtype=float), (0.0, 0.0, 1.0)])
    if not np.isfinite(matrix).all() or not _sane(matrix, here.shape):
        return None
    return float(score), matrix


def _sane(matrix: Matrix, shape: tuple[int, ...]) -> bool:
    """Say whether the frame keeps its shape within a fifth: a camera moved, nothing was folded."""
    h, w = shape[:2]
    corners = np.array([(0, 0), (w, 0), (w, h), (0, h)], dtype=float)
    moved = structure.apply(matrix, corners)
    sides = np.linalg.norm(np.roll(moved, -1, 0) - moved, axis=1) / (w, h, w, h)
    return bool(np.isfinite(sides).all() and sides.min() * 1.2 > sides.max() and sides.min() > 0.3)


def _starts(here: Float, there: Float, *, mirrored: bool) -> list[_Start]:
    """Starts in coarse pixels, best first, from correlations over the whole frame."""
    h, w = here.shape
    n = (
        cv2.getOptimalDFTSize(2 * max(h, there.shape[0])),
        cv2.getOptimalDFTSize(2 * max(w, there.shape[1])),
    )
    fixed = here - float(here.mean())
    spectrum = np.fft.rfft2(fixed, n)
    found = []
    for turn in TURNS:
        place = _turned(there.shape, (h, w), turn, mirrored=mirrored)
        moving = cv2.warpPerspective(
            there, place, (w, h), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        )
        moving = moving - float(moving.mean())
        surface = np.fft.irfft2(spectrum.conj() * np.fft.rfft2(moving, n), n)
        y, x = np.unravel_index(int(surface.argmax()), surface.shape)
        norm = float(np.linalg.norm(fixed) * np.linalg.norm(moving)) + 1e-9
        dy, dx = (int(v) if v <= m // 2 else int(v) - m for v, m in ((y, n[0]), (x, n[1])))
        shift = np.array([[1.0, 0.0, dx], [0.0, 1.0, dy], [0.0, 0.0, 1.0]])
        score = float(surface[y, x]) / norm
        found.append(_Start(score, place @ shift, turned=abs(turn) > 90))
    return sorted(found, key=lambda one: -one.score)


def _turned(
    there: tuple[int, ...], here: tuple[int, ...], degrees: float, *, mirrored: bool
) -> Matrix:
    """The map here → there that turns about the middle, and mirrors if asked."""
    a = np.radians(degrees)
    scale = max(there) / max(here)
    flip = -1.0 if mirrored else 1.0
    spin = scale * np.array([(np.cos(a), -np.sin(a) * flip), (np.sin(a), np.cos(a) * flip)])
    middle_here = np.array([here[1] - 1, here[0] - 1]) / 2
    middle_there = np.array([there[1] - 1, there[0] - 1]) / 2
    matrix = np.eye(3)
    matrix[:2, :2] = spin
    matrix[:2, 2] = middle_there - spin @ middle_here
    return matrix


def _bands(
    levels: _Pyramid, warp: Matrix, drawn: Drawn | None
) -> tuple[Bands | None, float | None]:
    """Bands along what is drawn at the working size, and from where the UV light comes."""
    if drawn is None:
        return None, None
    h, w = levels.lights[0].shape
    bands = drawn.at(structure.between(levels.full[0], (h, w))).bands((h, w))
    laid = cv2.warpPerspective(
        levels.lights[1], warp, (w, h), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    )
    return bands, bands.lamp(np.asarray(laid, dtype=np.float32))


def _verified(
    levels: _Pyramid,
    warp: Matrix,
    score: float,
    coarse: tuple[float, float],
    *,
    turned: bool,
    by_points: bool = False,
    drawn: Drawn | None = None,
) -> Registration:
    """Fit edge points at 2000 px at most and check by tiles."""
    here, there = levels.edges(0, FINE), levels.edges(1, FINE)
    level = levels.to_level(warp, FINE)
    factor = max(levels.full[0]) / max(here.shape)
    bands, lamp = _bands(levels, level, drawn)
    fitted = edge_fit.refine(
        levels.greys[0], levels.greys[1], level, light=levels.lights, bands=bands, lamp=lamp
    )
    spread, agreeing, expected, rival = float("inf"), 0.0, float("inf"), 0.0
    if fitted is not None and _sane(fitted.warp, here.shape):
        level, spread, agreeing = fitted.warp, fitted.spread, fitted.agreeing
        expected, rival = fitted.expected, fitted.rival
    counts = None if bands is None else bands.lit(lamp)
    tiles = tile_check.residuals(here if counts is None else here * counts, there, level)
    return Registration(
        transform=exact.homography(np.linalg.inv(levels.to_full(level, FINE))),
        correlation=score,
        residual=tiles.at(0.5 if lamp is None else UNSHADED) * factor,
        spread=spread * factor,
        agreeing=agreeing,
        expected=expected * factor,
        rival=rival * factor,
        good_tiles=tiles.good_share,
        tiles=tiles.count,
        upright=coarse[0],
        mirrored=coarse[1],
        turned=turned,
        by_points=by_points,
        lamp_from=lamp,
    )
