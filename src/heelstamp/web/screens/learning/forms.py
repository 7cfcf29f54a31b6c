"""Forms of the census of a maker."""

from __future__ import annotations

from typing import Annotated

from fastapi import UploadFile
from pydantic import Field, field_validator

from heelstamp.dating.learning import LEAST_LOOKS
from heelstamp.web.forms import Sent, Word

Key = Annotated[str, Field(pattern="^[0-9a-f]{24}$")]


class Spreadsheet(Sent):
    """A spreadsheet of instruments, and what its columns mean if not by their names."""

    table: UploadFile
    columns: UploadFile | None = None


class Dossier(Sent):
    """A closed dossier for the census of its own chronology."""

    tag: Word
    while_open: bool = False

    @field_validator("tag")
    @classmethod
    def _plain(cls, tag: str) -> str:
        return tag.strip()


class Learn(Sent):
    """How to learn: the new edition's name, the serial curve too, least looks at a feature."""

    edition: Word = ""
    serial: bool = False
    least: Annotated[int, Field(ge=1, le=1000)] = LEAST_LOOKS


class Accept(Sent):
    """The work whose result is written."""

    key: Key


class Redate(Sent):
    """Whether the new conclusions are kept; the work that learned, where that is tried."""

    keep: bool = False
    learned: Key | None = None
