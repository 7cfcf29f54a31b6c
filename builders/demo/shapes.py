"""The outlines of the invented guitar as the studio uses them, in millimetres.

x runs from the saddles (0) to the nut (641.4), y towards the bass side. The shapes are those of
``heelstamp.report.geometry``, turned, so that photographs and drawings show one guitar.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heelstamp.report import geometry

Point = tuple[float, float]

SCALE = geometry.BUILDS["guitar"].scale_mm
JOINT = SCALE / 2 ** (16 / 12)
"""The body's edge at the neck: 16th fret."""
HEEL = JOINT - geometry.BUILDS["guitar"].pocket_mm
"""End of the heel."""


def _turned(polygon: Sequence[Point]) -> list[Point]:
    return [(-y, -x) for x, y in polygon]


def _middle(polygon: Sequence[Point]) -> Point:
    xs, ys = [x for x, _ in polygon], [y for _, y in polygon]
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)


def smoothed(polygon: Sequence[Point], spacing: float = 2.0, rounds: int = 6) -> list[Point]:
    """Walk round an outline at even steps and round its corners a little."""
    where = np.asarray([*polygon, polygon[0]], float)
    steps = np.hypot(*np.diff(where, axis=0).T)
    length = np.concatenate([[0], np.cumsum(steps)])
    ticks = np.arange(0, length[-1], spacing)
    even = np.stack([np.interp(ticks, length, where[:, axis]) for axis in (0, 1)], axis=1)
    for _ in range(rounds):
        even = 0.25 * np.roll(even, 1, axis=0) + 0.5 * even + 0.25 * np.roll(even, -1, axis=0)
    return [(float(x), float(y)) for x, y in even]


def inset(outline: Sequence[Point], distance: float) -> list[Point]:
    """Move a closed outline inwards by *distance* mm."""
    where = np.asarray(outline, float)
    along = np.roll(where, -1, axis=0) - np.roll(where, 1, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True) + 1e-12
    x, y = where.T
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    inward = np.stack([-along[:, 1], along[:, 0]], axis=1) * (1.0 if area > 0 else -1.0)
    return [(float(a), float(b)) for a, b in where + distance * inward]


def _spread(outline: Sequence[Point], count: int) -> list[Point]:
    """Set *count* places at even distances along a closed outline."""
    where = np.asarray([*outline, outline[0]], float)
    length = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(where, axis=0).T))])
    ticks = (np.arange(count) + 0.15) * length[-1] / count
    return [
        (float(np.interp(t, length, where[:, 0])), float(np.interp(t, length, where[:, 1])))
        for t in ticks
    ]


_LARGE = geometry.outline("guitar")
_REGIONS = geometry.regions("guitar")


def place(key: str, nth: int = 0, view: str = "front") -> Point:
    """The middle of a part's region."""
    found = [one for one in _REGIONS if one.key == key and one.view == view]
    return _middle(_turned(found[nth].polygon))


BODY = smoothed(_turned(_LARGE["body"]), 2.0, 3)
HEAD = smoothed(_turned(_LARGE["head"]), 1.0, 3)
NECK = _turned(_LARGE["neck"])
GUARD = smoothed(_turned(_LARGE["guard"]))
GUARD_SCREWS = _spread(inset(GUARD, 6.0), 11)
CAVITY = smoothed(inset(GUARD, 15.0), 2.0, 20)
NECK_BACK: list[Point] = [
    (HEEL, -28),
    (JOINT, -26.8),
    (642, -21),
    (658, -13),
    (668, -4),
    (670, 0),
    (668, 4),
    (658, 13),
    (642, 21),
    (JOINT, 26.8),
    (HEEL, 28),
]
"""From behind, the round of the neck runs out in a tongue on the head."""
VOLUME, TONE = place("pot_volume"), place("pot_tone")
SWITCH = place("switch")
SOCKET = place("socket")
BADGE = place("badge")
ROD = place("rod")
PLATE = ((HEEL + JOINT) / 2, 0.0)
STRAP_BUTTONS = (place("strap_buttons", 0), place("strap_buttons", 1))
PICKUPS = tuple((key, -y) for key, y in geometry.BUILDS["guitar"].pickups)
POSTS: tuple[Point, ...] = tuple(place(f"tuner_{string}", 2) for string in range(1, 7))
"""Tuner posts of strings 1 to 6."""
STRINGS_NUT = tuple(-17.5 + 7.0 * k for k in range(6))
STRINGS_SADDLE = tuple(-26.0 + 10.4 * k for k in range(6))
"""String 1 (treble) first."""

# the places of the finish scenario: centre x, y, length along x, width along y
PATCHES: dict[str, tuple[float, float, float, float]] = {
    "R1": (164.0, 3.0, 17.0, 12.0),
    "R2": (296.0, 128.0, 8.0, 6.0),
    "W1": (38.0, 10.0, 52.0, 31.0),
    "W2": (101.0, -26.0, 70.0, 14.0),
    "S1": (-92.0, 108.0, 38.0, 25.0),
    "D1": (232.0, 128.0, 120.0, 60.0),
}


def fret(number: int) -> float:
    """X of a fret: equal temperament, twelfth root of two."""
    return SCALE / 2 ** (number / 12)


BODY_IN_CASE: list[Point] = [(x, y - 96) for x, y in BODY]
"""The body where it lies in the lower shell of the case."""
