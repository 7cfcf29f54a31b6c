"""Forms of First calls."""

from __future__ import annotations

from typing import Annotated

from fastapi import UploadFile
from pydantic import Field

from heelstamp.web.forms import Id, Line, Sent, Word


class Begun(Sent):
    """A call that the shop notes."""

    about: Line = ""
    chronology: Word = ""


class Chosen(Sent):
    """Which chronology a call asks."""

    chronology: Word = ""


class Linked(Sent):
    """How many days a link stands."""

    days: Annotated[int, Field(ge=1, le=90)] = 7


class Brought(Sent):
    """A picture that reached the shop by another way."""

    photo: UploadFile
    slot: Word = ""


class Named(Sent):
    """Which frame a picture is said to show."""

    picture: Id
    slot: Word


class Arrived(Sent):
    """The instrument has come in."""

    tag: Word
    chronology: Word = ""
