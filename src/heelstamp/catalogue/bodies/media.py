"""Photographs and recordings: files of their own, and what is said of each."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from heelstamp.catalogue.bodies.base import (
    EntryBody,
    FileDigest,
    Id,
    Share,
    Stage,
    Text,
    parse_time,
)
from heelstamp.catalogue.bodies.measurement import Fret, StringNumber
from heelstamp.catalogue.conversion import join_place
from heelstamp.errors import InputError

Pixels = Annotated[int, msgspec.Meta(gt=0, le=1_000_000)]
Light = Literal["visible", "raking", "UV-A", "infrared", "transmitted"]
Sound = Literal["note", "control", "voice"]
Take = Literal["sweep", "still"]
Hides = Literal["number", "grain", "person", "other"]
Extent = Annotated[float, msgspec.Meta(gt=0.0, le=1.0)]
LengthMm = Annotated[float, msgspec.Meta(gt=0.0, le=2000.0)]


class Photograph(EntryBody, frozen=True):
    """A frame: its file, size in pixels as displayed, subject, light, and who may see it."""

    id: Id
    file: FileDigest
    name: Text
    media_type: Annotated[str, msgspec.Meta(pattern=r"^image/[a-z0-9.+-]+$")]
    width: Pixels
    height: Pixels
    part: Text | None = None
    slot: str = ""
    light: Light = "visible"
    private: bool = False
    taken: str | None = None
    simulated: bool = False
    note: str = ""


class PictureBox(EntryBody, frozen=True):
    """A box drawn on a photograph, filled in every copy that goes to buyers and insurers.

    Attributes
    ----------
    frame
        Id of the photograph.
    x, y
        Upper left corner as shares of width and height of the picture as displayed.
    width, height
        Shares likewise; the box ends within the picture.
    hides
        What stands there and must not be read: identity, and nothing that is evidence.
    """

    id: Id
    frame: Id
    x: Share
    y: Share
    width: Extent
    height: Extent
    hides: Hides = "number"
    note: str = ""


class PictureScale(EntryBody, frozen=True):
    """Two points on a photograph a known length apart, as on a rule that lies beside the subject.

    Attributes
    ----------
    frame
        Id of the photograph.
    x0, y0, x1, y1
        The two points as shares of width and height of the picture as displayed.
    length_mm
        Between them, in the plane of the subject.
    """

    id: Id
    frame: Id
    x0: Share
    y0: Share
    x1: Share
    y1: Share
    length_mm: LengthMm
    note: str = ""


class Recording(EntryBody, frozen=True):
    """A sound recording.

    Attributes
    ----------
    sound
        A plucked note, a control being turned or at rest, or a spoken note; None for another.
    what
        What it is of, in a person's words; needed where *sound* says nothing.
    string, fret, note_name
        Of a note: string, fret (0 open), and the note's name as ``E2``, or empty.
    take
        Of a control: swept, or still.
    screen
        Of a spoken note: key of the page on which it was spoken.
    """

    id: Id
    file: FileDigest
    name: Text
    media_type: Annotated[str, msgspec.Meta(pattern=r"^audio/[a-z0-9.+-]+$")]
    sound: Sound | None = None
    what: str = ""
    part: Text | None = None
    stage: Stage = "found"
    string: StringNumber | None = None
    fret: Fret | None = None
    note_name: str = ""
    take: Take | None = None
    screen: str = ""
    note: str = ""


# sound: fields it needs, all fields of its own
_SOUND_FIELDS: dict[str | None, tuple[tuple[str, ...], tuple[str, ...]]] = {
    None: (("what",), ("what",)),
    "note": (("string", "fret"), ("what", "string", "fret", "note_name")),
    "control": (("take", "part"), ("what", "take")),
    "voice": ((), ("what", "screen")),
}
_OWN = ("string", "fret", "note_name", "take", "screen")


def check_photograph(body: Photograph, where: str) -> None:
    """Refuse a time that is not in the calendar."""
    if body.taken is not None:
        parse_time(body.taken, where=join_place(where, "field taken"))


def check_box(body: PictureBox, where: str) -> None:
    """Refuse a box that leaves the picture."""
    for name, begins, extent in (("width", body.x, body.width), ("height", body.y, body.height)):
        if begins + extent > 1.0 + 1e-9:
            raise InputError(
                "a box that leaves the picture",
                where=join_place(where, f"field {name}"),
                received=extent,
                remedy="Shares of the picture: begin and extent come to at most 1.",
            )


def check_scale(body: PictureScale, where: str) -> None:
    """Refuse two points that are one."""
    if (body.x0, body.y0) == (body.x1, body.y1):
        raise InputError(
            "a scale between a point and itself",
            where=join_place(where, "field x1"),
            received=body.x1,
            remedy="Give two points as far apart as the rule allows.",
        )


def check_recording(body: Recording, where: str) -> None:
    """Refuse a recording that does not say what it is of, and fields of another sound."""
    needed, own = _SOUND_FIELDS[body.sound]
    kind = body.sound or "other"
    for name in needed:
        if getattr(body, name) in (None, ""):
            raise InputError(
                f"a recording ({kind}) does not say its {name}",
                where=join_place(where, f"field {name}"),
                remedy=f"Give {name}.",
            )
    for name in _OWN:
        if name not in own and getattr(body, name) not in (None, ""):
            raise InputError(
                f"a recording ({kind}) has no such field",
                where=join_place(where, f"field {name}"),
                received=getattr(body, name),
                remedy="Give the sound it belongs to, or take it out.",
            )
