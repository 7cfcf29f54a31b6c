"""How commands print: plain sentences and tables for people, one JSON value for programs."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
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


class _Voice:
    """Where sentences go: standard output, the error stream while a file goes out, or nowhere."""

    quiet = False
    leaving: Path | None = None


def begin(*, quiet: bool) -> None:
    """Begin a command: what it says goes to standard output, or nowhere where it is *quiet*."""
    _Voice.quiet, _Voice.leaving = quiet, None


def leave_standard_output(path: Path) -> None:
    """Keep standard output free for what is written at *path*; sentences go to the error stream."""
    _Voice.leaving = path


class ReaderGoneError(Exception):
    """Whoever read our output has stopped; there is no one left to print to."""


def _write(text: str) -> None:
    leaving = _Voice.leaving
    if leaving is not None:
        sys.stderr.write(_tame(text.replace(str(leaving), leaving.stem)))
        return
    try:
        sys.stdout.write(_tame(text))
    except BrokenPipeError:
        raise ReaderGoneError from None


def _tell(text: str) -> None:
    if not _Voice.quiet:
        _write(text)


def width() -> int:
    """Columns to print to."""
    return min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns)


def say(text: str = "", indent: str = "") -> None:
    """Print a sentence or paragraph, wrapped."""
    if not text:
        _tell("\n")
        return
    lines = textwrap.wrap(text, width(), initial_indent=indent, subsequent_indent=indent)
    _tell("\n".join(lines) + "\n")


def bullet(text: str) -> None:
    """Print one item of a list."""
    lines = textwrap.wrap(text, width(), initial_indent="  - ", subsequent_indent="    ")
    _tell("\n".join(lines) + "\n")


def heading(text: str) -> None:
    """Print a heading with a line of space above it."""
    _tell(f"\n{text}\n")


def table(rows: Sequence[Sequence[str]], head: Sequence[str]) -> None:
    """Print rows in columns; the last column wraps."""
    columns = list(zip(head, *rows, strict=True))
    sizes = [max(len(cell) for cell in column) for column in columns[:-1]]
    indent = sum(size + 2 for size in sizes) + 2
    for row in (head, *rows):
        start = "  " + "".join(f"{cell:<{size}}  " for cell, size in zip(row, sizes, strict=False))
        room = max(20, width() - indent)
        last = textwrap.wrap(row[-1], room) or [""]
        _tell((start + last[0]).rstrip() + "\n")
        for line in last[1:]:
            _tell(" " * indent + line + "\n")


@contextmanager
def bar(what: str) -> Iterator[Callable[[float, str], None]]:
    """Show how far a long act is, on a terminal alone; give what tells it: a share, and a stage.

    The bar is drawn on the error stream and gone when the act has ended. Without colour where the
    user asked for none (``NO_COLOR``).
    """
    if _Voice.quiet or not sys.stderr.isatty():
        yield lambda _share, _stage: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task(what, total=1.0)

        def told(share: float, stage: str) -> None:
            farthest = max(share, shown.tasks[0].completed)  # two threads tell of it
            shown.update(task, completed=farthest, description=f"{what}: {stage}")

        yield told


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
