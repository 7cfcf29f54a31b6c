"""What a photograph measures: sharpness, brightness, clipping, the cast of a grey row.

Measured on a copy of at most 1600 pixels, so that two cameras compare. *Edge width* is contrast
over greatest slope, as a ramp would have it, of the sharpest fifth of the edges along rows and
along columns, the softer direction counting; a Gaussian blur of s pixels gives about 2.5 s, a step
2. It is this program's own measure: noise hardly moves it; a picture without edges has none. Light
is linear after IEC 61966-2-1. Judgement is left to ``casework.photo_care``.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from heelstamp.casework.photo_care import GreyRow, PhotoMeasures
from heelstamp.errors import InputError
from heelstamp.media.bounds import LARGEST_PIXELS
from heelstamp.media.framing import framing_of
from heelstamp.media.pixels import upright_rgb

LONGEST_PX = 1600
CLIPPED_HIGH, CLIPPED_LOW = 254, 1
LEAST_CONTRAST, LEAST_EDGES = 25.0, 200
"""Code values across an edge, and edge pixels in a direction, below which nothing is measured."""
REACH, FLAT, SHARPEST = 6, 3, 20

Float = NDArray[np.float64]
Pixels = NDArray[np.uint8]


def measure_photograph(
    data: bytes, name: str, *, grey_row: Sequence[float] | None = None
) -> PhotoMeasures:
    """Measure a photograph.

    Parameters
    ----------
    data, name
        The whole file, and what to call it in errors.
    grey_row
        x0, y0, x1, y1 and the number of grey patches side by side in it, in upright pixels.

    Raises
    ------
    InputError
        Not a photograph, or the row lies outside of it or is too small.
    """
    pixels = upright_rgb(data, name, most_pixels=LARGEST_PIXELS)
    height, width = pixels.shape[:2]
    row = None if grey_row is None else _grey_row(pixels, grey_row, name)
    picture = Image.fromarray(pixels)
    picture.thumbnail((LONGEST_PX, LONGEST_PX), Image.Resampling.BOX)
    small = np.asarray(picture)
    light = decoded_light(small)
    brightness = light @ np.array([0.2126, 0.7152, 0.0722])
    return PhotoMeasures(
        width=width,
        height=height,
        edge_width=edge_width(small),
        middle=float(np.median(brightness)),
        high=float(np.percentile(brightness, 99)),
        clipped_high=float(np.mean(pixels.max(axis=2) >= CLIPPED_HIGH)),
        clipped_low=float(np.mean(pixels.max(axis=2) <= CLIPPED_LOW)),
        grey_row=row,
        framing=framing_of(picture),
    )


def decoded_light(code: Pixels) -> Float:
    """Linear light, 0 to 1, of sRGB code values (IEC 61966-2-1)."""
    value = np.arange(256) / 255.0
    table = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    return np.asarray(table[code], dtype=float)


def edge_width(pixels: Pixels) -> float | None:
    """The width of the sharpest edges in pixels, None when there are too few edges.

    The larger of rows and columns, where both have edges: a shaken frame is soft in one direction.
    """
    grey = pixels.astype(float) @ np.array([0.299, 0.587, 0.114])
    known = [one for one in (_along(grey), _along(grey.T)) if one is not None]
    return max(known) if known else None


def _along(grey: Float) -> float | None:
    """The measure across edges that cut the rows."""
    if grey.shape[0] < 3 or grey.shape[1] < 4 * REACH:
        return None
    calm = (grey[:-2] + grey[1:-1] + grey[2:]) / 3.0
    slope = np.abs(calm[:, 2:] - calm[:, :-2]) / 2.0
    sums = np.cumsum(np.pad(calm, ((0, 0), (1, 0))), axis=1)
    side = (sums[:, FLAT:] - sums[:, :-FLAT]) / FLAT
    # at column c: means of FLAT pixels ending REACH to the left, and beginning REACH to the right
    first = REACH + FLAT - 1
    last = grey.shape[1] - first
    right = side[:, first + REACH : last + REACH]
    left = side[:, first - REACH - FLAT + 1 : last - REACH - FLAT + 1]
    contrast = np.abs(right - left)
    steep = slope[:, first - 1 : last - 1]
    before, after = slope[:, first - 2 : last - 2], slope[:, first:last]
    edges = (contrast > LEAST_CONTRAST) & (steep >= before) & (steep > after) & (steep > 1.0)
    edges &= steep > contrast / (4 * REACH)
    if np.count_nonzero(edges) < LEAST_EDGES:
        return None
    return float(np.percentile(contrast[edges] / steep[edges], SHARPEST))


def _grey_row(pixels: Pixels, row: Sequence[float], name: str) -> GreyRow:
    """Fit a gain for red and blue that makes the patches neutral, in linear light."""
    x0, y0, x1, y1, count = row
    patches = int(count)
    height, width = pixels.shape[:2]
    wide = (x1 - x0) / max(patches, 1)
    inside = 0 <= x0 < x1 <= width and 0 <= y0 < y1 <= height
    if patches != count or patches < 1 or not inside or wide < 8 or y1 - y0 < 8:
        raise InputError(
            "no row of grey patches there",
            where=name,
            received=",".join(f"{one:g}" for one in row),
            remedy="Give x0,y0,x1,y1,PATCHES within the photograph, each patch over 8 pixels.",
        )
    means = []
    for k in range(patches):
        left, right = x0 + (k + 0.25) * wide, x0 + (k + 0.75) * wide
        top, bottom = y0 + 0.25 * (y1 - y0), y1 - 0.25 * (y1 - y0)
        cut = pixels[round(top) : round(bottom), round(left) : round(right)]
        if int(cut.max()) < CLIPPED_HIGH and int(cut.max()) > CLIPPED_LOW:
            means.append(np.median(decoded_light(cut).reshape(-1, 3), axis=0))
    if not means:
        return GreyRow(patches, 0, None, None, None)
    red, green, blue = np.array(means).T
    gains = [float(green @ one / max(float(one @ one), 1e-9)) for one in (red, blue)]
    left_over = [
        np.abs(gain * one / np.maximum(green, 1e-6) - 1).max()
        for gain, one in zip(gains, (red, blue), strict=True)
    ]
    return GreyRow(patches, len(means), gains[0], gains[1], float(max(left_over)))


def balanced(pixels: Pixels, row: GreyRow) -> Pixels:
    """A copy with the row's gains applied in linear light; the original is not altered.

    Raises
    ------
    InputError
        All patches were clipped, so there is no gain.
    """
    if row.red is None or row.blue is None:
        raise InputError(
            "no patch of the grey row can be used",
            received=f"{row.patches} patches, all clipped",
            remedy="Expose less.",
        )
    light = np.clip(decoded_light(pixels) * np.array([row.red, 1.0, row.blue]), 0.0, 1.0)
    code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.asarray(np.round(code * 255.0), dtype=np.uint8)
