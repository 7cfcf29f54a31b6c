"""Places that differ between two visits of one face, in ordinary light.

What a photograph shows beyond the highest and lowest of a photograph of the other visit nearby is
*unexplained*; a place counts as far as each photograph of the one visit is unexplained by every
photograph of the other. With two lights a visit the two differences must agree in form besides:
reflections and shadows that cross by chance do not. Both directions are looked at: what came, and
what went. Proved on simulated faces alone (``docs/methods/condition.md``); so a place is *to be
looked at*, and a person says what it is. Stops holding beside what stands up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import structure
from heelstamp.luminescence.linear import Bytes, Float
from heelstamp.luminescence.visits.bands import FLOORS, NAMES, WEIGHTS, Bands, bands_of
from heelstamp.luminescence.visits.framing import Laid, first, lay

Mask = NDArray[np.bool_]
Polygon = NDArray[np.float64]
Change = Literal["came", "went"]

LONG, STEPS = 1000, 200.0
"""Pixels of the longer side at which frames are compared, and steps of length in it: what is called
a millimetre below and in ``bands`` is one of 200 steps, and is one where a frame covers 200 mm."""
LEAST_LONG = 600
"""Pixels of the longer side under which too little is seen."""
REACH_MM, ALLOWED = 1.25, 1.5
"""How far what explains a value may lie, and by how much it may be surpassed."""
BUSY_MM, BUSY = 12.0, 0.9
MET_MM = 0.5
LEAST, CUT = 0.3, 0.4
"""Unexplained value of a candidate's peak, and the share of it at which it is cut."""
MOST_CANDIDATES = 60
RIM = 0.06
"""Share of the shorter side along the edge of the frame that is not compared."""
COMPACT, LONG_FACTOR = 0.27, 0.45
LOOK = 0.4
"""Strength from which a place is to be looked at."""
ONE_LIGHT = dict.fromkeys(NAMES, 0.25) | {"red": 1.0, "blue": 1.0}
"""How much a band counts where one visit has one photograph: a shadow has no colour."""
ALIKE_POWER = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """One place that differs.

    Attributes
    ----------
    change
        Whether it is seen after alone, or before alone.
    x, y
        Centre as shares of the width and height of the first photograph.
    polygon
        Its outline, likewise, (n, 2).
    length, width, area
        Size of the place as seen, as shares of the longer side of the frame and of its square.
    strength
        What it was judged by.
    """

    change: Change
    x: float
    y: float
    polygon: Polygon
    length: float
    width: float
    area: float
    strength: float


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """Two visits of one face compared.

    Attributes
    ----------
    places
        The strongest first.
    told
        Share of the frame of which something can be told.
    agreement
        The lowest agreement of edges among the photographs.
    lights
        Photographs of the visit that has fewer.
    """

    places: tuple[Place, ...]
    told: float
    agreement: float
    lights: int


class OtherFaceError(Exception):
    """The photographs are not of one face framed alike; the number of the one that is not."""

    def __init__(self, which: int, agreement: float) -> None:
        super().__init__(which)
        self.which = which
        self.agreement = agreement


def compare(before: Sequence[Bytes], after: Sequence[Bytes]) -> Comparison:
    """Compare photographs of two visits.

    Parameters
    ----------
    before, after
        RGB code values; two of each with the lamp moved, or one.

    Raises
    ------
    OtherFaceError
        A photograph does not lie on the first.
    """
    photos = [structure.reduce_to(one, LONG)[0] for one in (*before, *after)]
    here = photos[0]
    per_mm = max(here.shape[:2]) / STEPS
    laid = [first(here)]
    for k, there in enumerate(photos[1:], start=1):
        found = lay(here, there, per_mm)
        if found is None or not found.same:
            raise OtherFaceError(k, 0.0 if found is None else found.agreement)
        laid.append(found)
    n = len(before)
    seen_before = _all_seen(laid[:n])
    seen_after = _all_seen(laid[n:])
    seen = seen_before & seen_after
    seen = np.asarray(cv2.erode(seen.astype(np.uint8), _disc(1.0 * per_mm)) > 0)
    rim = round(RIM * min(seen.shape))
    seen[:rim], seen[-rim:], seen[:, :rim], seen[:, -rim:] = False, False, False, False
    bands = [bands_of(one.light, per_mm) for one in laid]
    sides = (bands[:n], bands[n:])
    places = [
        *_places("came", sides[1], sides[0], seen=seen, per_mm=per_mm),
        *_places("went", sides[0], sides[1], seen=seen, per_mm=per_mm),
    ]
    return Comparison(
        tuple(sorted(places, key=lambda one: -one.strength)),
        float(seen.mean()),
        min(one.agreement for one in laid),
        min(len(before), len(after)),
    )


def _disc(radius: float) -> NDArray[np.uint8]:
    size = 2 * max(1, round(radius)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def _all_seen(laid: Sequence[Laid]) -> Mask:
    return np.asarray(np.logical_and.reduce([one.seen for one in laid]))


def unexplained(own: Sequence[Bands], other: Sequence[Bands], per_mm: float) -> dict[str, Float]:
    """How far each photograph of one side lies beyond every one of the other, by band."""
    reach, met = _disc(REACH_MM * per_mm), _disc(MET_MM * per_mm)
    found: dict[str, Float] = {}
    for name in NAMES:
        least: Float | None = None
        limits = []
        for one in other:
            v = one.by[name]
            high = np.maximum(cv2.dilate(v, reach), 0) * np.float32(ALLOWED)
            low = np.minimum(cv2.erode(v, reach), 0) * np.float32(ALLOWED)
            busy = np.sqrt(_soft_mean(v * v, BUSY_MM * per_mm))
            limits.append((high, low, np.float32(FLOORS[name]) + np.float32(BUSY) * busy))
        for seen in own:
            x = seen.by[name]
            beyond = np.minimum.reduce(
                [
                    np.maximum(np.maximum(x - high, low - x), 0) / scale
                    for high, low, scale in limits
                ]
            )
            if len(own) > 1:
                beyond = cv2.dilate(beyond, met)
            least = beyond if least is None else np.minimum(least, beyond)
        assert least is not None
        found[name] = np.asarray(least, dtype=np.float32)
    return found


def _soft_mean(image: Float, sigma: float) -> Float:
    """A wide blur, worked out at a quarter of the size."""
    small = cv2.resize(image, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), sigma / 4)
    return np.asarray(
        cv2.resize(small, image.shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32
    )


def _places(
    change: Change, own: Sequence[Bands], other: Sequence[Bands], *, seen: Mask, per_mm: float
) -> list[Place]:
    maps = unexplained(own, other, per_mm)
    two = len(own) > 1 and len(other) > 1
    weights = WEIGHTS if two else ONE_LIGHT
    weighed = np.maximum.reduce([maps[name] * np.float32(weights[name]) for name in NAMES])
    weighed = np.where(seen, weighed, 0).astype(np.float32)
    found = []
    for mask in _candidates(weighed):
        strength = _strength(mask, maps, own, other, per_mm=per_mm, two=two)
        if strength < LOOK:
            continue
        length, width, area, polygon = _size(mask)
        h, w = mask.shape
        ys, xs = np.nonzero(mask)
        found.append(
            Place(
                change,
                float((xs.mean() + 0.5) / w),
                float((ys.mean() + 0.5) / h),
                (polygon + 0.5) / (w, h),
                length,
                width,
                area,
                strength,
            )
        )
    return found


def _candidates(weighed: Float) -> list[Mask]:
    """Pieces around the peaks, each cut at a share of its own."""
    left = weighed.copy()
    found: list[Mask] = []
    for _ in range(MOST_CANDIDATES):
        peak = int(left.argmax())
        y, x = divmod(peak, left.shape[1])
        top = float(left[y, x])
        if top < LEAST:
            break
        piece = ((left > CUT * top) * 1).astype(np.uint8)
        _, labels = cv2.connectedComponents(piece, connectivity=8)
        mask = np.asarray(labels == labels[y, x])
        found.append(mask)
        left[cv2.dilate(mask.astype(np.uint8), _disc(2)) > 0] = 0
    return found


def _strength(
    mask: Mask,
    maps: dict[str, Float],
    own: Sequence[Bands],
    other: Sequence[Bands],
    *,
    per_mm: float,
    two: bool,
) -> float:
    """What a candidate is judged by."""
    ys, xs = np.nonzero(mask)
    rim = round(1.5 * per_mm)
    box = (
        slice(max(0, ys.min() - rim), ys.max() + rim + 1),
        slice(max(0, xs.min() - rim), xs.max() + rim + 1),
    )
    wide = cv2.dilate(mask[box].astype(np.uint8), _disc(rim)) > 0
    alike = _alike(box, wide, own, other) if two else 1.0
    factor = max(alike, 0.0) ** ALIKE_POWER
    diagonal = float(np.hypot(np.ptp(ys) + 1, np.ptp(xs) + 1))
    compact = len(ys) / diagonal**2 > COMPACT
    weights = WEIGHTS if two else ONE_LIGHT
    best = 0.0
    for name in NAMES:
        value = float(maps[name][mask].max()) * weights[name] * factor
        if name in ("middle", "broad") and not compact:
            value *= LONG_FACTOR
        best = max(best, value)
    return best


def _alike(
    box: tuple[slice, slice], wide: Mask, own: Sequence[Bands], other: Sequence[Bands]
) -> float:
    """Correlation of two differences that share no photograph: the lesser of both pairings."""
    a, b = (one.whole[box][wide] for one in own[:2])
    c, d = (one.whole[box][wide] for one in other[:2])
    told = []
    for first_, second in (((a - c), (b - d)), ((a - d), (b - c))):
        if not first_.std() > 0 or not second.std() > 0:
            return 0.0
        told.append(float(np.corrcoef(first_, second)[0, 1]))
    return min(told)


def _size(mask: Mask) -> tuple[float, float, float, Polygon]:
    contours, _ = cv2.findContours(
        mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE
    )
    points = max(contours, key=len)
    (_, (a, b), _) = cv2.minAreaRect(points)
    long, short = max(a, b) + 1, min(a, b) + 1
    polygon = np.asarray(points.reshape(-1, 2), dtype=float)
    side = max(mask.shape)
    return long / side, short / side, float(mask.sum()) / side**2, polygon
