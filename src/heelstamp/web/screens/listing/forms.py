"""Forms of Listing."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from heelstamp.web.forms import EntryForm, Id, Sent, Word


class Issue(EntryForm):
    """A listing or a showing page to be issued."""

    paper: Word = "listing"


class Release(EntryForm):
    """Whether a recording may be heard outside."""

    recording: Id
    public: bool


class Own(Sent):
    """A text of the shop's own."""

    text: Annotated[str, Field(max_length=20_000)] = ""
