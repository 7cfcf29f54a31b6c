"""Forms of recordings."""

from __future__ import annotations

from typing import Annotated

from fastapi import UploadFile
from pydantic import Field

from heelstamp.web.forms import EntryForm, Id, Real, Word


class Sound(EntryForm):
    """A recording."""

    sound: UploadFile


class Note(Sound):
    """A plucked note: its string, where it was pressed, when, and its *name* if tuned otherwise."""

    string: Annotated[int, Field(ge=1, le=12)]
    fret: Annotated[int, Field(ge=0, le=12)] = 0
    stage: Word = "found"
    name: Word = ""


class Pitch(EntryForm):
    """A recorded note whose pitch is entered."""

    recording: Id


class Intonation(EntryForm):
    """Two recorded notes of a string, open and at the 12th fret."""

    open_note: Id
    fretted: Id


class Take(Sound):
    """A take of a control, swept or at rest."""

    part: Word
    take: Word
    stage: Word = "found"


class Crackle(EntryForm):
    """The control and the stage whose events a turn are entered."""

    part: Word
    stage: Word
    turns: Annotated[Real | None, Field(ge=1, le=200)] = None


class Voice(Sound):
    """A spoken note, with the screen and part it was made on."""

    screen: Word = ""
    part: Word = ""
