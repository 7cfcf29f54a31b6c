"""Pixels per millimetre: from a known length, from a ruler's marks, or as given.

The marks are found as the strongest period of brightness along a line that the user drew over the
ruler. An area's uncertainty is twice that of the scale, relatively, and that of its edge. Holds for
a ruler in the plane of the body's face: one lying 40 mm lower, seen from 1 m, is 4 % too long.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.errors import InputError
from heelstamp.luminescence import structure
from heelstamp.luminescence.linear import Bytes

Line = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Scale:
    """Pixels of the visible photograph per millimetre, with its standard uncertainty."""

    px_per_mm: float
    uncertainty: float
    how: str


def given(px_per_mm: float, uncertainty: float | None = None) -> Scale:
    """Take a scale as given; 1 % standard uncertainty unless told otherwise.

    Raises
    ------
    InputError
        Not above nought or not finite.
    """
    if not 0 < px_per_mm < float("inf"):
        raise InputError(
            "a scale that no photograph has",
            where="scale",
            received=px_per_mm,
            remedy="Give pixels per millimetre, above nought.",
        )
    return Scale(px_per_mm, 0.01 * px_per_mm if uncertainty is None else uncertainty, "given")


def from_length(line: Line, millimetres: float, *, click: float = 1.5) -> Scale:
    """The scale from both ends of a known length, each marked to *click* pixels."""
    length = float(np.hypot(line[2] - line[0], line[3] - line[1]))
    if not 0 < millimetres < float("inf") or not length > 4 * click:
        raise InputError(
            "a length too short to give a scale",
            where="known length",
            received=(line, millimetres),
            remedy="Mark a longer piece of the ruler.",
        )
    return Scale(length / millimetres, click * 2**0.5 / millimetres, "known length")


def from_marks(image: Bytes, line: Line, spacing_mm: float = 1.0) -> Scale:
    """Find the ruler's marks along *line*, *spacing_mm* apart.

    Parameters
    ----------
    image
        RGB code values of the visible photograph.
    line
        x0, y0, x1, y1 across at least eight marks, at the height where all marks are drawn.

    Raises
    ------
    InputError
        No clear period: the line misses the marks, or they are under three pixels apart.
    """
    if not 0 < spacing_mm < float("inf"):
        raise InputError(
            "marks without a distance",
            where="ruler",
            received=spacing_mm,
            remedy="Give the millimetres between two marks.",
        )
    length = float(np.hypot(line[2] - line[0], line[3] - line[1]))
    period, spread = (None, 0.0) if not length >= 24 else _period(image, line, length)
    if period is None:
        raise InputError(
            "no marks found along the line",
            where="ruler",
            received=line,
            remedy="Draw the line across at least eight marks, or give both ends and a length.",
        )
    return Scale(period / spacing_mm, spread / spacing_mm, "ruler marks")


def area_mm2(
    area_px: float, perimeter_px: float, scale: Scale, *, edge_px: float = 1.0
) -> tuple[float, float]:
    """An area in mm² and its standard uncertainty.

    The edge is taken as known to *edge_px* along a third of its length alike, which is judgement.
    """
    area = area_px / scale.px_per_mm**2
    by_scale = 2 * scale.uncertainty / scale.px_per_mm
    by_edge = perimeter_px * edge_px / 3.0 / max(area_px, 1.0)
    return area, area * float(np.hypot(by_scale, by_edge))


def _period(image: Bytes, line: Line, length: float) -> tuple[float | None, float]:
    profile = _profile(image, line, length)
    n = len(profile)
    window = np.hanning(n)
    padded = 16 * n
    spectrum = np.abs(np.fft.rfft(profile * window, padded))
    frequency = np.arange(len(spectrum)) / padded * n / length
    usable = (frequency * length >= 7) & (frequency < 1 / 3.0)
    if not usable.any():
        return None, 0.0
    heights = np.where(usable, spectrum, 0.0)
    k = int(heights.argmax())
    # narrow marks have strong harmonics: take the lowest of them
    for parts in (4, 3, 2):
        around = slice(max(0, k // parts - 24), k // parts + 25)
        if heights[around].max() > 0.3 * heights[k]:
            k = around.start + int(heights[around].argmax())
            break
    floor = float(np.median(spectrum[usable])) + 1e-9
    if heights[k] < 6 * floor or not 0 < k < len(spectrum) - 1:
        return None, 0.0
    left, mid, right = (float(v) for v in np.log(spectrum[k - 1 : k + 2] + 1e-12))
    bend = left - 2 * mid + right
    shift = 0.5 * (left - right) / bend if bend < 0 else 0.0
    f = (k + float(np.clip(shift, -1, 1))) / padded * n / length
    return 1 / f, max(0.1 / (length * f), 0.0005) / f


def _profile(image: Bytes, line: Line, length: float) -> NDArray[np.float64]:
    """Brightness along the line at half pixels, mean over three rows, trend removed."""
    n = int(2 * length)
    t = np.linspace(0, 1, n)
    x, y = line[0] + t * (line[2] - line[0]), line[1] + t * (line[3] - line[1])
    nx, ny = -(line[3] - line[1]) / length, (line[2] - line[0]) / length
    across = np.array([-1.0, 0.0, 1.0])[:, None]
    xs, ys = (x + across * nx).astype(np.float32), (y + across * ny).astype(np.float32)
    h, w = image.shape[:2]
    if xs.min() < 0 or ys.min() < 0 or xs.max() > w - 1 or ys.max() > h - 1:
        return np.zeros(n)
    x0, y0 = int(xs.min()), int(ys.min())
    cut = image[y0 : int(ys.max()) + 2, x0 : int(xs.max()) + 2]
    values = cv2.remap(
        structure.grey(np.ascontiguousarray(cut)), xs - x0, ys - y0, cv2.INTER_LINEAR
    )
    mean = np.asarray(values, dtype=float).mean(axis=0)
    return np.asarray(mean - np.polyval(np.polyfit(t, mean, 2), t), dtype=float)
