"""Forms of Screws."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from heelstamp.casework.screws import screw_length
from heelstamp.units import LengthUnit
from heelstamp.web.forms import EntryForm, Id, Real, Typed, Word


class Like(EntryForm):
    """What a screw is like."""

    head: Word = ""
    drive: Word = ""
    thread: Word = ""
    metal: Word = ""
    length: Typed = ""
    start: Word = "not tried"
    odd: bool = False
    frame: Id = ""

    def like(self, unit: LengthUnit) -> tuple[dict[str, Any], str]:
        """Return what was told, its length in mm, and the length as it was typed."""
        length_mm, typed = screw_length(self.length, unit)
        names = ("head", "drive", "thread", "metal", "start", "odd")
        named = {name: getattr(self, name) for name in names}
        return named | {"length_mm": length_mm}, typed


class Out(Like):
    """A screw at the place of the picture that was tapped, in pixels; *tall* is its height."""

    opening: Word
    tall: Annotated[Real, Field(ge=1, le=20_000)]
    x: Annotated[Real, Field(alias="tap.x")]
    y: Annotated[Real, Field(alias="tap.y")]


class LikeOf(Like):
    """What one screw is like."""

    screw: Id


class Back(EntryForm):
    """A screw put back into its own hole, or taken out again."""

    screw: Id
    back_in: bool
    frame: Id = ""


class OddSaid(EntryForm):
    """Of which set it is said whether it holds an odd one."""

    set: Word
