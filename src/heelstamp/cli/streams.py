"""``-`` where a command takes or writes a file, and the examples wherever the command is typed.

A word ``-`` is standard input, or standard output after an option that writes a file
(POSIX.1-2017, 12.2, guideline 13). What comes is laid in a private file whose ending tells what it
is, and what goes out is written whole before the first byte leaves; so every command takes both,
and none knows of it.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import IO

from heelstamp.cli import output
from heelstamp.errors import InputError
from heelstamp.reference.example_files import example_file

STREAM = "-"
WRITTEN = {
    "paper": {"-o": ".pdf", "--out": ".pdf"},
    "paper listing": {"-o": ".zip", "--out": ".zip"},
    "paper showing": {"-o": ".html", "--out": ".html"},
    "pack": {"-o": ".zip", "--out": ".zip"},
    "due": {"--ics": ".ics"},
    "verify": {"--page": ".html"},
    "price": {"--statement": ".txt"},
    "crackle": {"--out": ".svg"},
    "jack": {"--out": ".svg"},
    "strings": {"--out": ".svg"},
    "chronology": {"--out": ".toml", "--calibration": ".svg"},
    "federation": {"-o": ".json", "--out": ".json"},
    "federation join": {"-o": ".toml", "--out": ".toml"},
}
"""Options that write one file, with its ending; options that write folders take no stream."""
TAKES = frozenset(
    {
        *("date", "next", "price", "clearance", "setup", "paper", "jack", "verify", "import"),
        *("glow", "pitch", "crackle", "spreadsheet", "sales", "chronology", "shipping"),
    }
)
"""Commands whose arguments may be files; a - of another command is a word like any other."""
SAYS = "read"
"""The command whose argument is a text, which may come by standard input too."""
TABLES = frozenset({"spreadsheet", "sales", "chronology", "shipping"})
"""Commands that take text as a table; others take it as an examination file or a map."""
TEXT_OPTIONS = frozenset({"--columns", "--terms", "--from"})
READ = frozenset({"--file", "--masks", "--picture", "--comparables", "--check"}) | TEXT_OPTIONS
"""Options that take a file."""
FLAGS = frozenset({"--json", "--preview", "--nominal", "--single", "--serial"})
_BEGINS = (
    (b"PK\x03\x04", ".xlsx"),
    (b"%PDF-", ".pdf"),
    (b"RIFF", ".wav"),
    (b"fLaC", ".flac"),
    (b"OggS", ".ogg"),
    (b"\xff\xd8\xff", ".jpg"),
    (b"\x89PNG", ".png"),
)


@contextmanager
def streamed(words: Sequence[str]) -> Iterator[list[str]]:
    """Give the words of a command with files in the place of streams and of the examples.

    What was written for standard output leaves when the block ends well.

    Raises
    ------
    InputError
        ``-`` stands twice for the same stream, or nothing came.
    """
    given = [_example(one) for one in words]
    if not any(one == STREAM for one in given):
        yield given
        return
    with TemporaryDirectory(prefix="heelstamp-", ignore_cleanup_errors=True) as private:
        folder = Path(private)
        out = _replaced(given, folder)
        if out is not None:
            output.leave_standard_output(out)
        yield given
        if out is not None and out.exists():
            _send(out)


def _replaced(given: list[str], folder: Path) -> Path | None:
    """Put files where *given* has streams; return the one to send, None where nothing goes out."""
    command = next((one for one in given if not one.startswith("-")), "")
    out: Path | None = None
    taken = False
    for n, word in enumerate(given):
        if word != STREAM:
            continue
        option = given[n - 1] if n and given[n - 1].startswith("-") else ""
        written = WRITTEN.get(" ".join(given[:2])) or WRITTEN.get(command, {})
        if ending := written.get(option):
            _once(out is not None, "standard output", command)
            out = folder / f"standard output{ending}"
            given[n] = str(out)
        elif given[:2] == ["spreadsheet", "write"] and not option:
            out = folder / "standard output.csv"
            given[n] = str(out)
        elif option in READ or (command in {*TAKES, SAYS} and (not option or option in FLAGS)):
            _once(taken, "standard input", command)
            taken = True
            data = _received()
            if command == SAYS:
                given[n] = data.decode("utf-8", "replace").strip()
                continue
            path = folder / f"standard input{_ending(data, command, option)}"
            path.write_bytes(data)
            given[n] = str(path)
    return out


def _once(already: bool, stream: str, command: str) -> None:
    if already:
        raise InputError(
            f"- stands twice for {stream}", where=command, remedy="Name a file for one of them."
        )


def _received() -> bytes:
    stream: IO[bytes] | None = getattr(sys.stdin, "buffer", None)
    data = (
        b""
        if sys.stdin is None
        else (sys.stdin.read().encode() if stream is None else stream.read())
    )
    if not data:
        raise InputError(
            "nothing came",
            where="standard input",
            remedy="Send a file to it, as with < FILE, or name the file.",
        )
    return data


def _ending(data: bytes, command: str, option: str) -> str:
    """The ending by which a file of this content would be known."""
    for begins, ending in _BEGINS:
        if data.startswith(begins):
            return ".zip" if ending == ".xlsx" and command in {"verify", "import"} else ending
    if data.lstrip().startswith((b"{", b"[{")):
        return ".jsonl" if b"}\n{" in data else ".json"
    return ".csv" if command in TABLES and option not in TEXT_OPTIONS else ".toml"


def _example(word: str) -> str:
    """The place of a bundled example where none lies in the folder the command is typed in."""
    if not word.startswith("examples/") or Path(word).exists():
        return word
    found = example_file(word.removeprefix("examples/"))
    return word if found is None else str(found)


def _send(path: Path) -> None:
    sys.stdout.flush()
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            sys.stdout.buffer.write(block)
    sys.stdout.flush()
