"""Whether a place that differs is a mark or the light: what it is judged by, and the odds.

Light moves, so what it makes differs between the two photographs of a visit too; a shadow has no
colour; and a veil of mirrored light, or a place laid a little beside itself, keeps the form of what
lies there. So each candidate is asked: do the two differences between the visits, which share no
photograph, agree in form; do the two photographs of the visit that has it; is its form there on the
other visit as well, shifted a little or paler; the same of its colour. The answers are joined by a
logistic regression, whose weights were fitted on drawn and cast faces (``benchmarks/
change_watch.py --fit``). Log odds there are not odds of a real face: they put places in an order.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.linear import Float
from heelstamp.luminescence.visits.bands import Bands

Mask = NDArray[np.bool_]
Box = tuple[slice, slice]

AROUND_MM = 1.5
"""How far around a candidate its form is compared."""
BESIDE_MM = 1.5
"""How far beside itself its form may lie on the other visit."""
GROUPS: Mapping[str, tuple[str, ...]] = {
    "fine": ("fine", "line"),
    "small": ("small", "middle"),
    "broad": ("broad",),
    "colour": ("red", "blue"),
}


@dataclass(frozen=True, slots=True)
class Weights:
    """Weight of each question and the constant, fitted on standardised answers and undone."""

    by: Mapping[str, float]
    constant: float

    def log_odds(self, answers: Mapping[str, float]) -> float:
        """Log odds, on the faces the weights were fitted on, that it is a mark."""
        return self.constant + sum(weight * answers[name] for name, weight in self.by.items())


TWO_LIGHTS = Weights(
    {
        "fine": 1.45,
        "small": 0.18,
        "broad": 0.80,
        "colour": -3.20,
        "form is there": -2.24,
        "colour is there": -2.23,
        "length": -0.69,
        "compact": -1.61,
        "step": -3.85,
        "differences agree": 2.43,
        "seen in both": 1.10,
        "differences of colour agree": 6.65,
    },
    5.19,
)
"""Two photographs a visit. A colour counts as far as its differences agree; 30 pairs, seed 8000."""
ONE_LIGHT = Weights(
    {
        "fine": 0.79,
        "small": 0.74,
        "broad": 0.89,
        "colour": 0.45,
        "form is there": -0.92,
        "colour is there": -2.02,
        "length": -0.73,
        "compact": -0.17,
        "step": -3.24,
    },
    2.78,
)
"""One photograph a visit; 18 pairs, seed 8000."""


def answers_of(
    mask: Mask,
    maps: Mapping[str, Float],
    own: Sequence[Bands],
    other: Sequence[Bands],
    per_mm: float,
) -> dict[str, float]:
    """What a candidate is judged by.

    Parameters
    ----------
    mask
        The candidate.
    maps
        What is unexplained in each band.
    own, other
        Photographs of the visit that shows it, and of the other; forms of two lights are asked for
        where both have two.
    """
    ys, xs = np.nonzero(mask)
    around = max(1, round(AROUND_MM * per_mm))
    box = (
        slice(max(0, ys.min() - around), ys.max() + around + 1),
        slice(max(0, xs.min() - around), xs.max() + around + 1),
    )
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * around + 1, 2 * around + 1))
    wide = cv2.dilate(mask[box].astype(np.uint8), disc) > 0
    found = {
        name: float(np.log1p(max(float(maps[band][mask].max()) for band in bands)))
        for name, bands in GROUPS.items()
    }
    strong = "red" if maps["red"][mask].max() >= maps["blue"][mask].max() else "blue"
    detail = [one.by["fine"] + one.by["small"] for one in (*own, *other)]
    n = len(own)
    still = max(
        _found_again([one.whole for one in own], [one.whole for one in other], box, per_mm),
        _found_again(detail[:n], detail[n:], box, per_mm),
    )
    hue = [one.by[strong] for one in own], [one.by[strong] for one in other]
    found["form is there"] = _stretched(still)
    found["colour is there"] = _stretched(_found_again(*hue, box, per_mm))
    diagonal = float(np.hypot(np.ptp(ys) + 1, np.ptp(xs) + 1))
    found["length"] = float(np.log(diagonal / per_mm))
    found["compact"] = len(ys) / diagonal**2
    here, there = (
        float(np.mean([one.whole[mask].mean() for one in side])) for side in (own, other)
    )
    found["step"] = abs(here - there)
    if n > 1 and len(other) > 1:
        whole = [one.whole for one in own], [one.whole for one in other]
        found["differences agree"] = _alike(*whole, box, wide)
        found["seen in both"] = _correlation(whole[0][0][box], whole[0][1][box], wide)
        coloured = max(_alike(*hue, box, wide), 0.0)
        found["differences of colour agree"] = coloured * min(found["colour"], 1.0)
    return found


def _stretched(correlation: float) -> float:
    """Fisher's transformation, within bounds."""
    return float(np.arctanh(0.98 * np.clip(correlation, -0.95, 0.999)))


def _correlation(a: Float, b: Float, where: Mask) -> float:
    x, y = a[where] - a[where].mean(), b[where] - b[where].mean()
    size = float(np.sqrt((x * x).sum() * (y * y).sum()))
    return float((x * y).sum()) / size if size > 0 else 0.0


def _alike(own: Sequence[Float], other: Sequence[Float], box: Box, wide: Mask) -> float:
    """Correlation of two differences that share no photograph: the lesser of both pairings."""
    a, b = (one[box] for one in own[:2])
    c, d = (one[box] for one in other[:2])
    return min(_correlation(a - c, b - d, wide), _correlation(a - d, b - c, wide))


def _found_again(own: Sequence[Float], other: Sequence[Float], box: Box, per_mm: float) -> float:
    """Best correlation of the box with what lies there, or beside, on the other visit."""
    beside = max(1, round(BESIDE_MM * per_mm))
    height, width = own[0].shape
    ys = (max(box[0].start, beside), min(box[0].stop, height - beside))
    xs = (max(box[1].start, beside), min(box[1].stop, width - beside))
    if ys[1] - ys[0] < 3 or xs[1] - xs[0] < 3:
        return 0.0
    best = 0.0
    for a in own:
        piece = np.ascontiguousarray(a[ys[0] : ys[1], xs[0] : xs[1]])
        for b in other:
            field = b[ys[0] - beside : ys[1] + beside, xs[0] - beside : xs[1] + beside]
            found = cv2.matchTemplate(np.ascontiguousarray(field), piece, cv2.TM_CCOEFF_NORMED)
            best = max(best, float(np.nan_to_num(found, posinf=0.0, neginf=0.0).max()))
    return best
