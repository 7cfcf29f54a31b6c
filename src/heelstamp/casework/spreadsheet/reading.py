"""How a person's spreadsheet is to be read: head, decimal mark, order of dates, currency.

What nobody declared is concluded only where the cells leave one way to read them: ``8.650,00``
shows a decimal comma, ``15.02.2021`` a day before its month. Where both ways remain (``8.650``
alone, ``03/04/2021``) the table is refused until it is declared. What was concluded is told, with
the cell that showed it. Rows that are no data (titles above the head, heads repeated, totals) are
passed over and told by row and text.

Dates come out as ``2021-02-15`` or ``2021-02`` (ISO 8601), numbers with a point and without marks
between thousands. Days counted by a spreadsheet begin with 1 = 1900-01-01 and hold the day 60 =
1900-02-29 that never was (ECMA-376 part 1, 18.17.4.1, date base 1900), so that days from 61 on are
added to 1899-12-30.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

import msgspec

from heelstamp.casework.spreadsheet.cells import (
    CODE_OF_SIGN,
    DateOrder,
    DecimalMark,
    date_text,
    number_text,
    orders_of,
    parted,
    sign_of,
)
from heelstamp.casework.spreadsheet.sheet import Cell, Sheet
from heelstamp.errors import InputError

Role = Literal["number", "date", "text"]
RoleOf = Callable[[str], Role | None]
"""What a column of this name holds; None where the name says nothing."""

HEAD_AMONG = 30
"""Rows among which the head is looked for."""
EXCEL_DAYS = date(1899, 12, 30)

_TOTAL = re.compile(
    r"(grand |sub-?)?(total|sum|average|mean|median|count|summe|gesamt|zwischensumme|moyenne)"
    r"(e|s|en)?( of .*| for .*|:.*)?:?",
    re.IGNORECASE,
)
"""First words of a row that adds up; English, and a few of the neighbours' (common practice, no
source)."""


class Declared(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How a table is to be read, as a person declares it; blank where they leave it to the cells.

    Attributes
    ----------
    encoding
        Of CSV: ``utf-8``, ``utf-16`` or ``windows-1252``.
    head_row
        Row that names the columns, as the spreadsheet counts; 0 where it is to be found.
    decimal_mark, date_order
        Of cells that are text.
    currency
        ISO 4217 code of sums without one.
    """

    encoding: Literal["", "utf-8", "utf-16", "windows-1252"] = ""
    head_row: int = 0
    decimal_mark: Literal["", ".", ","] = ""
    date_order: Literal["", "year first", "day first", "month first", "days counted"] = ""
    currency: str = ""


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A row that is no data: its number, its text, and why."""

    row: int
    text: str
    why: str


@dataclass(frozen=True, slots=True)
class Understood:
    """A table as it was understood.

    Attributes
    ----------
    sheet
        The data alone: dates and numbers in one form each.
    declared
        With what was concluded filled in.
    concluded
        Sentences: what was concluded, and from which cell.
    passed
        Rows that are no data.
    """

    sheet: Sheet
    declared: Declared
    concluded: tuple[str, ...]
    passed: tuple[PassedOver, ...]


def understand(raw: Sheet, declared: Declared, role_of: RoleOf) -> Understood:
    """Read a table without a head, as `heelstamp.media.spreadsheets.read_rows` gives it.

    Raises
    ------
    InputError
        No such head row, or cells that could be read in two ways; names one of them.
    """
    if not raw.rows:
        raise InputError("the table is empty", where=raw.name, remedy="Name the columns in row 1.")
    place, told = _head(raw, declared, role_of)
    names = _names(raw, place)
    head = raw.rows[place][1]
    passed = [PassedOver(number, _said(row), "above the head") for number, row in raw.rows[:place]]
    rows: list[tuple[int, tuple[Cell, ...]]] = []
    for number, row in raw.rows[place + 1 :]:
        why = _no_data(row, head)
        if why:
            passed.append(PassedOver(number, _said(row), why))
        else:
            rows.append((number, row))
    declared = replace_declared(declared, head_row=raw.rows[place][0])
    roles = [role_of(name) for name in names]
    numbers = [at for at, role in enumerate(roles) if role == "number"]
    dates = [at for at, role in enumerate(roles) if role == "date"]
    mark, more = _decimal_mark(rows, numbers, names, declared)
    told += more
    order, more = _date_order(rows, dates, names, declared)
    told += more
    currency, more = _currency(rows, numbers, names, declared)
    told += more
    made = [
        (
            number,
            tuple(
                _plain(cell, at in numbers, at in dates, mark, order) for at, cell in enumerate(row)
            ),
        )
        for number, row in rows
    ]
    declared = replace_declared(declared, decimal_mark=mark, date_order=order, currency=currency)
    return Understood(Sheet(raw.name, names, tuple(made)), declared, tuple(told), tuple(passed))


def replace_declared(declared: Declared, **changes: object) -> Declared:
    """Return the same declaration with fields changed."""
    return msgspec.structs.replace(declared, **changes)


def _head(raw: Sheet, declared: Declared, role_of: RoleOf) -> tuple[int, list[str]]:
    if declared.head_row:
        for place, (number, _) in enumerate(raw.rows):
            if number == declared.head_row:
                return place, []
        raise InputError(
            "no such row to name the columns",
            where=raw.name,
            received=declared.head_row,
            remedy="Give the row that names them, as the spreadsheet counts; blank rows do not.",
        )
    known = [
        sum(bool(cell.text) and role_of(cell.text) is not None for cell in row)
        for _, row in raw.rows[:HEAD_AMONG]
    ]
    best = max(known)
    place = known.index(best) if best > 1 else 0
    number = raw.rows[place][0]
    return place, [] if place == 0 else [f"The columns are named in row {number}."]


def _names(raw: Sheet, place: int) -> tuple[str, ...]:
    """Names of the columns; of joined cells above, where the head's own is blank or comes twice."""
    head = [cell.text for cell in raw.rows[place][1]]
    width = max((len(row) for _, row in raw.rows), default=0)
    head += [""] * (width - len(head))
    above = [""] * width
    if place and raw.rows[place - 1][0] == raw.rows[place][0] - 1:
        written = [cell.text for cell in raw.rows[place - 1][1]]
        if sum(map(bool, written)) > 1:  # one alone is a title
            above = written + [""] * (width - len(written))
    names = [own or over for own, over in zip(head, above, strict=True)]
    spread = _filled(above)
    twice = {name for name, count in Counter(names).items() if count > 1 and name}
    return tuple(
        f"{over} {name}" if name in twice and over and over != name else name
        for name, over in zip(names, spread, strict=True)
    )


def _filled(above: Sequence[str]) -> list[str]:
    """Joined cells hold their text in the first of them."""
    found: list[str] = []
    for one in above:
        found.append(one or (found[-1] if found else ""))
    return found


def _no_data(row: Sequence[Cell], head: Sequence[Cell]) -> str:
    said = [cell for cell in row if cell.text]
    if [cell.text for cell in said] == [cell.text for cell in head if cell.text]:
        return "the head again"
    if said and said[0].holds == "text" and _TOTAL.fullmatch(said[0].text):
        return "a total"
    if len(said) == 1 and len(head) > 2 and said[0].holds == "text":
        return "a title"
    return ""


def _said(row: Sequence[Cell]) -> str:
    return "; ".join(cell.text for cell in row if cell.text)[:120]


_Rows = Sequence[tuple[int, tuple[Cell, ...]]]


def _texts(rows: _Rows, places: Sequence[int]) -> list[tuple[int, int, str]]:
    return [
        (number, at, row[at].text)
        for number, row in rows
        for at in places
        if at < len(row) and row[at].text and row[at].holds == "text"
    ]


def _decimal_mark(
    rows: _Rows, places: Sequence[int], names: Sequence[str], declared: Declared
) -> tuple[DecimalMark | Literal[""], list[str]]:
    if declared.decimal_mark:
        return declared.decimal_mark, []
    shown: dict[str, tuple[int, int, str]] = {}
    open_: tuple[int, int, str] | None = None
    for number, at, text in _texts(rows, places):
        marks = parted(text)
        for mark in marks if len(marks) == 1 else ():
            shown.setdefault(mark, (number, at, text))
        if len(marks) == 2 and "." in text:
            open_ = open_ or (number, at, text)
    if len(shown) == 2:
        (row, at, text), (other, _, second) = shown["."], shown[","]
        raise InputError(
            "a decimal point and a decimal comma in one table",
            where=f"row {row}, column {names[at]}",
            received=f"{text}, and {second} in row {other}",
            remedy="Write them in one way, or declare decimal_mark and mend the others.",
        )
    if shown:
        ((mark, (row, at, text)),) = shown.items()
        found: DecimalMark = "," if mark == "," else "."
        if found == "." and "," not in "".join(one for *_, one in _texts(rows, places)):
            return found, []  # the usual way, and nothing else in it
        called = "comma" if found == "," else "point"
        return found, [f"Decimals follow a {called}: “{text}” in row {row}, {names[at]}."]
    if open_ is not None:
        row, at, text = open_
        raise InputError(
            "this number can be read in two ways",
            where=f"row {row}, column {names[at]}",
            received=text,
            remedy="Declare the decimal mark: a point or a comma.",
        )
    return "", []


def _date_order(
    rows: _Rows, places: Sequence[int], names: Sequence[str], declared: Declared
) -> tuple[DateOrder, list[str]]:
    if declared.date_order:
        return declared.date_order, []
    possible: set[str] = {"day first", "month first"}
    shown = seen = None
    for number, at, text in _texts(rows, places):
        orders = orders_of(text)
        if not orders:
            continue
        seen = seen or (number, at, text)
        if not possible & orders:
            row, _, text_ = shown or seen
            raise InputError(
                "days first and months first in one table",
                where=f"row {number}, column {names[at]}",
                received=f"{text}, and {text_} in row {row}",
                remedy="Write them in one way.",
            )
        if possible - orders:
            shown = (number, at, text)
        possible &= orders
    if seen is None:
        return "", []
    if len(possible) == 2:
        row, at, text = seen
        raise InputError(
            "this date can be read in two ways",
            where=f"row {row}, column {names[at]}",
            received=text,
            remedy="Declare the order of dates: day first or month first.",
        )
    (order,) = possible
    row, at, text = shown or seen
    found: DateOrder = "day first" if order == "day first" else "month first"
    return found, [f"Dates have the {order}: “{text}” in row {row}, {names[at]}."]


def _currency(
    rows: _Rows, places: Sequence[int], names: Sequence[str], declared: Declared
) -> tuple[str, list[str]]:
    found = declared.currency
    told: list[str] = []
    for number, at, text in _texts(rows, places):
        sign, _ = sign_of(text)
        codes = CODE_OF_SIGN.get(sign, (sign,)) if sign else ()
        if not codes or found in codes:
            continue
        if found or len(codes) > 1:
            raise InputError(
                "a sum in another currency" if found else "a sign of several currencies",
                where=f"row {number}, column {names[at]}",
                received=text,
                remedy=f"Give a column of currency; {found} is declared."
                if found
                else "Declare the currency: " + ", ".join(codes) + ".",
            )
        found = codes[0]
        told.append(f"Sums are in {found}: “{text}” in row {number}, {names[at]}.")
    return found, told


def _plain(
    cell: Cell, number: bool, dated: bool, mark: DecimalMark | Literal[""], order: DateOrder
) -> Cell:
    if number and cell.holds == "text" and cell.text:
        return replace(cell, text=number_text(cell.text, mark or "."))
    if dated and cell.holds == "date":
        return Cell(cell.text[:10], "date")
    if dated and cell.holds in ("number", "text") and order == "days counted":
        if cell.text.isascii() and cell.text.isdigit() and 0 < int(cell.text[:6]) < 80_000:
            return Cell((EXCEL_DAYS + timedelta(int(cell.text))).isoformat(), "date")
        return cell
    if dated and cell.holds == "text" and cell.text:
        return replace(cell, text=date_text(cell.text, order))
    return cell
