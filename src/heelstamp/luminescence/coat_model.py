"""How the sound coat would glow at every place, learned from the pair itself.

Log luminance and two log ratios (red to green, blue to green) are regressed on a low-order surface
(lamp fall-off, hot spot), on rim terms (distance from the outline, with the direction of its
normal: a rounded edge is bright towards the lamp and dark away from it), on nearness to parts
(their shade) and, if asked, on the winsorised visible light, since clear lacquer over a bright
ground sends more light back. The fit leaves patches out (``robust_fit``). Stops holding where more
than about half of the coat differs: then the majority is taken for the coat.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import robust_fit
from heelstamp.luminescence.linear import LUMA, Float

Mask = NDArray[np.bool_]
RIM_MM = (1.5, 4.0, 10.0)
SHADE_MM = (1.5, 4.0)
SURFACE_ORDER = 4
SAMPLES = 14_000
WINSOR = (2.0, 98.0)
RIDGE, VISIBLE_RIDGE, VISIBLE_UNIT, VISIBLE_TERMS = 1e-4, 3e-2, 0.02, 6
LEAST_SPREAD = 0.012
Pixels = tuple[NDArray[np.intp], NDArray[np.intp]]
"""Rows and columns of single pixels."""

BANDS_MM = (0.0, 2.2, 3.5, 5.0, 8.0)
FLOOR = 2e-3


@dataclass(frozen=True, slots=True, eq=False)
class Coat:
    """Geometry of the coat at the map's size: where it is and how far from edges, in mm."""

    inside: Mask
    rim: Float
    normal_x: Float
    normal_y: Float
    part: Float
    per_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Residuals:
    """What the coat model leaves, (h, w, 3): log luminance, log R/G, log B/G; nought outside.

    ``spread`` is 1.4826 times the median absolute residual of each, floored at 0.012;
    ``rim_factor`` (h, w) says how many times larger it is near the outline and near parts, where
    the model follows less well. ``weights`` are those of the sampled pixels.
    """

    values: Float
    spread: NDArray[np.float64]
    rim_factor: Float
    weights: NDArray[np.float64]


def coat_geometry(outline: Mask, parts: Mask, per_mm: float, *, erode_mm: float = 1.2) -> Coat:
    """The coat: the body less its parts, both edges drawn in by *erode_mm*."""
    body = outline.astype(np.uint8)
    rim = cv2.distanceTransform(np.pad(body, 1), cv2.DIST_L2, 5)[1:-1, 1:-1] / np.float32(per_mm)
    if parts.any():
        part = cv2.distanceTransform((~parts).astype(np.uint8), cv2.DIST_L2, 5) / np.float32(per_mm)
    else:
        part = np.full(outline.shape, 1e3, np.float32)
    smooth = cv2.GaussianBlur(rim, (0, 0), max(1.0, 0.7 * per_mm))
    gx, gy = cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    size = cv2.magnitude(gx, gy) + 1e-6
    inside = outline & (rim > erode_mm) & (part > erode_mm)
    return Coat(
        inside,
        rim.astype(np.float32),
        (-gx / size).astype(np.float32),
        (-gy / size).astype(np.float32),
        part.astype(np.float32),
        per_mm,
    )


def log_glow(uv: Float) -> Float:
    """Log luminance, log R/G and log B/G of linear UV-induced light."""
    safe = np.maximum(uv, FLOOR)
    red, green, blue = safe[..., 0], safe[..., 1], safe[..., 2]
    luma = red * LUMA[0] + green * LUMA[1] + blue * LUMA[2]
    found = np.empty(uv.shape, np.float32)
    for k, (over, under) in enumerate(((luma, np.float32(1)), (red, green), (blue, green))):
        found[..., k] = np.log((over / under).astype(float))  # in doubles: alike on processors
    return found


def fit(
    glow: Float, coat: Coat, visible: Float | None, *, start: NDArray[np.float64] | None = None
) -> Residuals:
    """Fit the sound coat and give the residuals.

    Parameters
    ----------
    glow
        From ``log_glow``, already smoothed against noise.
    coat
        Geometry at the same size.
    visible
        Linear visible light at the same size, or None for the fit without it.
    start
        Weights of the fit without visible colour: what is out there starts out here, so that a
        place both visible and dark is not explained by its colour.
    """
    h, w = coat.inside.shape
    ys, xs = np.nonzero(coat.inside)
    if len(ys) < 500:
        flat = np.ones(glow.shape[:2], np.float32)
        return Residuals(np.zeros_like(glow), np.full(3, 0.1), flat, np.ones(1))
    step = max(1, len(ys) // SAMPLES)
    at = ys[::step], xs[::step]
    limits = None if visible is None else np.percentile(visible[at], WINSOR, axis=0)
    columns = list(_terms_at(coat, at))
    columns += [] if visible is None else list(_visible_terms(visible[at], limits))
    design = np.column_stack(columns).astype(float)
    centre, unit = design.mean(axis=0), design.std(axis=0) + 1e-9
    centre[0], unit[0] = 0.0, 1.0
    ridge = np.full(len(unit), RIDGE)
    ridge[0] = 0.0
    if visible is not None:
        unit[-VISIBLE_TERMS:] = np.maximum(unit[-VISIBLE_TERMS:], VISIBLE_UNIT)
        ridge[-VISIBLE_TERMS:] = VISIBLE_RIDGE
    places = None if start is not None else np.column_stack(at[::-1]) / coat.per_mm
    coefficients, weights = robust_fit.robust(
        (design - centre) / unit, glow[at].astype(float), ridge, start=start, places_mm=places
    )
    plain = coefficients / unit[:, None]
    plain[0] -= centre[1:] @ plain[1:]
    predicted = _predict(coat, visible, limits, plain, (h, w))
    values = (glow - predicted) * coat.inside[..., None]
    absolute = np.abs(values[at])
    spread = np.maximum(1.4826 * np.median(absolute, axis=0).astype(float), LEAST_SPREAD)
    factor = _rim_factor(coat, (absolute / spread).max(axis=1), coat.rim[at], coat.part[at])
    return Residuals(values.astype(np.float32), spread, factor, weights)


def _rim_factor(coat: Coat, relative: NDArray[np.float64], rim: Float, part: Float) -> Float:
    """How much wider residuals spread in bands along the outline and along parts."""
    factor = np.ones(coat.inside.shape, np.float32)
    inner = (rim > BANDS_MM[-1]) & (part > BANDS_MM[-1])
    usual = float(np.median(relative[inner])) if np.count_nonzero(inner) > 200 else 0.0
    if usual <= 0:
        return factor
    for distance, image in ((rim, coat.rim), (part, coat.part)):
        knots = []
        for low, high in pairwise(BANDS_MM):
            band = (distance > low) & (distance <= high)
            times = float(np.median(relative[band])) / usual if np.count_nonzero(band) > 50 else 1.0
            knots.append(min(max(1.0, times), 6.0))
        middles = [(low + high) / 2 for low, high in pairwise(BANDS_MM)]
        near = coat.inside & (image < BANDS_MM[-1])
        table = np.interp(image[near], [*middles, BANDS_MM[-1]], [*knots, 1.0])
        factor[near] = np.maximum(factor[near], table.astype(np.float32))
    return factor


def _geometry_terms(coat: Coat, step: int) -> Iterator[Float]:
    """One image per term, every *step*-th pixel; the first is the constant."""
    cut = (slice(None, None, step), slice(None, None, step))
    x, y = _across(coat)
    return _terms(coat, cut, x[cut[1]][None, :], y[cut[0]][:, None])


def _terms_at(coat: Coat, at: Pixels) -> Iterator[Float]:
    """The same at single pixels, (n,) per term."""
    x, y = _across(coat)
    return _terms(coat, at, x[at[1]], y[at[0]])


def _across(coat: Coat) -> tuple[Float, Float]:
    """Columns and rows from the middle, over half the long side."""
    h, w = coat.inside.shape
    unit = max(h, w) / 2.0
    x = (np.arange(w, dtype=np.float32) - w / 2) / unit
    y = (np.arange(h, dtype=np.float32) - h / 2) / unit
    return x, y


def _terms(coat: Coat, cut: Any, x: Float, y: Float) -> Iterator[Float]:
    for total in range(SURFACE_ORDER + 1):
        for power in range(total + 1):
            yield (x ** (total - power) * y**power).astype(np.float32)
    nx, ny, rim, part = (a[cut] for a in (coat.normal_x, coat.normal_y, coat.rim, coat.part))
    two_x, two_y = nx * nx - ny * ny, 2 * nx * ny
    for reach in RIM_MM:
        near = np.exp(-rim.astype(float) / reach).astype(np.float32)
        yield near
        yield near * nx
        yield near * ny
        yield near * two_x
        yield near * two_y
    for reach in SHADE_MM:
        yield np.exp(-part.astype(float) / reach).astype(np.float32)


def _visible_terms(visible: Float, limits: NDArray[np.floating[Any]] | None) -> Iterator[Float]:
    """Log(1 + V), the return of a ground of reflectance V, and its root, each winsorised."""
    if limits is None:
        return
    for channel in range(3):
        low, high = (np.float32(v) for v in limits[:, channel])
        v = np.clip(visible[..., channel], low, high)
        yield np.log1p(v)
        yield np.sqrt(v)


def _predict(
    coat: Coat,
    visible: Float | None,
    limits: NDArray[np.floating[Any]] | None,
    coefficients: NDArray[np.float64],
    shape: tuple[int, int],
) -> Float:
    step = 2 if max(shape) > 800 else 1
    small = tuple(len(range(0, n, step)) for n in shape)
    planes = np.zeros((3, *small), np.float32)
    k = 0
    for term in _geometry_terms(coat, step):
        for channel in range(3):
            planes[channel] += np.float32(coefficients[k, channel]) * term
        k += 1
    total = np.asarray(cv2.merge(list(planes)), dtype=np.float32)
    if step > 1:
        grid = np.array([[step, 0, 0], [0, step, 0]], np.float32)
        whole = cv2.warpAffine(
            total, grid, shape[::-1], flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
        total = np.asarray(whole, dtype=np.float32)
    if visible is not None:
        planes = np.stack(cv2.split(total))
        for term in _visible_terms(visible, limits):
            for channel in range(3):
                planes[channel] += np.float32(coefficients[k, channel]) * term
            k += 1
        total = np.asarray(cv2.merge(list(planes)), dtype=np.float32)
    return total
