"""What state the instrument is in: places where it is not whole, and faces that were looked over.

What a condition record holds follows EN 16095:2012, *Condition recording for movable cultural
heritage* (contents, from memory): what, where, how large, since when, with a picture. The words are
those of the trade; where it has none, those of National Services Te Paerangi, *Condition
reporting*, guide 26 (2010).
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from heelstamp.catalogue.bodies.base import EntryBody, Id, NotNegative, Share, Text
from heelstamp.catalogue.conversion import join_place
from heelstamp.errors import InputError

Damage = Literal[
    "worn through",
    "chip",
    "checking",
    "scratch",
    "ding",
    "crack",
    "split",
    "repair",
    "corrosion",
    "plating loss",
    "stain",
    "fade",
    "shrinkage",
    "off-gassing",
    "missing",
]
Material = Literal["structural", "finish", "metal", "wood", "plastic"]
Face = Literal["front", "back", "sides", "headstock", "neck", "fingerboard", "inside", "case"]
Visit = Literal["intake", "exit", "return"]
ItIs = Literal["light", "moved parts", "dust", "known and entered"]
Since = Literal["here at intake", "appeared", "not known"]
Millimetres = Annotated[float, msgspec.Meta(gt=0.0, le=3000.0)]


class Condition(EntryBody, frozen=True):
    """One place that is not whole, as it was seen on one visit.

    Attributes
    ----------
    damage, material
        What it is, and of what.
    face, part
        Where; the part where one is meant.
    visit
        When the instrument was looked over: when it came, when it goes, when it came back.
    since
        Whether it was there when the instrument came in.
    frame, x, y
        Photograph that shows it, and its place there as shares from the left and the top.
    length_mm, width_mm, uncertainty_mm
        Its size, and the standard uncertainty of both.
    same_as
        The place of an earlier visit that this is.
    """

    id: Id
    damage: Damage
    material: Material
    face: Face
    visit: Visit = "intake"
    since: Since = "not known"
    part: Text | None = None
    frame: Id | None = None
    x: Share | None = None
    y: Share | None = None
    length_mm: Millimetres | None = None
    width_mm: Millimetres | None = None
    uncertainty_mm: NotNegative | None = None
    same_as: Id | None = None
    note: str = ""


class DifferenceLook(EntryBody, frozen=True):
    """A person looked at what differs in two photographs, and says that nothing came or went.

    Attributes
    ----------
    before, after
        Frames of the earlier and the later visit.
    it_is
        What makes the difference instead.
    """

    id: Id
    before: Id
    after: Id
    it_is: ItIs
    note: str = ""


class FaceLooked(EntryBody, frozen=True):
    """A face looked over whole on one visit, so that what is not entered there was not seen."""

    id: Id
    face: Face
    visit: Visit = "intake"
    note: str = ""


def check_condition(body: Condition, where: str) -> None:
    """Refuse half a place, a width above the length, and a time that contradicts the visit."""
    if (body.x is None) != (body.y is None):
        raise InputError(
            "half of a place",
            where=join_place(where, "field x" if body.x is None else "field y"),
            received="nothing",
            remedy="Give both x and y, or neither.",
        )
    if body.x is not None and body.frame is None:
        raise InputError(
            "a place in no photograph",
            where=join_place(where, "field frame"),
            received="nothing",
            remedy="Name the frame in which x and y lie, or leave them out.",
        )
    if body.width_mm is not None and body.width_mm > (body.length_mm or 0.0):
        raise InputError(
            "a width above the length",
            where=join_place(where, "field width_mm"),
            received=body.width_mm,
            remedy="The length is the longer of the two.",
        )
    if body.uncertainty_mm is not None and body.length_mm is None:
        raise InputError(
            "an uncertainty without a size",
            where=join_place(where, "field uncertainty_mm"),
            received=body.uncertainty_mm,
            remedy="Give length_mm too.",
        )
    if body.visit == "intake" and body.since == "appeared":
        raise InputError(
            "seen when it came in, it did not appear later",
            where=join_place(where, "field since"),
            received=body.since,
            remedy="Use “here at intake”, or the visit on which it was first seen.",
        )
