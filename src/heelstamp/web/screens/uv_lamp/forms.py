"""Forms of UV lamp."""

from __future__ import annotations

from typing import Annotated

from fastapi import UploadFile
from pydantic import Field

from heelstamp.web.forms import EntryForm, Id, Line, Real, Word

Drawing = Annotated[str, Field(max_length=600_000)]


class PairForm(EntryForm):
    """The frames of a pair."""

    visible: Id
    uv: Id


class Compare(PairForm):
    """What was drawn on a pair: kept, or compared with."""

    marks: Drawing = ""
    brushed: bool = False
    act: Word = "compare"


class Look(PairForm):
    """What a comparison came to; *again* is why it takes the place of one that stands."""

    finding: Id
    again: Line = ""


class Region(PairForm):
    """A region set aside, or let stand again."""

    region: Annotated[int, Field(ge=1, le=100_000)]
    act: Word
    reason: Line = ""
    other_reason: Line = ""


class Border(PairForm):
    """A border drawn by hand; an empty one lets the program's stand again."""

    region: Annotated[int, Field(ge=1, le=100_000)]
    polygon: Drawing = ""
    reason: Line = ""


class Shot(EntryForm):
    """A frame under UV-A that was taken beside its frame in ordinary light."""

    photo: UploadFile
    visible: Id
    uv: Word = ""
    slot: Word = ""


class Irradiance(EntryForm):
    """UV-A irradiance at the eyes, W/m²."""

    level: Real


class Switch(EntryForm):
    """The lamp turned on or off."""

    to: Word
