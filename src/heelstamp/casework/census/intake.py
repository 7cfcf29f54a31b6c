"""From a shop's table to rows of the census; every cell that cannot be used is told, none taken.

A cell is a fact of its own: what was read, or *not looked*, *absent*, *illegible*, *not
applicable*. A mark that no rule reads is an error, for a census row that silently lost its mark
would teach from its features. A cell that the spreadsheet made a date of is refused where a mark
is meant.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Protocol, TypeVar

from heelstamp.casework.census.columns import (
    Column,
    ColumnMap,
    columns_by_name,
    feature_of,
    sign_of,
)
from heelstamp.casework.census.rows import HOW_DATED, CensusRow, how_dated_by, make_row
from heelstamp.casework.dating.translation import translate
from heelstamp.casework.spreadsheet.sheet import Cell, Sheet, at_cell, refuse_cells, refuse_formula
from heelstamp.catalogue import Observation, parse_body
from heelstamp.catalogue.conversion import nearest
from heelstamp.chronology import Chronology
from heelstamp.errors import HeelstampError, InputError
from heelstamp.marks import MarkContext
from heelstamp.units import parse_month

LONGEST_ID = 100
_PAPER = ("not before", "not after")
_PLAIN = re.compile(r"[^A-Za-z0-9_.:-]+")


def rows_from_sheet(
    sheet: Sheet, columns: ColumnMap | None, chronology: Chronology, context: MarkContext
) -> list[CensusRow]:
    """Make census rows of a table.

    Parameters
    ----------
    columns
        What the columns mean; taken by their names when None.

    Raises
    ------
    TableError
        Cells cannot be used; the error holds all of them and nothing is taken.
    InputError
        A column is missing, comes twice, or its name says nothing.
    """
    columns = columns or columns_by_name(sheet.columns, chronology)
    places = places_of(sheet, columns.column)
    intake = _Intake(columns, chronology, context)
    rows = [
        intake.row(number, [(one, cells[place]) for one, place in places])
        for number, cells in sheet.rows
    ]
    refuse_cells(sheet, intake.errors)
    return [row for row in rows if row is not None]


class Named(Protocol):
    """A column of a map: it has a name."""

    @property
    def name(self) -> str:
        """As the head of the table has it."""
        ...


C = TypeVar("C", bound=Named)


def places_of(sheet: Sheet, columns: Sequence[C]) -> list[tuple[C, int]]:
    """Find each mapped column in a table.

    Raises
    ------
    InputError
        A column is missing, comes twice, or is not mapped.
    """
    places = []
    for one in columns:
        found = [place for place, name in enumerate(sheet.columns) if name == one.name]
        if len(found) != 1:
            raise InputError(
                "no such column" if not found else "two columns of one name",
                where=sheet.name,
                received=one.name,
                remedy=nearest(one.name, sheet.columns) if not found else "Rename one of them.",
            )
        places.append((one, found[0]))
    mapped = {place for _, place in places}
    for place, name in enumerate(sheet.columns):
        if place not in mapped:
            raise InputError(
                "a column that is not mapped",
                where=sheet.name,
                received=name or f"column {place + 1}",
                remedy='Map it, or give it kind = "ignore".',
            )
    return places


class _Intake:
    def __init__(self, columns: ColumnMap, chronology: Chronology, context: MarkContext) -> None:
        self.columns, self.chronology, self.context = columns, chronology, context
        self.errors: list[HeelstampError] = []
        self.ids: dict[str, int] = {}

    def row(self, number: int, cells: Sequence[tuple[Column, Cell]]) -> CensusRow | None:
        """Make one row; None, with its errors noted, when it cannot be."""
        before = len(self.errors)
        id_, how = f"row {number}", self.columns.how_dated
        seen: list[Observation] = []
        paper: dict[str, str] = {}
        for place, (column, cell) in enumerate(cells):
            try:
                if column.kind == "id":
                    id_ = cell.text or id_
                elif column.kind == "how dated":
                    how = self._how(column, cell) or how
                elif column.kind in _PAPER:
                    paper |= self._paper(column, cell)
                elif column.kind != "ignore":
                    seen.append(self._observation(column, cell, place))
            except HeelstampError as error:
                self.errors.append(at_cell(error, f"row {number}, column {column.name}"))
        try:
            self._take_id(id_, number)
            if paper:
                seen.append(self._document(paper))
            if len(self.errors) > before:
                return None
            if how is None:
                how = how_dated_by(translate(seen, self.chronology, self.context))
            return make_row(id_, how, seen, self.chronology, self.context)
        except HeelstampError as error:
            self.errors.append(at_cell(error, f"row {number}"))
            return None

    def _take_id(self, id_: str, number: int) -> None:
        if len(id_) > LONGEST_ID:
            raise InputError("an id is too long", received=id_, remedy=f"At most {LONGEST_ID}.")
        if id_ in self.ids:
            raise InputError(
                f"the id of row {self.ids[id_]} again", received=id_, remedy="Ids differ."
            )
        self.ids[id_] = number

    def _how(self, column: Column, cell: Cell) -> str | None:
        how = column.values.get(cell.text, cell.text)
        if how and how not in HOW_DATED:
            raise InputError("no such way of dating", received=how, remedy=nearest(how, HOW_DATED))
        return how or None

    def _paper(self, column: Column, cell: Cell) -> dict[str, str]:
        if self.columns.status_of(cell.text) is not None:
            return {}
        text = cell.text[:7] if cell.holds == "date" else cell.text
        parse_month(text)
        return {column.kind.replace(" ", "_"): text}

    def _document(self, paper: dict[str, str]) -> Observation:
        anchor = next(row.key for row in self.chronology.parts if row.form == "anchor")
        body: dict[str, Any] = {
            "id": "paper",
            "part": anchor,
            "kind": "document",
            "status": "read",
            **paper,
            "reliability": self.columns.reliability,
            "link": "names serial",
        }
        return _checked(body)

    def _observation(self, column: Column, cell: Cell, place: int) -> Observation:
        body: dict[str, Any] = {
            "id": f"c{place + 1}-{_PLAIN.sub('-', column.name).strip('-')}"[:60],
            "part": self._part(column),
            "kind": column.kind,
        }
        if column.kind == "feature":
            body["feature"] = feature_of(column)
        if column.kind == "sign":
            body["sign"] = sign_of(column)
        status = self.columns.status_of(cell.text)
        if status is not None and cell.text not in column.values:
            return _checked({**body, "status": status})
        text = self._text(column, cell)
        body["status"] = "read"
        body[{"feature": "variant", "sign": "outcome"}.get(column.kind, "text")] = text
        if column.reader is not None:
            body["reader"] = column.reader
        seen = _checked(body)
        self._try(seen)
        return seen

    def _part(self, column: Column) -> str:
        if column.part is not None:
            return column.part
        if column.kind == "serial":
            if self.chronology.serial is None:
                raise InputError("this chronology has no serial numbers", remedy="Ignore it.")
            return self.chronology.serial.part
        row: Any = (
            self.chronology.feature(feature_of(column))
            if column.kind == "feature"
            else self.chronology.sign(sign_of(column))
        )
        seen_on = row.seen_on if column.kind == "sign" else row.parts
        if seen_on:
            return str(seen_on[0])
        home = next(one for one in self.chronology.assemblies if one.name == row.assembly)
        return home.parts[0]

    def _text(self, column: Column, cell: Cell) -> str:
        refuse_formula(cell)
        if cell.holds in ("date", "truth", "error"):
            raise InputError(
                f"the spreadsheet made a {cell.holds} value of this cell",
                received=cell.text,
                remedy="Format the column as text, and write again what was seen.",
            )
        return column.values.get(cell.text, cell.text)

    def _try(self, seen: Observation) -> None:
        """Refuse what the chronology cannot use, by itself."""
        (found,) = translate([seen], self.chronology, self.context)
        unread = found.mark is not None and not any(one.evidence for one in found.mark.readings)
        if unread or not found.evidence:
            why = found.mark.why_not if found.mark is not None else found.why_not
            raise InputError(
                why or "it says nothing of the date",
                received=seen.text or seen.variant or seen.outcome,
                remedy="Correct it, or write illegible or not looked at.",
            )


def _checked(body: dict[str, Any]) -> Observation:
    seen = parse_body("observation", body, where="")
    assert isinstance(seen, Observation)
    return seen
