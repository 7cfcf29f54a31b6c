"""Forms of Work plan."""

from __future__ import annotations

from pydantic import Field

from heelstamp.web.forms import EntryForm, Word


class Signed(EntryForm):
    """What the owner agreed to: keys of acts, none where nothing is to be done."""

    act: list[Word] = Field(default_factory=list)
    signed: Word = ""
    by: Word = "owner"
