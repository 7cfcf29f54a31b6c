"""What a photograph in ordinary light shows beyond the light itself: bands of detail, and colour.

Log luminance, in which a change of light is a shift, as differences of Gaussians; thin lines as
the finest band averaged along 3 mm in eight directions; colour as log R/G and log B/G, in which a
shadow of a neutral lamp is nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.linear import LUMA, Float
from heelstamp.luminescence.structure import wide_blur

SIGMAS_MM = (0.22, 0.6, 1.5, 2.8)
COLOUR_MM = 0.8
LINE_MM = 3.0
DIRECTIONS = 8
DARK = 0.01
"""Light added before the logarithm, share of full scale."""


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """Detail of one photograph; each (h, w).

    Attributes
    ----------
    by
        Maps by name, in the order of ``NAMES``.
    whole
        All bands of luminance together, by which two differences are correlated.
    """

    by: dict[str, Float]
    whole: Float


NAMES = ("fine", "small", "middle", "broad", "line", "red", "blue")
WEIGHTS = dict(zip(NAMES, (1.0, 0.9, 0.8, 0.6, 0.8, 0.7, 0.7), strict=True))
"""How much a band counts: broad ones are met by shadows; judgement, kept from the prototype."""
FLOORS = dict(zip(NAMES, (0.03, 0.03, 0.03, 0.04, 0.012, 0.03, 0.03), strict=True))
"""Detail that no photograph is without, log units."""


def bands_of(light: Float, px_per_mm: float) -> Bands:
    """The bands of linear light (h, w, 3)."""
    # noise and demosaicing are finer than a third of the finest band
    calm = np.asarray(cv2.GaussianBlur(light, (0, 0), max(0.3, 0.1 * px_per_mm)), np.float32)
    log = np.log(np.maximum(calm @ LUMA, 0) + np.float32(DARK)).astype(np.float32)
    soft = [wide_blur(log, one * px_per_mm) for one in (*SIGMAS_MM, 6.0)]
    found = {
        name: np.asarray(soft[k] - soft[k + 1]) for k, name in enumerate(NAMES[: len(SIGMAS_MM)])
    }
    found["line"] = _lines(found["fine"], px_per_mm)
    colour = np.log(np.maximum(calm, 0) + np.float32(DARK / 2))
    for name, channel in (("red", 0), ("blue", 2)):
        ratio = np.ascontiguousarray(colour[..., channel] - colour[..., 1])
        found[name] = wide_blur(ratio, COLOUR_MM * px_per_mm) - wide_blur(ratio, 6.0 * px_per_mm)
    return Bands(found, soft[0] - soft[-1])


def _lines(fine: Float, px_per_mm: float) -> Float:
    """The average along a line in the direction in which it is largest, its sign kept."""
    size = max(5, round(LINE_MM * px_per_mm) | 1)
    best: NDArray[np.float32] = np.zeros_like(fine)
    for k in range(DIRECTIONS):
        kernel = np.zeros((size, size), np.float32)
        a, half = np.pi * k / DIRECTIONS, size // 2
        reach = half * np.array([np.cos(a), np.sin(a)])
        ends = np.round(np.array([half - reach, half + reach]) * 16).astype(int)
        cv2.line(kernel, ends[0].tolist(), ends[1].tolist(), 1.0, 1, cv2.LINE_AA, 4)
        mean = cv2.filter2D(fine, -1, kernel / kernel.sum())
        best = np.where(np.abs(mean) > np.abs(best), mean, best)
    return np.asarray(best, dtype=np.float32)
