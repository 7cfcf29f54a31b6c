"""Forms of Return check."""

from __future__ import annotations

from fastapi import UploadFile

from heelstamp.web.forms import EntryForm, Line, Word


class Shot(EntryForm):
    """A shot of the return."""

    slot: Word
    photo: UploadFile


class Verdict(EntryForm):
    """What a person says of a shot."""

    slot: Word
    verdict: Word
    reason: Line = ""
