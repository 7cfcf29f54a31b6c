"""The outline of our own guitar and bass, in millimetres: body, head, and every part by its key.

The shapes belong to the invented maker of the demonstration and were drawn for this program; they
copy no instrument. Axes: origin in the middle of the saddle line, x to the treble side as seen
from the front, y towards the tail; the nut lies at minus the scale length. Back views mirror x.
Fret positions follow the rule of the twelfth root of two (equal temperament): distance from the
nut = L (1 - 2^(-n/12)). Sizes of hardware are plausible, not measured. Pure numbers in, polygons
out: a drawing, a simulated photograph or a screen may use them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from heelstamp.errors import InputError

Point = tuple[float, float]
Polygon = tuple[Point, ...]
View = Literal["front", "back"]

GUARD_EDGE_MM = 47.5
"""The guard stops beside the pickups: the lacquer between them is open to the pick."""

CURVE_STEPS = 14  # chords of a cubic: within 0.15 mm of the curve at this size


@dataclass(frozen=True, slots=True)
class Region:
    """A part on one view: its polygon, and whether something covers it there."""

    key: str
    view: View
    polygon: Polygon
    covered: bool = False


@dataclass(frozen=True, slots=True)
class Build:
    """What differs between one kind of instrument and another.

    Attributes
    ----------
    scale_mm, frets, joint_fret
        Scale length, number of frets, and the fret at which the body begins.
    stretch_x, stretch_y
        Factors on the body outline.
    nut_mm, heel_mm
        Width of the neck at the nut and at its body end.
    tuner_sides
        Number of tuners on the bass and on the treble side of the head.
    pickups
        Key and distance from the saddle line of each pickup.
    switch
        Whether there is one.
    """

    scale_mm: float
    frets: int
    joint_fret: int
    stretch_x: float
    stretch_y: float
    nut_mm: float
    heel_mm: float
    tuner_sides: tuple[int, int]
    pickups: tuple[tuple[str, float], ...]
    switch: bool
    pocket_mm: float = 76.0


BUILDS: Mapping[str, Build] = {
    "guitar": Build(
        641.4,
        21,
        16,
        1.0,
        1.0,
        42.0,
        56.0,
        (3, 3),
        (("pickup_neck", -158.0), ("pickup_bridge", -44.0)),
        True,
    ),
    "bass": Build(
        838.0, 20, 16, 1.04, 1.12, 42.0, 62.0, (2, 2), (("pickup", -112.0),), False, 84.0
    ),
}

# Body of the guitar: start, then cubic segments (two controls, end), clockwise from the treble
# side of the neck pocket. The joint lies at y = -254.5.
_BODY_START: Point = (30.0, -252.0)
_BODY: tuple[tuple[Point, Point, Point], ...] = (
    ((32, -206), (46, -176), (84, -180)),
    ((118, -184), (140, -170), (140, -138)),
    ((140, -104), (116, -88), (118, -52)),
    ((120, -8), (168, 14), (172, 66)),
    ((176, 118), (140, 152), (86, 146)),
    ((40, 141), (14, 126), (-24, 137)),
    ((-54, 146), (-84, 157), (-112, 147)),
    ((-160, 130), (-172, 72), (-152, 24)),
    ((-134, -16), (-100, -48), (-106, -98)),
    ((-112, -146), (-168, -172), (-172, -236)),
    ((-175, -284), (-152, -318), (-122, -313)),
    ((-92, -308), (-94, -272), (-68, -247)),
    ((-52, -231), (-34, -232), (-30, -252)),
)
_GUARD_START: Point = (30.0, -176.0)
_GUARD: tuple[tuple[Point, Point, Point], ...] = (
    ((56, -168), (94, -172), (110, -152)),
    ((122, -134), (98, -110), (98, -72)),
    ((98, -26), (138, 4), (138, 60)),
    ((138, 104), (100, 112), (74, 98)),
    ((52, 86), (54, 30), (44, 18)),
    ((30, 12), (-30, 14), (-44, 4)),
    ((-66, -14), (-78, -60), (-80, -98)),
    ((-82, -136), (-60, -172), (-30, -176)),
)
_HEAD: tuple[tuple[Point, Point, Point], ...] = (
    ((-21, -16), (-37, -22), (-39, -44)),
    ((-41, -78), (-37, -112), (-41, -140)),
    ((-43, -160), (-27, -172), (-10, -163)),
    ((4, -156), (16, -164), (26, -178)),
    ((36, -190), (50, -178), (46, -158)),
    ((40, -128), (43, -84), (40, -46)),
    ((38, -22), (21, -16), (21, 0)),
)


@lru_cache(16)
def _flatten(start: Point, curves: tuple[tuple[Point, Point, Point], ...]) -> Polygon:
    points = [start]
    for first, second, end in curves:
        begin = points[-1]
        for step in range(1, CURVE_STEPS + 1):
            t = step / CURVE_STEPS
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            controls = (begin, first, second, end)
            x, y = (
                sum(w * p[axis] for w, p in zip(weights, controls, strict=True)) for axis in (0, 1)
            )
            points.append((x, y))
    return tuple(points)


def _scaled(polygon: Polygon, x: float, y: float) -> Polygon:
    return tuple((px * x, py * y) for px, py in polygon)


def _right_of(polygon: Polygon, edge: float) -> Polygon:
    """Keep what lies at or right of x = *edge* (Sutherland and Hodgman, 1974, one edge)."""
    kept: list[Point] = []
    for place, (x, y) in enumerate(polygon):
        before_x, before_y = polygon[place - 1]
        if (x >= edge) != (before_x >= edge):
            share = (edge - before_x) / (x - before_x)
            kept.append((edge, before_y + share * (y - before_y)))
        if x >= edge:
            kept.append((x, y))
    return tuple(kept)


def _moved(polygon: Polygon, x: float, y: float) -> Polygon:
    return tuple((px + x, py + y) for px, py in polygon)


def box(x: float, y: float, width: float, height: float) -> Polygon:
    """A rectangle by its middle and size."""
    w, h = width / 2, height / 2
    return ((x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h))


def disc(x: float, y: float, diameter: float, corners: int = 28) -> Polygon:
    """A circle as a polygon."""
    turn = 2 * math.pi / corners
    r = diameter / 2
    return tuple((x + r * math.cos(turn * i), y + r * math.sin(turn * i)) for i in range(corners))


def fret_distance(build: Build, fret: int) -> float:
    """The distance of a fret from the nut in mm (equal temperament)."""
    return build.scale_mm * (1 - 2 ** (-fret / 12))


def build_of(kind: str) -> Build:
    """The build of a kind of instrument.

    Raises
    ------
    InputError
        There is no drawing of that kind.
    """
    if kind not in BUILDS:
        raise InputError(
            "no drawing of this kind of instrument",
            received=kind,
            remedy=f"Drawings there are: {', '.join(sorted(BUILDS))}.",
        )
    return BUILDS[kind]


def outline(kind: str) -> dict[str, Polygon]:
    """The large shapes: ``body``, ``neck``, ``head`` and ``guard``, in mm, front view.

    The neck reaches from the nut to the end of its pocket, so it overlaps the body.
    """
    build = build_of(kind)
    joint = fret_distance(build, build.joint_fret) - build.scale_mm
    stretch = joint / -254.5  # the body's own curves were drawn for this joint
    nut, end = -build.scale_mm, joint + build.pocket_mm
    half_nut, half_end = build.nut_mm / 2, build.heel_mm / 2
    sides = max(build.tuner_sides)
    head = _scaled(_flatten((-21.0, 0.0), _HEAD), build.nut_mm / 42, 1.0 if sides == 3 else 1.1)
    body = _scaled(_flatten(_BODY_START, _BODY), build.stretch_x, 1.0)
    guard = _right_of(_flatten(_GUARD_START, _GUARD), GUARD_EDGE_MM)
    guard = _scaled(guard, build.stretch_x, 1.0)
    return {
        "body": _lengthened(body, stretch, build.stretch_y),
        "guard": _lengthened(guard, stretch, build.stretch_y),
        "neck": ((-half_nut, nut), (half_nut, nut), (half_end, end), (-half_end, end)),
        "head": _moved(head, 0.0, nut),
    }


def _lengthened(polygon: Polygon, above: float, below: float) -> Polygon:
    """Stretch what lies above the saddle line by one factor, what lies below by another."""
    return tuple((x, y * (above if y < 0 else below)) for x, y in polygon)


def _tuners(build: Build) -> list[Region]:
    regions = []
    bass, treble = build.tuner_sides
    tall = 1.0 if bass == 3 else 1.1
    spread = (42.0, 81.0, 120.0) if bass == 3 else (55.0, 108.0)
    nut = -build.scale_mm
    for side, count, sign in (("treble", treble, 1), ("bass", bass, -1)):
        for place in range(count):
            # string 1 is the treble one; it goes to the post nearest the nut on its side
            string = place + 1 if side == "treble" else bass + treble - place
            y = nut - spread[place] * tall
            button = box(sign * 56.0, y, 17.0, 19.0)
            post = disc(sign * 25.0, y, 9.5)
            shaft = box(sign * 46.0, y, 8.0, 5.0)
            housing = box(sign * 30.0, y, 25.0, 17.0)
            key = f"tuner_{string}"
            regions += [
                Region(key, "front", shaft),
                Region(key, "front", button),
                Region(key, "front", post),
                Region(key, "back", shaft),
                Region(key, "back", button),
                Region(key, "back", housing),
            ]
    return regions


def regions(kind: str) -> tuple[Region, ...]:
    """Every part that a drawing can show, lowest layer first.

    Keys are those of the parts tree; a key may have several polygons. Parts inside the body are
    there too, marked as covered. The case, the finish and the strings have no region of their own.
    """
    build = build_of(kind)
    large = outline(kind)
    low = build.stretch_y
    nut = -build.scale_mm
    joint = fret_distance(build, build.joint_fret) + nut
    end = joint + build.pocket_mm
    found = [Region("body", view, large["body"]) for view in ("front", "back")]
    found += [
        Region("neck", "front", large["head"]),
        Region("neck", "back", large["head"]),
        Region("neck", "back", _neck_back(large["neck"], joint)),
        Region("guard", "front", large["guard"]),
        Region("neck", "front", large["neck"]),
        Region("nut", "front", box(0, nut, build.nut_mm, 5.0)),
        Region("rod", "front", box(0, nut - 17.0, 9.0, 17.0)),
        Region("badge", "front", box(0, nut - 96.0, 24.0, 34.0)),
        Region("neck_plate", "back", box(0, (joint + end) / 2, 52.0, 68.0)),
        Region("shim", "back", box(0, end - 13.0, 44.0, 11.0), covered=True),
        Region("bridge", "front", box(0, 12.0, 78.0, 46.0)),
        Region("saddles", "front", box(0, 0.0, 66.0, 11.0)),
        Region("pot_volume", "front", disc(88.0, -18.0, 24.0), covered=True),
        Region("pot_tone", "front", disc(104.0, 30.0 * low, 24.0), covered=True),
        Region("capacitor", "front", box(76.0, 20.0 * low, 19.0, 9.0), covered=True),
        Region("leads", "front", box(72.0, -66.0, 5.0, 52.0), covered=True),
        Region("foil", "front", box(112.0, 64.0 * low, 34.0, 26.0), covered=True),
        Region("knobs", "front", disc(88.0, -18.0, 17.0)),
        Region("knobs", "front", disc(104.0, 30.0 * low, 17.0)),
        Region("socket_plate", "front", disc(80.0, 74.0 * low, 27.0)),
        Region("socket", "front", disc(80.0, 74.0 * low, 12.0)),
        Region(
            "strap_buttons", "front", box(-24.0, _edge(large["body"], -24.0, max) + 4, 15.0, 9.0)
        ),
        Region("strap_buttons", "front", box(-126.0, _edge(large["body"], -126.0, min) - 4, 15, 9)),
    ]
    screws = ((-19, joint + 12), (19, joint + 12), (-19, end - 12), (19, end - 12))
    found += [Region("plate_screws", "back", disc(x, y, 9.0)) for x, y in screws]
    found += [
        Region("frets", "front", box(0, fret_distance(build, n) + nut, _neck_width(build, n), 2.2))
        for n in range(1, build.frets + 1)
    ]
    found += [Region(key, "front", box(0, y, 88.0, 27.0)) for key, y in build.pickups]
    if build.switch:
        found.append(Region("switch", "front", box(90.0, -118.0, 9.0, 27.0)))
    return tuple(found + _tuners(build))


def _edge(body: Polygon, x: float, end: Callable[[list[float]], float]) -> float:
    """The uppermost (min) or lowest (max) height of an outline near *x*."""
    return end([py for px, py in body if abs(px - x) < 18.0])


def _neck_width(build: Build, fret: int) -> float:
    share = fret_distance(build, fret) / (build.scale_mm * 0.72)
    return build.nut_mm + (build.heel_mm - build.nut_mm) * share - 1.0


def _neck_back(neck: Polygon, joint: float) -> Polygon:
    """Cut the neck off where the body covers it from behind."""
    (left, top), (right, _), (end_right, end), _ = neck
    share = (joint - top) / (end - top)
    half = right + (end_right - right) * share
    return ((left, top), (right, top), (half, joint), (-half, joint))
