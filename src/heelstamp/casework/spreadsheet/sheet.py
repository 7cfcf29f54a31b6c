"""A table as a person kept it: a head of column names, and cells that know what they hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from heelstamp.errors import HeelstampError, InputError

Holds = Literal["text", "number", "date", "truth", "error", "formula"]


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell's text as shown, and what the spreadsheet held it to be."""

    text: str = ""
    holds: Holds = "text"


def refuse_formula(cell: Cell) -> None:
    """Refuse a cell that holds a formula: what it last gave is not in every file.

    Raises
    ------
    InputError
        It does.
    """
    if cell.holds == "formula":
        raise InputError(
            "a formula stands in this cell",
            received=cell.text,
            remedy="Write the value itself: copy the column and paste it as values.",
        )


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table.

    Attributes
    ----------
    name
        File, with the sheet where it has several.
    columns
        Names from the first row; blank for columns without one.
    rows
        Number of each row as the spreadsheet counts, and its cells, one a column.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]


class TableError(InputError):
    """A table cannot be taken over; ``cells`` are all the places where, nothing was taken."""

    def __init__(
        self,
        what: str,
        *,
        where: str = "",
        received: object = None,
        remedy: str = "",
        cells: tuple[HeelstampError, ...] = (),
    ) -> None:
        self.cells = cells
        super().__init__(what, where=where, received=received, remedy=remedy)

    def at(self, where: str) -> TableError:
        """Return the same error with *where* set in front of the place it already names."""
        place = f"{where}, {self.where}" if self.where else where
        received = self.received or None
        return TableError(
            self.what, where=place, received=received, remedy=self.remedy, cells=self.cells
        )


def refuse_cells(sheet: Sheet, errors: Sequence[HeelstampError]) -> None:
    """Refuse a table when any of its cells cannot be used.

    Raises
    ------
    TableError
        It holds them all.
    """
    if errors:
        count = len(errors)
        raise TableError(
            f"{count} {'cell' if count == 1 else 'cells'} cannot be used; nothing was taken",
            where=sheet.name,
            remedy="Correct them all, then repeat.",
            cells=tuple(errors),
        )


def at_cell(error: HeelstampError, place: str) -> HeelstampError:
    """Return the error with the cell as its only place: the table is what its reader looks at."""
    received = error.received or None
    return InputError(error.what, where=place, received=received, remedy=error.remedy)
