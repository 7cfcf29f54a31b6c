"""Tables in: CSV text and XLSX workbooks to cells, bounded, with nothing guessed.

A workbook turns what looks like a date into one ("5 6", "62/03") and drops leading noughts of what
looks like a number; a cell that holds a date or a truth value is therefore handed on as such, for
the reader to refuse where a mark was meant. A formula is handed on as itself, to be refused: what
it last gave is not in every file, and is no record. CSV is
RFC 4180 with a comma, semicolon or tab, whichever the first line holds most of; all its cells are
text. XLSX: ECMA-376 as read by openpyxl.
"""

from __future__ import annotations

import csv
import io
import warnings
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date, datetime, time, timedelta
from itertools import islice
from typing import Any

from heelstamp.casework.census.sheet import Cell, Sheet
from heelstamp.documents import decode_text
from heelstamp.errors import InputError

LARGEST_FILE = 50_000_000
"""Bytes."""

LARGEST_UNPACKED = 500_000_000
"""Bytes that the parts of a workbook may unpack to."""

MOST_ROWS = 200_000
MOST_COLUMNS = 500


def read_sheet(
    data: bytes, name: str, sheet: str | None = None, *, most_rows: int | None = None
) -> Sheet:
    """Read a table; its first row names the columns, wholly blank rows are passed over.

    Parameters
    ----------
    name
        File name; its end tells the format.
    sheet
        Which sheet of a workbook; the first without it.
    most_rows
        Rows that are read, ``MOST_ROWS`` without it; a table of more is refused before the rest is.

    Raises
    ------
    InputError
        Another format, too large, broken, no such sheet, or without a head.
    """
    if len(data) > LARGEST_FILE:
        raise InputError(
            "the table is too large",
            where=name,
            received=f"{len(data) / 1e6:.0f} MB",
            remedy=f"At most {LARGEST_FILE / 1e6:.0f} MB; cut it in two.",
        )
    ending = name.rsplit(".", 1)[-1].lower()
    most_rows = MOST_ROWS if most_rows is None else most_rows
    if ending == "csv":
        rows = _from_csv(data, name, most_rows)
    elif ending == "xlsx":
        rows = _from_workbook(data, name, sheet, most_rows)
        name = f"{name}, sheet {sheet}" if sheet else name
    else:
        raise InputError(
            "neither CSV nor XLSX by its name",
            where=name,
            received=ending,
            remedy="Save the table as .csv (UTF-8) or .xlsx.",
        )
    filled = [(number, row) for number, row in rows if any(cell.text for cell in row)]
    if not filled:
        raise InputError("the table is empty", where=name, remedy="Name the columns in row 1.")
    (_, head), *body = filled
    columns = tuple(cell.text for cell in head)
    width = len(columns)
    while width and not columns[width - 1]:
        width -= 1
    for number, row in body:
        if any(cell.text for cell in row[width:]):
            raise InputError(
                "a row has more cells than the head names",
                where=f"{name}, row {number}",
                received=next(cell.text for cell in row[width:] if cell.text),
                remedy="Name every column in the first row.",
            )
    padding = (Cell(),) * width
    return Sheet(
        name, columns[:width], tuple((number, (*row, *padding)[:width]) for number, row in body)
    )


def _from_csv(data: bytes, name: str, most: int) -> list[tuple[int, tuple[Cell, ...]]]:
    text = decode_text(data, name)
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[tuple[int, tuple[Cell, ...]]] = []
    try:
        for row in reader:
            _bound(len(rows), len(row), name, most)
            rows.append((len(rows) + 1, tuple(_written(one.strip()) for one in row)))
    except csv.Error as error:
        raise InputError(
            "broken CSV",
            where=f"{name}, line {reader.line_num}",
            received=error,
            remedy="Close every quoted cell, and double quotes inside of one.",
        ) from None
    return rows


def _written(text: str) -> Cell:
    return Cell(text, "formula") if text.startswith("=") else Cell(text)


def _from_workbook(
    data: bytes, name: str, sheet: str | None, most: int
) -> list[tuple[int, tuple[Cell, ...]]]:
    _refuse_large(data, name)
    with _broken(name), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and extensions that bear on no cell
        from openpyxl import load_workbook  # noqa: PLC0415 - a third of a second, seldom needed

        book = load_workbook(io.BytesIO(data), read_only=True)
    with _broken(name), closing(book):
        source = _chosen(book, sheet, name)
        rows: list[tuple[int, tuple[Cell, ...]]] = []
        for values in islice(source.iter_rows(values_only=True), most + 1):
            _bound(len(rows), len(values), name, most)
            rows.append((len(rows) + 1, tuple(_cell(one) for one in values)))
    return rows


@contextmanager
def _broken(name: str) -> Iterator[None]:
    """Turn whatever the workbook's library raises into one error."""
    try:
        yield
    except InputError:
        raise
    except Exception as error:  # openpyxl raises whatever the broken part happens to raise
        raise InputError(
            "not a workbook that can be read",
            where=name,
            remedy="Save it again as .xlsx, unlocked.",
        ) from error


def _refuse_large(data: bytes, name: str) -> None:
    with _broken(name), zipfile.ZipFile(io.BytesIO(data)) as packed:
        unpacked = sum(one.file_size for one in packed.infolist())
    if unpacked > LARGEST_UNPACKED:
        raise InputError("the workbook unpacks to too much", where=name, remedy="Cut it in two.")


def _chosen(book: Any, sheet: str | None, name: str) -> Any:
    if sheet is None:
        return book.worksheets[0]
    if sheet not in book.sheetnames:
        raise InputError(
            "no such sheet",
            where=name,
            received=sheet,
            remedy="Sheets: " + ", ".join(book.sheetnames) + ".",
        )
    return book[sheet]


def _bound(rows: int, columns: int, name: str, most: int) -> None:
    if rows >= most or columns > MOST_COLUMNS:
        raise InputError(
            "the table is too large",
            where=name,
            remedy=f"At most {most} rows and {MOST_COLUMNS} columns; cut it in two.",
        )


def _cell(value: object) -> Cell:
    if value is None:
        return Cell()
    if isinstance(value, bool):
        return Cell(str(value).upper(), "truth")
    if isinstance(value, int | float):
        whole = isinstance(value, float) and value.is_integer()
        return Cell(str(int(value)) if whole else repr(value), "number")
    if isinstance(value, datetime | date | time | timedelta):
        return Cell(str(value), "date")
    text = str(value).strip()
    if text.startswith("#") and text.endswith(("!", "?", "A")):
        return Cell(text, "error")
    return _written(text)
