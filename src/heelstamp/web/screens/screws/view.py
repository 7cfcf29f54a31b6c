"""What Screws shows: the picture of an opening, and the screws that were tapped on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from heelstamp.casework.screws import (
    DRIVES,
    HEADS,
    METALS,
    STARTS,
    THREADS,
    picture_for,
    tray_of,
    trays,
)
from heelstamp.shop.subjects import Subject
from heelstamp.web.screens.first_look.drawing import still_drawing

WIDE = 720
"""Pixels at which the picture of an opening is drawn."""
DRAWN = {"guard": "front", "bridge": "front", "neck": "back"}
"""Side of the instrument that stands in for a photograph of an opening."""


@dataclass(frozen=True, slots=True)
class Dot:
    """A screw on the picture: its number and place in pixels, and whether it is back."""

    number: int
    x: float
    y: float
    back: bool


def stand_in(subject: Subject, opening: str) -> tuple[str, int]:
    """Return the drawing that stands in for a photograph of an opening, and its height."""
    return still_drawing(subject.state.instrument.kind, DRAWN[opening], WIDE)


def screws_view(subject: Subject, opening: str, frame: str) -> dict[str, Any]:
    """Lay out the picture of an opening with its screws."""
    every = trays(subject.state, subject.tree, subject.chronology)
    one = tray_of(every, opening)
    chosen = frame or picture_for(subject.state, one.opening)
    photograph = subject.state.photographs.get(chosen)
    if photograph is None:
        tall = stand_in(subject, one.opening)[1]
    else:
        tall = round(WIDE * photograph.height / photograph.width)
    on_it = [s for s in one.screws if (s.frame or "") == (chosen if photograph else "")]
    return {
        "trays": every,
        "tray": one,
        "photograph": photograph,
        "wide": WIDE,
        "tall": tall,
        "dots": [
            Dot(s.number, round(s.x * WIDE, 1), round(s.y * tall, 1), bool(s.back)) for s in on_it
        ],
        "heads": HEADS,
        "drives": DRIVES,
        "threads": THREADS,
        "metals": METALS,
        "starts": STARTS,
        "last": one.screws[-1] if one.screws else None,
    }
