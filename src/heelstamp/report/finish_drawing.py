"""How regions are drawn on a photograph: hatching, outlines, numbers, a scale bar.

Each kind has its own pattern in black and white, so that it is told on any ground and without
colour: darker rising strokes, brighter dots, another hue crossed ones, gradual level ones.
"""

from __future__ import annotations

import io
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from heelstamp.luminescence import Doubt, Kind, Region

WHITE, BLACK, GREY = (255, 255, 255), (0, 0, 0), (150, 150, 150)
MARGIN = 16
PITCH = 14
"""Distance of hatching strokes in pixels."""
DISC = 22
DASH, GAP = 12, 9
DOT = 3
BAR_SHARE = 0.18
SWATCH = (64, 32)

Pixels = NDArray[np.uint8]
Mask = NDArray[np.bool_]


def strokes(shape: tuple[int, int], kind: Kind) -> tuple[Mask, Mask]:
    """The black strokes of a kind's pattern and their white edges, over a whole picture."""
    ys, xs = np.indices(shape)
    if kind is Kind.DARKER:
        far = (xs + ys) % PITCH
    elif kind is Kind.OTHER_HUE:
        far = np.minimum((xs + ys) % PITCH, (xs - ys) % PITCH)
    elif kind is Kind.GRADUAL:
        far = ys % PITCH
    else:
        dx, dy = xs % PITCH - PITCH // 2, ys % PITCH - PITCH // 2
        far = np.maximum(np.hypot(dx, dy).astype(int) - 1, 0)
    return far < 2, (far >= 2) & (far < 4)


def hatched(pixels: Pixels, inside: Mask, kind: Kind) -> None:
    """Hatch a region in place."""
    if not inside.any():
        return
    rows, columns = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
    box = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
    cut = inside[box]
    black, white = strokes((cut.shape[0], cut.shape[1]), kind)
    pixels[box][cut & white] = 255
    pixels[box][cut & black] = 0


def swatch(kind: Kind) -> Image.Image:
    """A sample of a kind's pattern for the legend."""
    pixels = np.full((SWATCH[1], SWATCH[0], 3), 205, np.uint8)
    hatched(pixels, np.ones(pixels.shape[:2], bool), kind)
    picture = Image.fromarray(pixels)
    ImageDraw.Draw(picture).rectangle((0, 0, SWATCH[0] - 1, SWATCH[1] - 1), outline=BLACK)
    return picture


def swatch_png(kind: Kind) -> bytes:
    """The sample of a kind's pattern as a PNG."""
    out = io.BytesIO()
    swatch(kind).save(out, "PNG")
    return out.getvalue()


def draw_region(
    pen: ImageDraw.ImageDraw,
    size: tuple[int, int],
    region: Region,
    factor: float,
    face: ImageFont.FreeTypeFont,
) -> None:
    """Draw outline, leader and number; dashed when the eye cannot see the region."""
    points = region.polygon * factor
    ring = [(float(x), float(y)) for x, y in points]
    ring.append(ring[0])
    for colour, width in ((WHITE, 7), (BLACK, 3)):
        for piece in [ring] if region.visible else dashes(ring):
            pen.line(piece, colour, width, joint="curve")
    x0, y0 = points.min(axis=0)
    x = float(np.clip(x0 - DISC, DISC + 2, size[0] - DISC - 2))
    y = float(np.clip(y0 - DISC, DISC + 2, size[1] - DISC - 2))
    nearest = points[np.hypot(points[:, 0] - x, points[:, 1] - y).argmin()]
    for colour, width in ((WHITE, 6), (BLACK, 2)):
        pen.line((x, y, float(nearest[0]), float(nearest[1])), colour, width)
    pen.ellipse((x - DISC, y - DISC, x + DISC, y + DISC), WHITE, BLACK, 3)
    pen.text((x, y), str(region.number), BLACK, face, anchor="mm")


def draw_doubt(
    pen: ImageDraw.ImageDraw,
    size: tuple[int, int],
    doubt: Doubt,
    factor: float,
    *,
    label: str,
    face: ImageFont.FreeTypeFont,
) -> None:
    """Draw a dotted circle with its name around what is left open."""
    x, y, reach = doubt.centre[0] * factor, doubt.centre[1] * factor, doubt.reach_px * factor + 6
    for turn in np.arange(0, 2 * np.pi, 4 * DOT / max(reach, 1)):
        at = x + reach * float(np.cos(turn)), y + reach * float(np.sin(turn))
        for colour, wide in ((WHITE, DOT + 2), (BLACK, DOT)):
            pen.ellipse((at[0] - wide, at[1] - wide, at[0] + wide, at[1] + wide), colour)
    x = float(np.clip(x - 0.75 * reach, DISC + 2, size[0] - DISC - 2))
    y = float(np.clip(y - 0.75 * reach, DISC + 2, size[1] - DISC - 2))
    pen.ellipse((x - DISC, y - DISC, x + DISC, y + DISC), WHITE, GREY, 3)
    pen.text((x, y), label, BLACK, face, anchor="mm")


def dashes(ring: list[tuple[float, float]]) -> list[list[tuple[float, float]]]:
    """Cut a line into dashes, measured along it."""
    pieces: list[list[tuple[float, float]]] = []
    at, drawing = 0.0, True
    piece: list[tuple[float, float]] = []
    for start, end in pairwise(ring):
        length = float(np.hypot(end[0] - start[0], end[1] - start[1]))
        done = 0.0
        while done < length:
            step = min((DASH if drawing else GAP) - at, length - done)
            if drawing:
                here, there = (_between(start, end, t / length) for t in (done, done + step))
                piece = piece or [here]
                piece.append(there)
            done, at = done + step, at + step
            if at >= (DASH if drawing else GAP) - 1e-9:
                if drawing and piece:
                    pieces.append(piece)
                piece, at, drawing = [], 0.0, not drawing
    if piece:
        pieces.append(piece)
    return pieces


def _between(
    start: tuple[float, float], end: tuple[float, float], share: float
) -> tuple[float, float]:
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def bar_length(px_per_mm: float, width: int) -> int:
    """A round length in mm, 1, 2 or 5 times a power of ten, under a fifth of the width."""
    room = BAR_SHARE * width / px_per_mm
    power = int(10 ** np.floor(np.log10(max(room, 1.0))))
    return max(step * power for step in (1, 2, 5) if step * power <= max(room, 1.0))


def draw_scale_bar(
    pen: ImageDraw.ImageDraw, size: tuple[int, int], px_per_mm: float, face: ImageFont.FreeTypeFont
) -> None:
    """Draw a bar of a round length at the upper left; labels of frames stand in lower corners."""
    millimetres = bar_length(px_per_mm, size[0])
    length = millimetres * px_per_mm
    x0, y1 = 2 * MARGIN, MARGIN + 52
    pen.rectangle((x0 - MARGIN, MARGIN // 2, x0 + length + MARGIN, y1 + MARGIN), WHITE, BLACK)
    pen.rectangle((x0, y1 - 10, x0 + length, y1), BLACK)
    pen.text((x0 + length / 2, y1 - 16), f"{millimetres} mm", BLACK, face, anchor="mb")
