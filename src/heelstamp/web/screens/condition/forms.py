"""Forms of Condition."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from heelstamp.web.forms import EntryForm, Id, Number, Prose, Real, Typed, Word


class Place(EntryForm):
    """One place that is not whole; the tap is in pixels of a picture that is *tall* high."""

    damage: Word
    material: Word = ""
    face: Word
    visit: Word = "intake"
    since: Word = "not known"
    part: Word = ""
    frame: Id = ""
    same_as: Id = ""
    size: Typed = ""
    uncertainty_mm: Number = None
    note: Prose = ""
    tall: Annotated[Real, Field(ge=1, le=20_000)] = 1.0
    x: Annotated[Real | None, Field(alias="tap.x")] = None
    y: Annotated[Real | None, Field(alias="tap.y")] = None

    def told(self, wide: float) -> dict[str, Any]:
        """Return what the entry holds, with the tap as shares of the picture."""
        told = self.fields("size", "tall", "x", "y")
        if self.x is not None and self.y is not None and self.frame:
            told |= {"x": round(self.x / wide, 4), "y": round(self.y / self.tall, 4)}
        return told


class Looked(EntryForm):
    """A face that was looked over whole."""

    face: Word
    visit: Word = "intake"
    frame: Id = ""


class Difference(EntryForm):
    """What makes two photographs differ where nothing came or went."""

    before: Id
    after: Id
    it_is: Word
    note: Prose = ""


class Letter(EntryForm):
    """One person's letter for one aspect."""

    aspect: Word
    grade: Word
    reason: Prose = ""
    face: Word = ""
    visit: Word = ""
