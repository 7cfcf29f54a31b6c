"""Forms of Photographs."""

from __future__ import annotations

from typing import Annotated

from fastapi import UploadFile
from pydantic import BeforeValidator, Field

from heelstamp.web.forms import EntryForm, Id, Prose, Typed, Word, with_point

PerCent = Annotated[
    float, BeforeValidator(with_point), Field(ge=0.0, le=100.0, allow_inf_nan=False)
]
"""Of the width or the height of a picture."""


class Taken(EntryForm):
    """A photograph, and what it shows."""

    photo: UploadFile
    slot: Word = ""
    part: Word = ""
    light: Word = ""
    private: bool = False
    note: Prose = ""


class Privacy(EntryForm):
    """Whether a frame stays with the shop."""

    frame: Id
    private: bool


class Box(EntryForm):
    """A box over what must not be read."""

    hides: Word = "number"
    left: PerCent
    top: PerCent
    width: PerCent
    height: PerCent
    note: Prose = ""


class Scale(EntryForm):
    """Two points of a known length."""

    x0: PerCent
    y0: PerCent
    x1: PerCent
    y1: PerCent
    length: Typed
    note: Prose = ""


class Removal(EntryForm):
    """A box or a scale that is withdrawn."""

    mark: Id
    reason: Prose
