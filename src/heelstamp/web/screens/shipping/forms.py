"""Forms of Shipping."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import UploadFile
from pydantic import Field

from heelstamp.web.forms import EntryForm, Ids, Line, Prose, Word


class Packed(EntryForm):
    """How it was packed."""

    route: Word
    day: Word = ""
    weight_g: Word
    length_mm: Word
    width_mm: Word
    height_mm: Word
    tuned_down: Word = ""
    seal: Line = ""
    frames: Ids = Field(default_factory=list)
    logger: bool = False
    value: Word = ""
    cover: Word = ""
    limit: Word = ""
    note: Prose = ""


class Log(EntryForm):
    """A logger's file, and the room where the parcel stands."""

    file: UploadFile
    room_c: Annotated[float, Field(ge=-20, le=50, allow_inf_nan=False)]
    room_rh: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)]
    order: Literal["", "dmy", "mdy"] = ""
