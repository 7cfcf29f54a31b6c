"""Places that differ between two visits of one face, in ordinary light.

What a photograph shows beyond the highest and lowest of a photograph of the other visit nearby is
*unexplained*; a candidate is a piece of which each photograph of the one visit is unexplained by
every photograph of the other, and ``judging`` says whether it is a mark or the light. Both
directions are looked at: what came, and what went. Pieces that lie close together are one place.
Proved on simulated faces alone (``docs/methods/condition.md``); so a place is *to be looked at*,
and a person says what it is. Stops holding beside what stands up.
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
from heelstamp.luminescence.visits.framing import Ground, first, lay
from heelstamp.luminescence.visits.judging import ONE_LIGHT, TWO_LIGHTS, answers_of

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
LEAST, CUT = 0.2, 0.4
"""Unexplained value of a candidate's peak, and the share of it at which it is cut."""
MOST_CANDIDATES = 70
RIM = 0.06
"""Share of the shorter side along the edge of the frame that is not compared."""
LOOK, LOOK_ONE_LIGHT, CLEAR = 0.0, 1.0, 6.0
"""Log odds from which a place is to be looked at, with two lights a visit and with one, and from
which it differs clearly; chosen on drawn and cast faces and on 17 textured ones."""
SMALL_MM = 1.5
"""Length under which a place is a speck."""
FAINT = dict.fromkeys(NAMES, 0.04) | {"red": 0.06, "blue": 0.06}
"""Change of a band, log light, under which it is the noise of a plain ground."""
JOIN_MM = 12.0
"""Pieces of one change less than this apart are one place."""


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A piece that one visit shows beyond the other, and what it is judged by."""

    change: Change
    mask: Mask
    answers: dict[str, float]


@dataclass(frozen=True, slots=True, eq=False)
class Visits:
    """Photographs of two visits laid over the first.

    Attributes
    ----------
    before, after
        Bands of each photograph.
    seen
        Where all of them show the face, (h, w).
    per_mm
        Pixels of one step.
    agreement
        The lowest agreement of edges among the photographs.
    """

    before: list[Bands]
    after: list[Bands]
    seen: Mask
    per_mm: float
    agreement: float


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """One place that differs.

    Attributes
    ----------
    change
        Whether it is seen after alone, or before alone.
    x, y
        Centre as shares of the width and height of the first photograph.
    outlines
        Outlines of its pieces, likewise, each (n, 2).
    length, width, area
        Size of the place as seen, as shares of the longer side of the frame and of its square.
    strength
        Highest log odds of a piece, on the faces the weights were fitted on.
    clear
        Whether it differs more than light was found to make differ; never with one light a visit.
    """

    change: Change
    x: float
    y: float
    outlines: tuple[Polygon, ...]
    length: float
    width: float
    area: float
    strength: float
    clear: bool

    @property
    def worth(self) -> float:
        """What it is put in order by among its like: how clear it is, and how large."""
        return (self.strength - LOOK + 0.5) * float(np.log1p(self.area * STEPS**2))


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """Two visits of one face compared.

    Attributes
    ----------
    places
        The worthiest of a look first.
    left_out
        Pieces that were taken for light.
    told
        Share of the frame of which something can be told.
    agreement
        The lowest agreement of edges among the photographs.
    lights
        Photographs of the visit that has fewer.
    """

    places: tuple[Place, ...]
    left_out: int
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
    visits = lay_visits(before, after)
    found = candidates_of(visits)
    lights = min(len(before), len(after))
    weights = TWO_LIGHTS if lights > 1 else ONE_LIGHT
    judged = [(weights.log_odds(one.answers), one) for one in found]
    least = LOOK if lights > 1 else LOOK_ONE_LIGHT
    kept = [one for one in judged if one[0] >= least]
    places = _joined(kept, visits.per_mm, CLEAR if lights > 1 else np.inf)
    return Comparison(
        tuple(one for one in places if one.length * STEPS >= SMALL_MM),
        len(judged) - len(kept),
        float(visits.seen.mean()),
        visits.agreement,
        lights,
    )


def lay_visits(before: Sequence[Bytes], after: Sequence[Bytes]) -> Visits:
    """Lay all photographs over the first one; as `compare`."""
    photos = [structure.reduce_to(one, LONG)[0] for one in (*before, *after)]
    ground = Ground.of(photos[0])
    per_mm = max(ground.photo.shape[:2]) / STEPS
    laid = [first(ground.photo)]
    for k, there in enumerate(photos[1:], start=1):
        found = lay(ground, there, per_mm)
        if found is None or not found.same:
            raise OtherFaceError(k, 0.0 if found is None else found.agreement)
        laid.append(found)
    seen = np.logical_and.reduce([one.seen for one in laid]).astype(np.uint8)
    seen = np.asarray(cv2.erode(seen, _disc(1.0 * per_mm)) > 0)
    rim = round(RIM * min(seen.shape))
    seen[:rim], seen[-rim:], seen[:, :rim], seen[:, -rim:] = False, False, False, False
    bands = [bands_of(one.light, per_mm) for one in laid]
    n = len(before)
    return Visits(bands[:n], bands[n:], seen, per_mm, min(one.agreement for one in laid))


def candidates_of(visits: Visits) -> list[Candidate]:
    """Pieces of either change, with what they are judged by."""
    before, after = visits.before, visits.after
    return [
        *_candidates("came", after, before, visits),
        *_candidates("went", before, after, visits),
    ]


def _disc(radius: float) -> NDArray[np.uint8]:
    size = 2 * max(1, round(radius)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


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
            busy = np.sqrt(structure.wide_blur(v * v, BUSY_MM * per_mm))
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


def _candidates(
    change: Change, own: Sequence[Bands], other: Sequence[Bands], visits: Visits
) -> list[Candidate]:
    maps = unexplained(own, other, visits.per_mm)
    weighed = np.maximum.reduce([maps[name] * np.float32(WEIGHTS[name]) for name in NAMES])
    told = visits.seen & _changed(own, other)
    pieces = _pieces(np.where(told, weighed, 0).astype(np.float32))
    return [
        Candidate(change, one, answers_of(one, maps, own, other, visits.per_mm)) for one in pieces
    ]


def _changed(own: Sequence[Bands], other: Sequence[Bands]) -> Mask:
    """Where, or beside where, any band changed by more than a faint amount."""
    changed = np.logical_or.reduce(
        [
            np.abs(
                np.mean([one.by[name] for one in own], axis=0)
                - np.mean([one.by[name] for one in other], axis=0)
            )
            >= FAINT[name]
            for name in NAMES
        ]
    )
    return np.asarray(cv2.dilate(changed.astype(np.uint8), _disc(2)) > 0)


def _pieces(weighed: Float) -> list[Mask]:
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


def _joined(
    judged: Sequence[tuple[float, Candidate]], per_mm: float, clear_from: float
) -> list[Place]:
    """Candidates of one change that lie close together are one place; the worthiest first."""
    places = []
    for change in ("came", "went"):
        own = [one for one in judged if one[1].change == change]
        if not own:
            continue
        union = np.logical_or.reduce([one.mask for _, one in own]).astype(np.uint8)
        near = cv2.dilate(union, _disc(JOIN_MM / 2 * per_mm))
        _, labels = cv2.connectedComponents(near, connectivity=8)
        groups: dict[int, list[tuple[float, Candidate]]] = {}
        for one in own:
            groups.setdefault(int(labels[one[1].mask].max()), []).append(one)
        places += [_place(one, clear_from) for one in groups.values()]
    return sorted(places, key=lambda one: (not one.clear, -one.worth))


def _place(members: Sequence[tuple[float, Candidate]], clear_from: float) -> Place:
    mask = np.logical_or.reduce([one.mask for _, one in members])
    side = max(mask.shape)
    contours, _ = cv2.findContours(
        mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE
    )
    (_, (a, b), _) = cv2.minAreaRect(np.vstack(contours))
    ys, xs = np.nonzero(mask)
    h, w = mask.shape
    return Place(
        members[0][1].change,
        float((xs.mean() + 0.5) / w),
        float((ys.mean() + 0.5) / h),
        tuple((one.reshape(-1, 2).astype(float) + 0.5) / (w, h) for one in contours),
        (max(a, b) + 1) / side,
        (min(a, b) + 1) / side,
        float(mask.sum()) / side**2,
        strength := max(one for one, _ in members),
        strength >= clear_from,
    )
