"""Forms of Listing."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from heelstamp.web.forms import EntryForm, Sent


class Issue(EntryForm):
    """A listing to be issued."""


class Own(Sent):
    """A text of the shop's own."""

    text: Annotated[str, Field(max_length=20_000)] = ""
