"""How a subject lies in its picture: how much of it it fills, and which edges it crosses.

The ground is read from a band along the edges of the picture: a plane through each colour, fitted
by least squares again and again to what agrees with it, so that light that falls off is no
subject. A cell of the grid belongs to the subject when half of its pixels differ from that plane.
Only the largest piece that hangs together counts, with what is a tenth as large. Where the band is
not of one colour, nothing is said: whatever stands out from a busy ground cannot be told from the
ground itself. This is the program's own measure; no part of a guitar is recognised by it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from heelstamp.casework.photo_care import Framing

LONGEST_PX, CELL = 320, 4
BAND = 0.04
"""Width of the band along each edge, of the longer side."""
DIFFERS = 26.0
"""Code values by which one colour of a pixel must differ from the ground (our choice)."""
PLAIN = 0.6
"""Share of the band that must agree with the ground (our choice)."""
ROUNDS = 6
LEAST_PIECE, BESIDE = 0.004, 0.1
"""Smallest piece, of the picture; smallest further piece, of the largest (our choices)."""
CROSSED = 0.02
"""Share of an edge that the subject must reach to cross it (our choice)."""

Float = NDArray[np.float64]
Mask = NDArray[np.bool_]


def framing_of(picture: Image.Image) -> Framing:
    """Measure how the subject lies in a picture.

    Parameters
    ----------
    picture
        Upright, in RGB; any size.
    """
    small = picture.copy()
    small.thumbnail((LONGEST_PX, LONGEST_PX), Image.Resampling.BOX)
    pixels = np.asarray(small, dtype=float)
    height, width = pixels.shape[:2]
    if min(height, width) < 8 * CELL:
        return Framing(plain=False)
    differs, plain = _differs(pixels)
    if not plain:
        return Framing(plain=False)
    cells = _pieces(_cells(differs))
    if not cells.any():
        return Framing(plain=True, wide=0.0, high=0.0, area=0.0)
    rows, columns = np.nonzero(cells.any(axis=1))[0], np.nonzero(cells.any(axis=0))[0]
    edges = {"top": cells[0], "bottom": cells[-1], "left": cells[:, 0], "right": cells[:, -1]}
    return Framing(
        plain=True,
        wide=float(columns[-1] - columns[0] + 1) / cells.shape[1],
        high=float(rows[-1] - rows[0] + 1) / cells.shape[0],
        area=float(np.mean(cells)),
        crosses=tuple(name for name, edge in edges.items() if float(np.mean(edge)) > CROSSED),
    )


def _differs(pixels: Float) -> tuple[Mask, bool]:
    """Which pixels are not of the ground, and whether the ground is one that can be told."""
    height, width = pixels.shape[:2]
    deep = max(2, round(BAND * max(height, width)))
    band = np.ones((height, width), dtype=bool)
    band[deep:-deep, deep:-deep] = False
    y, x = np.mgrid[0:height, 0:width]
    places = np.stack([np.ones(x.shape), x / width - 0.5, y / height - 0.5], axis=-1)
    inside, colours = places[band], pixels[band]
    off = np.abs(colours - np.median(colours, axis=0)).max(axis=1)
    for _ in range(ROUNDS):
        agrees = off <= max(DIFFERS, float(np.median(off)))
        plane = np.linalg.lstsq(inside[agrees], colours[agrees], rcond=None)[0]
        off = np.abs(colours - inside @ plane).max(axis=1)
    plain = float(np.mean(off <= DIFFERS)) >= PLAIN
    return np.abs(pixels - places @ plane).max(axis=2) > DIFFERS, plain


def _cells(differs: Mask) -> Mask:
    height, width = (one // CELL * CELL for one in differs.shape)
    blocks = differs[:height, :width].reshape(height // CELL, CELL, width // CELL, CELL)
    return np.asarray(blocks.mean(axis=(1, 3)) >= 0.5)


def _pieces(cells: Mask) -> Mask:
    """The largest piece that hangs together, and what is not small beside it."""
    names = np.zeros(cells.shape, dtype=np.intp)
    sizes = [0]
    for start in zip(*np.nonzero(cells), strict=True):
        if names[start]:
            continue
        sizes.append(0)
        waiting = [start]
        names[start] = len(sizes) - 1
        while waiting:
            row, column = waiting.pop()
            sizes[-1] += 1
            for next_row in range(max(0, row - 1), min(cells.shape[0], row + 2)):
                for next_column in range(max(0, column - 1), min(cells.shape[1], column + 2)):
                    if cells[next_row, next_column] and not names[next_row, next_column]:
                        names[next_row, next_column] = len(sizes) - 1
                        waiting.append((next_row, next_column))
    known = np.array(sizes)
    kept = (known >= LEAST_PIECE * cells.size) & (known >= BESIDE * known.max())
    kept[0] = False
    return np.asarray(kept[names])
