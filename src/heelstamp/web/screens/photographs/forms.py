"""Forms of Photographs."""

from __future__ import annotations

from fastapi import UploadFile

from heelstamp.web.forms import EntryForm, Id, Prose, Word


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
