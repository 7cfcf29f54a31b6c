"""How commands print: plain sentences and tables for people, one JSON value for programs."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any

from heelstamp.casework.spreadsheet.sheet import TableError
from heelstamp.errors import HeelstampError

WIDEST = 100


def _tame(text: str) -> str:
    """Show control characters instead of sending them: a record must not steer a terminal."""
    return "".join(
        char if char == "\n" or unicodedata.category(char) != "Cc" else f"\\x{ord(char):02x}"
        for char in text
    )


class ReaderGoneError(Exception):
    """Whoever read our output has stopped; there is no one left to print to."""


def _write(text: str) -> None:
    try:
        sys.stdout.write(_tame(text))
    except BrokenPipeError:
        raise ReaderGoneError from None


def width() -> int:
    """Columns to print to."""
    return min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns)


def say(text: str = "", indent: str = "") -> None:
    """Print a sentence or paragraph, wrapped."""
    if not text:
        _write("\n")
        return
    lines = textwrap.wrap(text, width(), initial_indent=indent, subsequent_indent=indent)
    _write("\n".join(lines) + "\n")


def bullet(text: str) -> None:
    """Print one item of a list."""
    lines = textwrap.wrap(text, width(), initial_indent="  - ", subsequent_indent="    ")
    _write("\n".join(lines) + "\n")


def heading(text: str) -> None:
    """Print a heading with a line of space above it."""
    _write(f"\n{text}\n")


def table(rows: Sequence[Sequence[str]], head: Sequence[str]) -> None:
    """Print rows in columns; the last column wraps."""
    columns = list(zip(head, *rows, strict=True))
    sizes = [max(len(cell) for cell in column) for column in columns[:-1]]
    indent = sum(size + 2 for size in sizes) + 2
    for row in (head, *rows):
        start = "  " + "".join(f"{cell:<{size}}  " for cell, size in zip(row, sizes, strict=False))
        room = max(20, width() - indent)
        last = textwrap.wrap(row[-1], room) or [""]
        _write((start + last[0]).rstrip() + "\n")
        for line in last[1:]:
            _write(" " * indent + line + "\n")


def emit(value: Any) -> None:
    """Print one JSON value."""
    _write(json.dumps(value, ensure_ascii=False, indent=1) + "\n")


def error_value(error: HeelstampError) -> Mapping[str, Any]:
    """Lay out an error as a JSON value; of a refused table, with every cell that cannot be used."""
    value: dict[str, Any] = {
        "error": {
            "what": error.what,
            "where": error.where,
            "received": error.received,
            "remedy": error.remedy,
        }
    }
    if isinstance(error, TableError):
        value["cells"] = [error_value(one)["error"] for one in error.cells]
    return value


def complain_of(error: HeelstampError) -> None:
    """Print an error to the error stream; of a refused table, every cell too."""
    complain(f"heelstamp: {error}")
    for one in error.cells if isinstance(error, TableError) else ():
        complain(f"  {one}")


def complain(text: str) -> None:
    """Print one message to the error stream."""
    sys.stderr.write(_tame(text) + "\n")
