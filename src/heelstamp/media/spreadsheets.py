"""Tables in: CSV text and XLSX workbooks to cells, bounded, with nothing guessed.

A workbook turns what looks like a date into one ("5 6", "62/03") and drops leading noughts of what
looks like a number; a cell that holds a date or a truth value is therefore handed on as such, for
the reader to refuse where a mark was meant. A formula is handed on as itself, to be refused: what
it last gave is not in every file, and is no record. CSV is
RFC 4180 with a comma, semicolon or tab, whichever most of the first lines hold equally often; all
its cells are text, and an apostrophe before what would begin a formula is the mark of a text. A
workbook says itself which of its cells hold a formula. XLSX: ECMA-376 as read by openpyxl.
"""

from __future__ import annotations

import csv
import io
import re
import warnings
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from heelstamp.casework.spreadsheet.sheet import Cell, Sheet
from heelstamp.documents import decode_text
from heelstamp.errors import HeelstampError, InputError, LimitError
from heelstamp.media.bounds import bound_workbook

LARGEST_FILE = 50_000_000
"""Bytes."""

MOST_ROWS = 200_000
MOST_COLUMNS = 500
MOST_CELLS = 1_500_000
"""Blank ones between others count; 200 MB as they are handed on."""
LONGEST_TEXT = 32_767
"""Characters of a cell, as many as spreadsheets take."""
BLANK = Cell()
_QUOTED = re.compile(rb'"[^"]*"')
_NOT_IN_TITLES = re.compile(r"[\[\]:*?/\\]")
_NOT_IN_CELLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
FORMULA_BEGINS = ("=", "+", "-", "@", "\t", "\r", "\n")
_LOOKED_AT = 20_000
"""Bytes from which it is told what parts the cells."""


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
    rows = _rows(data, name, sheet, most_rows, "")
    name = f"{name}, sheet {sheet}" if sheet else name
    if not rows:
        raise InputError("the table is empty", where=name, remedy="Name the columns in row 1.")
    (_, head), *body = rows
    width = len(head)
    for number, row in body:
        if len(row) > width:
            raise InputError(
                "a row has more cells than the head names",
                where=f"{name}, row {number}",
                received=next(cell.text for cell in row[width:] if cell.text),
                remedy="Name every column in the first row.",
            )
    if len(body) * width > 4 * MOST_CELLS:
        raise _too_large(name, MOST_ROWS if most_rows is None else most_rows)
    padded = tuple((number, row + (BLANK,) * (width - len(row))) for number, row in body)
    return Sheet(name, tuple(cell.text for cell in head), padded)


def read_rows(
    data: bytes,
    name: str,
    sheet: str | None = None,
    *,
    most_rows: int | None = None,
    encoding: str = "",
) -> Sheet:
    """Read all rows of a table that are not blank, with no head taken: ``columns`` is empty.

    Parameters
    ----------
    encoding
        Of CSV, ``utf-8``, ``utf-16`` or ``windows-1252``; concluded from the bytes without it, by
        `encoding_of`.

    Raises
    ------
    InputError
        As `read_sheet` does, a missing head aside.
    """
    rows = _rows(data, name, sheet, most_rows, encoding or encoding_of(data, name))
    width = max((len(row) for _, row in rows), default=0)
    if len(rows) * width > 4 * MOST_CELLS:
        raise _too_large(name, MOST_ROWS if most_rows is None else most_rows)
    padded = tuple((number, row + (BLANK,) * (width - len(row))) for number, row in rows)
    return Sheet(f"{name}, sheet {sheet}" if sheet else name, (), padded)


def encoding_of(data: bytes, name: str) -> str:
    """Tell in which encoding a CSV is written: by its byte order mark, its noughts, or what fits.

    UTF-16 without a mark has a nought beside each Latin letter. What is not UTF-8 is read as
    Windows-1252, in which nearly every text can be: its letters are to be looked at.
    """
    if not name.lower().endswith(".csv"):
        return ""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if b"\x00" in data[:2000]:
        return "utf-16"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "windows-1252"
    return "utf-8"


Row = tuple[int, tuple[Cell, ...]]


def _rows(
    data: bytes, name: str, sheet: str | None, most_rows: int | None, encoding: str
) -> list[Row]:
    if len(data) > LARGEST_FILE:
        raise LimitError(
            "the table is too large",
            where=name,
            received=f"{len(data) / 1e6:.0f} MB",
            remedy=f"At most {LARGEST_FILE / 1e6:.0f} MB; cut it in two.",
        )
    ending = name.rsplit(".", 1)[-1].lower()
    most_rows = MOST_ROWS if most_rows is None else most_rows
    if ending == "csv":
        return _from_csv(
            data if encoding in ("", "utf-8") else _utf8(data, name, encoding), name, most_rows
        )
    if ending == "xlsx":
        return _from_workbook(data, name, sheet, most_rows)
    raise InputError(
        "neither CSV nor XLSX by its name",
        where=name,
        received=ending,
        remedy="Save the table as .csv (UTF-8) or .xlsx.",
    )


def _utf8(data: bytes, name: str, encoding: str) -> bytes:
    codec = {"utf-16": "utf-16", "windows-1252": "cp1252"}.get(encoding)
    if codec is None:
        raise InputError(
            "an encoding that is not read here",
            where=name,
            received=encoding,
            remedy="Use utf-8, utf-16 or windows-1252.",
        )
    if codec == "utf-16" and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        codec = "utf-16-be" if data[:1] == b"\x00" else "utf-16-le"
    try:
        return data.decode(codec).encode()
    except UnicodeDecodeError as error:
        raise InputError(
            f"not written in {encoding}",
            where=f"{name}, byte {error.start + 1}",
            remedy="Declare another encoding, or save it as UTF-8.",
        ) from None
    except UnicodeEncodeError:
        raise InputError(
            f"not written in {encoding}", where=name, remedy="Save it as UTF-8."
        ) from None


class _Table:
    """Rows as they come, trimmed of blank ends, without the blank ones, within bounds."""

    def __init__(self, name: str, most_rows: int) -> None:
        self.rows: list[Row] = []
        self._name, self._most_rows, self._cells = name, most_rows, 0

    def add(self, number: int, cells: Iterable[Cell], width: int) -> None:
        """Take a row in; its *width*, blank cells and all, counts as work."""
        self._cells += width
        row = list(cells)
        while row and not row[-1].text:
            row.pop()
        if not row:
            self._bound(0)
            return
        self.rows.append((number, tuple(row)))
        self._bound(len(row))
        longest = max(len(one.text) for one in row)
        if longest > LONGEST_TEXT:
            raise LimitError(
                "a cell holds too much text",
                where=f"{self._name}, row {number}",
                received=f"{longest} characters",
                remedy=f"At most {LONGEST_TEXT}, as in a workbook.",
            )

    def _bound(self, width: int) -> None:
        rows = len(self.rows)
        if rows > self._most_rows or width > MOST_COLUMNS or self._cells > MOST_CELLS:
            raise _too_large(self._name, self._most_rows)


def _too_large(name: str, most_rows: int) -> LimitError:
    return LimitError(
        "the table is too large",
        where=name,
        remedy=f"At most {most_rows} rows, {MOST_COLUMNS} columns and {MOST_CELLS} cells; "
        "cut it in two.",
    )


def _from_csv(data: bytes, name: str, most: int) -> list[Row]:
    delimiter = _delimiter(data)
    if data.count(delimiter.encode()) > 2 * MOST_CELLS:  # before one of its rows is a list of them
        raise _too_large(name, most)
    lines = io.TextIOWrapper(io.BytesIO(data), "utf-8-sig", newline="")
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    table = _Table(name, most)
    try:
        for number, row in enumerate(reader, start=1):
            table.add(number, (_written(_lines(one)) if one else BLANK for one in row), len(row))
    except csv.Error as error:
        raise InputError(
            "broken CSV",
            where=f"{name}, line {reader.line_num}",
            received=error,
            remedy="Close every quoted cell, and double quotes inside of one.",
        ) from None
    except UnicodeDecodeError:
        decode_text(data, name)  # raises, and names the line
        raise
    return table.rows


def _delimiter(data: bytes) -> str:
    """Tell what parts the cells: what most of the first lines hold equally often."""
    plain = _QUOTED.sub(b"", data[:_LOOKED_AT])
    lines = [one for one in plain.splitlines()[:20] if one.strip()]

    def fits(mark: str) -> tuple[int, int, int]:
        counts = Counter(found for one in lines if (found := one.count(mark.encode())))
        count, often = max(counts.items(), key=lambda one: (one[1], one[0]), default=(0, 0))
        return often, count, -",;\t".index(mark)

    return max(",;\t", key=fits)


def _lines(text: str) -> str:
    """A cell's text with one kind of line end, whichever machine wrote it."""
    return text.strip().replace("\r\n", "\n").replace("\r", "\n")


def _written(text: str) -> Cell:
    if text[:1] == "'" and text[1:2] in ("=", "+", "-", "@"):
        return Cell(text[1:])
    return Cell(text, "formula") if text.startswith("=") else Cell(text)


def _from_workbook(data: bytes, name: str, sheet: str | None, most: int) -> list[Row]:
    table = _Table(name, most)
    with _broken(name), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and extensions that bear on no cell
        bound_workbook(data, name)
        from openpyxl import load_workbook  # noqa: PLC0415 - a third of a second, seldom needed

        with closing(load_workbook(io.BytesIO(data), read_only=True)) as book:
            source = _chosen(book, sheet, name)
            source.reset_dimensions()  # what the head says of its size is not taken on trust
            for number, cells in enumerate(source.iter_rows(), start=1):
                told = (_cell(one.value, is_formula=one.data_type == "f") for one in cells)
                table.add(number, told, len(cells))
    return table.rows


@contextmanager
def _broken(name: str) -> Iterator[None]:
    """Turn whatever the workbook's library raises into one error."""
    try:
        yield
    except (HeelstampError, MemoryError):
        raise
    except Exception as error:  # openpyxl raises whatever the broken part happens to raise
        raise InputError(
            "not a workbook that can be read",
            where=name,
            remedy="Save it again as .xlsx, unlocked.",
        ) from error


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


def _cell(value: object, *, is_formula: bool) -> Cell:
    """A workbook says of each cell whether it holds a formula; a text may begin like one."""
    if value is None or isinstance(value, bool):
        return BLANK if value is None else Cell(str(value).upper(), "truth")
    if isinstance(value, int | float):
        whole = isinstance(value, float) and value.is_integer()
        return Cell(str(int(value)) if whole else repr(value), "number")
    if isinstance(value, datetime | date | time | timedelta):
        return Cell(str(value), "date")
    text = _lines(str(value))
    if text.startswith("#") and text.endswith(("!", "?", "A")):
        return Cell(text, "error")
    return Cell(text, "formula") if is_formula else Cell(_written(text).text)


def workbook_of(rows: Sequence[Mapping[str, object]], title: str) -> bytes:
    """Write rows as a workbook of one sheet, with every field that one of them has as a column.

    A text is written as a text, whatever it begins with, and marked as one (*quotePrefix*, ECMA-376
    part 1, 18.8.45), so that a spreadsheet program never takes it for a formula; whole and decimal
    numbers are numbers.
    """
    from openpyxl import Workbook  # noqa: PLC0415 - a third of a second, seldom needed
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415
    from openpyxl.styles import Font  # noqa: PLC0415

    book = Workbook(write_only=True)
    sheet = book.create_sheet(_NOT_IN_TITLES.sub(" ", title)[:31] or "table")
    columns = list(dict.fromkeys(key for row in rows for key in row))

    def cell(value: object) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float | Decimal | None):
            text = _NOT_IN_CELLS.sub("\ufffd", str(value))[:LONGEST_TEXT]
            made = WriteOnlyCell(sheet, text)
            made.data_type = "s"
            made.quotePrefix = text[:1] in FORMULA_BEGINS
            return made
        return WriteOnlyCell(sheet, value)

    head = [cell(one) for one in columns]
    for one in head:
        one.font = Font(bold=True)
    sheet.freeze_panes = "A2"
    sheet.append(head)
    for row in rows:
        sheet.append([cell(row.get(one)) for one in columns])
    written = io.BytesIO()
    book.save(written)
    return written.getvalue()
