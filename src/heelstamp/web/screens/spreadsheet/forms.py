"""Forms of Spreadsheet."""

from __future__ import annotations

from typing import Annotated

from fastapi import UploadFile
from pydantic import Field

from heelstamp.web.forms import Line, Sent, Word

Address = Annotated[str, Field(max_length=200, pattern=r"^/([A-Za-z0-9_.#-][A-Za-z0-9_./#%-]*)?$")]
Columns = Annotated[list[Line], Field(max_length=500)]


class Given(Sent):
    """A spreadsheet, the chronology it is of, and the page to go back to."""

    table: UploadFile
    columns: UploadFile | None = None
    of: Word = ""
    back: Address = "/"


class Read(Sent):
    """How a spreadsheet is to be read.

    Attributes
    ----------
    column, held
        Names of columns and what each holds, side by side.
    """

    of: Word = ""
    back: Address = "/"
    encoding: Word = ""
    head_row: Annotated[int, Field(ge=0, le=200_000)] = 0
    decimal_mark: Word = ""
    date_order: Word = ""
    currency: Word = ""
    sale_kind: Word = ""
    column: Columns = Field(default_factory=list)
    held: Columns = Field(default_factory=list)

    @property
    def holds(self) -> dict[str, str] | None:
        """What each named column holds; None where none was named."""
        if not self.column:
            return None
        return {name: held for name, held in zip(self.column, self.held, strict=False) if held}
