"""Forms of Cover."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, Field

from heelstamp.web.forms import Word

Words = Annotated[list[Word], Field(max_length=40)]


class Covers(BaseModel):
    """The cover of every place: one value of each list a row; blank ones stand for themselves."""

    name: Words = Field(default_factory=list)
    limit: Words = Field(default_factory=list)
    until: Words = Field(default_factory=list)
