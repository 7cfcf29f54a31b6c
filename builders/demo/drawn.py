"""What the examiner draws and types for each UV pair: masks, ruler, greys.

Corners are whole pixels, some millimetres apart, and parts are drawn half a millimetre wide of
their edges, as a hand does it. Plain strings are left out: they are thinner than anything that is
assessed. Nothing of the planted patches is in here.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from demo import shapes
from demo.props import GREY_STANDARD, RULER_MM
from demo.scenes_pair import TARGETS, view
from demo.studio import plate

NECK_END = 340.0
"""Beyond the right edge of the frame, mm."""


def masks(*, behind: bool) -> str:
    """The masks as the JSON document that ``glow --masks`` takes."""
    parts = [
        {"name": name, "polygon": _pixels(shapes.inset(shapes.smoothed(one, 3.0, 1), -0.5), behind)}
        for name, one in _parts(behind=behind).items()
    ]
    return json.dumps({"outline": _pixels(shapes.BODY[::2], behind), "parts": parts}) + "\n"


def pairs() -> list[dict[str, Any]]:
    """What is typed for each pair, and when, as rows of ``pairs.json``."""
    return [
        {
            "id": f"glow-{face}",
            "at": f"2026-11-04T{clock}:00Z",
            "by": "examiner A",
            "visible": frames[0],
            "uv": frames[1],
            "masks": f"masks-{face}.json",
            "ruler": ruler(behind=behind),
            "greys": greys(behind=behind),
            "seed": hashlib.sha256(f"heelstamp demonstration, pair {face}".encode()).hexdigest(),
        }
        for face, behind, clock, frames in (
            ("front", False, "11:05", ("F024", "F025")),
            ("back", True, "11:12", ("F026", "F027")),
        )
    ]


def ruler(*, behind: bool) -> list[float]:
    """Both ends of the ruler's marks as ``glow --ruler`` takes them."""
    seen, (x, y) = view(behind=behind), TARGETS[behind]
    up = -seen.upright
    ends = [(x + side * RULER_MM / 2, y + up * 6.0) for side in (-1.0, 1.0)]
    (x0, y0), (x1, y1) = seen.pixels(ends) - 0.5
    return [round(float(x0)), round(float(y0)), round(float(x1)), round(float(y1)), RULER_MM]


def greys(*, behind: bool) -> list[list[float]]:
    """The greys as ``glow --grey`` takes them: a box well inside each, and reflectance."""
    seen, (x, y) = view(behind=behind), TARGETS[behind]
    boxes: list[list[float]] = []
    for place, half, reflectance in GREY_STANDARD:
        inner, row = 0.6 * half, y + 22 * seen.upright
        corners = seen.pixels([(x + place - inner, row - inner), (x + place + inner, row + inner)])
        low, high = corners.min(axis=0), corners.max(axis=0)
        boxes.append([*(round(float(v)) for v in (*low, *high)), reflectance])
    return boxes


def _pixels(points: list[shapes.Point], behind: bool) -> list[list[int]]:
    return [[round(float(x)), round(float(y))] for x, y in view(behind=behind).pixels(points) - 0.5]


def _parts(*, behind: bool) -> dict[str, list[shapes.Point]]:
    if behind:
        return {
            "neck_plate": plate(*shapes.PLATE, 68, 52, 4),
            "neck": _box(shapes.JOINT - 2, NECK_END, -28.0, 28.0),
        }
    parts = {
        "guard": shapes.GUARD,
        "bridge": plate(-12, 0, 46, 78, 3),
        "neck": _box(shapes.HEEL, NECK_END, -29.0, 29.0),
    }
    for key, x in shapes.PICKUPS:
        parts[key] = plate(x, 0, 27, 88, 6)
    near, far = 10.0, shapes.HEEL + 2
    for number in (4, 5, 6):  # the wound ones
        start, end = shapes.STRINGS_SADDLE[number - 1], shapes.STRINGS_NUT[number - 1]
        y0, y1 = (start + (end - start) * x / shapes.SCALE for x in (near, far))
        parts[f"string_{number}"] = [
            (near, y0 - 0.5),
            (far, y1 - 0.5),
            (far, y1 + 0.5),
            (near, y0 + 0.5),
        ]
    return parts


def _box(left: float, right: float, low: float, high: float) -> list[shapes.Point]:
    return [(left, low), (right, low), (right, high), (left, high)]
