"""Pictures for looking at a pair closely: one photograph laid over the other, whole or in pieces.

A piece is a square of the visible photograph at full size or reduced by a power of two; the UV-A
photograph is turned into the same square by the transform of the finding, so that both pieces
cover each other. UV-A is shown brighter by one factor for the whole picture. Pieces are for
looking at; nothing is measured on them.
"""

from __future__ import annotations

import io
import math

import numpy as np
from numpy.typing import NDArray
from PIL import Image

PIECE = 512
"""Side of a piece in pixels."""
BRIGHT, MOST_GAIN = 225.0, 4.0
GAIN_AT = 480
QUALITY = 86

Matrix = NDArray[np.float64]
Box = tuple[float, float, float, float]


def levels(size: tuple[int, int], least: int) -> int:
    """How often a picture is halved until its longer side is at most *least*."""
    return max(0, math.ceil(math.log2(max(size) / least)))


def box_of(size: tuple[int, int], level: int, column: int, row: int) -> Box | None:
    """The box of a piece in the full picture, cut at its edge; None when it lies outside."""
    side = PIECE << level
    left, top = column * side, row * side
    if column < 0 or row < 0 or left >= size[0] or top >= size[1]:
        return None
    return (left, top, min(size[0], left + side), min(size[1], top + side))


def cut(image: Image.Image, box: Box, level: int) -> Image.Image:
    """A piece of a photograph, reduced by 2 to the power of *level*."""
    piece = image.crop(box)
    return piece if level == 0 else piece.reduce(1 << level)


def laid(uv: Image.Image, transform: Matrix, box: Box, size: tuple[int, int]) -> Image.Image:
    """The UV-A photograph laid over a box of the visible one, *size* pixels large.

    Parameters
    ----------
    transform
        3 × 3, from UV-A to visible pixels, pixel centres at whole numbers.
    """
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    corner = half @ np.asarray(transform, dtype=float) @ np.linalg.inv(half)
    wide, tall = (box[2] - box[0]) / size[0], (box[3] - box[1]) / size[1]
    place = np.array([[wide, 0, box[0]], [0, tall, box[1]], [0, 0, 1]])
    coarse = max(1, int(min(wide, tall)))
    source = uv if coarse == 1 else uv.reduce(coarse)
    shrink = np.diag([source.width / uv.width, source.height / uv.height, 1.0])
    back = shrink @ np.linalg.inv(corner) @ place
    back /= back[2, 2]
    return source.transform(
        size,
        Image.Transform.PERSPECTIVE,
        tuple(back.ravel()[:8].tolist()),
        Image.Resampling.BILINEAR,
    )


def gain_of(uv: Image.Image) -> float:
    """The factor by which a UV-A photograph is shown brighter."""
    small = uv.reduce(max(1, max(uv.size) // GAIN_AT))
    high = float(np.percentile(np.asarray(small), 99))
    return float(np.clip(BRIGHT / max(high, 1.0), 1.0, MOST_GAIN))


def jpeg(image: Image.Image, gain: float = 1.0) -> bytes:
    """Write a picture, shown brighter by *gain*."""
    shown = image if gain == 1.0 else image.point(lambda level: level * gain)
    out = io.BytesIO()
    shown.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
