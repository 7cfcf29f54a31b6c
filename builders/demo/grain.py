"""Noise fixed in millimetres, so that the same wood shows the same grain in every picture.

A :class:`Field` is a grid of normal random numbers over the whole instrument, finer across the
grain than along it, read at a view's pixels by bicubic interpolation. :func:`wood` adds growth
rings bent by slow noise, fibres and pores.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Array = NDArray[Any]
EXTENT = (-300.0, 1000.0, -440.0, 640.0)
"""Left, right, bottom and top of the ground that fields cover, mm."""


@dataclass(frozen=True, slots=True)
class View:
    """Where millimetres fall on pixels: x to the right; y up, or down when seen from behind."""

    width: int
    height: int
    scale: float
    """Pixels a millimetre."""
    x: float
    y: float
    """The point (mm) in the middle of the picture."""
    behind: bool = False

    @property
    def upright(self) -> float:
        """Sign of y on its way to pixels."""
        return 1.0 if self.behind else -1.0

    def pixels(self, points: Sequence[tuple[float, float]]) -> Array:
        """Pixel places, (n, 2)."""
        where = np.asarray(points, np.float64)
        out = np.empty_like(where)
        out[:, 0] = self.width / 2 + self.scale * (where[:, 0] - self.x)
        out[:, 1] = self.height / 2 + self.upright * self.scale * (where[:, 1] - self.y)
        return out

    def millimetres(self) -> tuple[Array, Array]:
        """X and y of every pixel, each (rows, columns)."""
        columns = (np.arange(self.width, dtype=np.float32) + 0.5 - self.width / 2) / self.scale
        rows = (np.arange(self.height, dtype=np.float32) + 0.5 - self.height / 2) / self.scale
        across, down = np.meshgrid(columns + self.x, self.upright * rows + self.y)
        return across, down


@lru_cache(maxsize=32)
def _grid(cell_x: float, cell_y: float, seed: int) -> Array:
    left, right, bottom, top = EXTENT
    shape = (int((top - bottom) / cell_y) + 8, int((right - left) / cell_x) + 8)
    return np.random.Generator(np.random.PCG64(seed)).standard_normal(shape, np.float32)


@dataclass(frozen=True, slots=True)
class Field:
    """Noise with cells of a given size, mm."""

    cell_x: float
    cell_y: float
    seed: int

    def sample(self, view: View) -> Array:
        """Read the field at every pixel of *view*; mean 0, standard deviation near 1."""
        left, _, bottom, _ = EXTENT
        step_x, step_y = 1 / (view.scale * self.cell_x), 1 / (view.scale * self.cell_y)
        start_x = (view.x - left - view.width / 2 / view.scale) / self.cell_x + 3
        start_y = (view.y - bottom - view.upright * view.height / 2 / view.scale) / self.cell_y + 3
        grid = Image.fromarray(_grid(self.cell_x, self.cell_y, self.seed))
        read = grid.transform(
            (view.width, view.height),
            Image.Transform.AFFINE,
            (step_x, 0, start_x, 0, view.upright * step_y, start_y),
            resample=Image.Resampling.BICUBIC,
        )
        out = np.asarray(read, np.float32)
        # cells smaller than a pixel alias; average them down to what a lens would leave
        shrink = min(1.0, self.cell_x * view.scale, self.cell_y * view.scale * 1.5)
        return out * np.float32(1.3 * shrink)


def smooth(low: float, high: float, value: Array) -> Array:
    """Step smoothly from 0 at *low* to 1 at *high*."""
    t = np.clip((value - low) / (high - low), 0, 1)
    return t * t * (3 - 2 * t)


def blur(sheet: Array, sigma: float) -> Array:
    """Blur like a Gaussian: three box means, on a reduced copy when the blur is wide."""
    if sigma < 0.3:
        return sheet.astype(np.float32)
    rows, columns = sheet.shape
    shrink = int(sigma // 5)
    if shrink >= 2 and min(rows, columns) > 4 * shrink:
        small = Image.fromarray(sheet.astype(np.float32)).resize(
            (max(1, columns // shrink), max(1, rows // shrink)), Image.Resampling.BOX
        )
        soft = blur(np.asarray(small), sigma * small.width / columns)
        wide = Image.fromarray(soft).resize((columns, rows), Image.Resampling.BICUBIC)
        return np.asarray(wide, np.float32)
    half = max(1, round(sigma))
    out = sheet.astype(np.float32)
    for axis in (0, 1):
        reach = min(half, max(1, sheet.shape[axis] - 1))
        for _ in range(3 if sigma > 0.9 else 1):
            padded = np.pad(
                out, [(reach + 1, reach) if a == axis else (0, 0) for a in (0, 1)], mode="edge"
            )
            total = np.cumsum(padded, axis=axis, dtype=np.float64)
            upper = np.take(total, range(2 * reach + 1, total.shape[axis]), axis=axis)
            lower = np.take(total, range(total.shape[axis] - 2 * reach - 1), axis=axis)
            out = ((upper - lower) / (2 * reach + 1)).astype(np.float32)
    return out


def wood(
    view: View,
    pale: tuple[float, float, float],
    dark: tuple[float, float, float],
    *,
    seed: int,
    ring_mm: float = 7.0,
    figure: float = 1.0,
    pores: float = 0.5,
    pore_mm: float = 0.35,
) -> Array:
    """The colour of a plain-sawn board at every pixel, grain along x; linear light.

    Parameters
    ----------
    view
        What the picture shows.
    pale, dark
        Colours of early and late wood, linear.
    seed
        Which board.
    ring_mm
        Spacing of the growth rings.
    figure
        Strength of rings, 0 to 1.
    pores
        Strength of the dark pore strokes, 0 to 1.
    pore_mm
        Width of a pore.
    """
    x, y = view.millimetres()
    bend = Field(160.0, 45.0, seed).sample(view)
    ripple = Field(60.0, 9.0, seed + 1).sample(view)
    # the saw runs tangentially near y = 30: rings open out into tongues along the board
    radius = np.hypot(y - 30 + 10 * bend + 1.2 * ripple, 0.16 * (x - 40) + 12)
    phase = radius / ring_mm
    ring = (phase % 1.0).astype(np.float32)
    late = smooth(0.35, 0.97, ring) * (1 - smooth(0.975, 1.0, ring))
    fibre = 0.6 * Field(30.0, 0.7, seed + 2).sample(view) + 0.5 * Field(
        12.0, 0.28, seed + 3
    ).sample(view)
    tone = 0.42 + 0.30 * figure * (late - 0.35) + 0.085 * fibre + 0.07 * bend
    stroke = smooth(1.25, 2.1, Field(5.0, pore_mm, seed + 4).sample(view))
    tone = np.clip(tone + pores * 0.55 * stroke, 0, 1.15)[..., None]
    low, high = np.asarray(pale, np.float32), np.asarray(dark, np.float32)
    return np.asarray(low * (high / low) ** tone, np.float32)
