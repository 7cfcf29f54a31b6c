"""Forms of Sale."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from heelstamp.web.forms import EntryForm, Line, Prose, Word


class Step(EntryForm):
    """The next step of a sale."""

    event: Word
    day: Word = ""
    party: Line = ""
    amount: Word = ""
    of: Word = ""
    means: Word = ""
    until: Word = ""
    names: Word = ""
    lets: Word = ""
    note: Prose = ""
    name: Line = ""
    contact: Line = ""


class Owner(EntryForm):
    """An owner: who they are to it, how that was seen, and when they signed."""

    role: Line
    identity: Line = ""
    ending: Word = ""
    acquired: Prose = ""
    liens: Prose = ""
    signed: Word = ""
    strokes: Annotated[str, Field(max_length=200_000)] = ""
    name: Line = ""
    contact: Line = ""


class Tax(EntryForm):
    """Under which scheme the sale is taxed."""

    scheme: Word
    rate: Word = ""
    bought: Word = ""
    reason: Line = ""


class Search(EntryForm):
    """A search of a list of stolen or pledged instruments."""

    register_: Line = Field(alias="register")
    query: Line = ""
    day: Word = ""
    hit: Word = ""
    result: Prose = ""
