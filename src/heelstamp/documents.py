"""TOML and JSON documents: read with errors that name file, line and remedy, and places found.

`locate` finds the line on which a value stands, so that an error in the *meaning* of a document
can name it too. It reads TOML line by line (headers, arrays of tables, ``key =``) and scans JSON;
a value that TOML writes in another way (dotted keys, a whole table on one line) is found at the
line of its table. TOML dates become ISO 8601 text, since JSON has none.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Generator, Iterator
from datetime import date, datetime, time
from typing import Any, Literal

from heelstamp.archive import read_json
from heelstamp.errors import InputError

Format = Literal["toml", "json"]

_TOML_PLACE = re.compile(r" \(at (?:line (?P<line>\d+), column (?P<column>\d+)|(?P<end>end .*))\)$")
_HEADER = re.compile(r"^\s*(?P<open>\[\[?)\s*(?P<name>[^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
_BLANK = re.compile(r"[ \t\r\n]*")
_SCALARS = json.JSONDecoder()
_KEY = re.compile(r"""^\s*(?:"(?P<quoted>[^"]+)"|'(?P<single>[^']+)'|(?P<bare>[\w-]+))\s*[=.]""")


def format_of(name: str) -> Format:
    """Tell the format of a document from the end of its name.

    Raises
    ------
    InputError
        The name ends in neither ``.toml`` nor ``.json``.
    """
    endings: tuple[Format, ...] = ("toml", "json")
    for ending in endings:
        if name.lower().endswith(f".{ending}"):
            return ending
    raise InputError(
        "neither TOML nor JSON by its name",
        where=name,
        received=name.rsplit(".", 1)[-1],
        remedy="Name the file .toml or .json.",
    )


def decode_text(data: bytes, name: str) -> str:
    """The text of a document.

    Raises
    ------
    InputError
        The bytes are not UTF-8.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            "not UTF-8 text",
            where=f"{name}, line {line}",
            received=data[error.start : error.start + 4].hex(" "),
            remedy="Save the file as UTF-8 text.",
        ) from None


def parse_document(text: str, name: str, form: Format) -> dict[str, Any]:
    """Read a document whose top is a table.

    Parameters
    ----------
    text
        The whole document.
    name
        File name used in errors.
    form
        ``toml`` or ``json``.

    Raises
    ------
    InputError
        Broken syntax, a name that comes twice, or a top that is not a table.
    """
    if form == "json":
        value = read_json(text, where=name)
        if not isinstance(value, dict):
            raise InputError(
                "the document is not a table",
                where=f"{name}, line 1",
                received=text.strip()[:20],
                remedy="Begin it with { and end it with }.",
            )
        _refuse_surrogates(value, name)
        return value
    try:
        table = tomllib.loads(text)
        plain: dict[str, Any] = plain_values(table)
    except tomllib.TOMLDecodeError as error:
        raise _broken_toml(str(error), text, name) from None
    except RecursionError:
        raise InputError(
            "nested too deeply", where=name, remedy="No document needs more than a few levels."
        ) from None
    except ValueError as error:
        raise InputError("a number too long to read", where=name, received=error) from None
    _refuse_surrogates(plain, name)
    return plain


def _refuse_surrogates(value: Any, name: str) -> None:
    """Refuse half characters, which JSON can write and no text can hold."""
    if isinstance(value, str):
        if any("\ud800" <= char <= "\udfff" for char in value):
            raise InputError(
                "half a character",
                where=name,
                received=value.encode("utf-8", "backslashreplace").decode("utf-8"),
                remedy="Write the character itself.",
            )
    elif isinstance(value, dict):
        for key, inner in value.items():
            _refuse_surrogates(key, name)
            _refuse_surrogates(inner, name)
    elif isinstance(value, list):
        for inner in value:
            _refuse_surrogates(inner, name)


def _broken_toml(message: str, text: str, name: str) -> InputError:
    place = _TOML_PLACE.search(message)
    lines = text.splitlines()
    line, column = len(lines), 0
    what = message
    if place is not None:
        what = message[: place.start()]
        if place["line"]:
            line, column = int(place["line"]), int(place["column"])
    shown = lines[line - 1].strip() if 0 < line <= len(lines) else ""
    where = f"{name}, line {line}" + (f", column {column}" if column else "")
    return InputError(
        f"broken TOML: {what[:1].lower()}{what[1:]}",
        where=where,
        received=shown or "the end of the text",
        remedy='Correct that line; text and months stand in quotes, as "1965-03".',
    )


def plain_values(value: Any) -> Any:
    """Turn days and times that TOML holds into ISO 8601 text, all through *value*."""
    if isinstance(value, dict):
        return {key: plain_values(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain_values(inner) for inner in value]
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    return value.isoformat() if isinstance(value, date | time) else value


def locate(text: str, table: str, index: int | None = None, key: str | None = None) -> int | None:
    r"""Find the line, from 1, of a value in a document.

    Parameters
    ----------
    text
        The document; JSON when its first character is ``{``, else TOML.
    table
        Name of a table, or of an array of tables; empty for the top.
    index
        Which one of an array, from 0; None for a single table.
    key
        A key in it; None, or a key not found, gives the line of the table itself.

    Returns
    -------
    int or None
        None when the document has no such table.

    Examples
    --------
    >>> locate('a = 1\n[[mark]]\nid = "x"\n[[mark]]\nid = "y"\n', "mark", 1, "id")
    5
    """
    if text.lstrip().startswith("{"):
        return _locate_json(text, table, index, key)
    return _locate_toml(text, table, index, key)


def _locate_toml(text: str, table: str, index: int | None, key: str | None) -> int | None:
    found = 1 if not table else None
    inside = not table
    seen = -1
    wanted = table
    for number, line, fresh in _toml_lines(text):
        header = _HEADER.match(line) if fresh else None
        if header is not None:
            name = re.sub(r"\s*\.\s*", ".", header["name"]).replace('"', "").replace("'", "")
            if inside and found is not None and not name.startswith(f"{wanted}."):
                return found
            if name == wanted:
                seen += 1
                inside = index is None or seen == index
                found = number if inside else found
            elif key is not None and inside and name == f"{wanted}.{key}":
                return number
            continue
        if inside and key is not None and fresh:
            match = _KEY.match(line)
            if match and key in (match["quoted"], match["single"], match["bare"]):
                return number
    return found


def _toml_lines(text: str) -> Iterator[tuple[int, str, bool]]:
    """Each line with its number and whether it starts outside of a multi-line string."""
    quote = ""
    for number, line in enumerate(text.splitlines(), start=1):
        yield number, line, not quote
        rest = line
        while True:
            if quote:
                _, closed, rest = rest.partition(quote)
                if not closed:
                    break
                quote = ""
            opened = re.search(r'"""|\'\'\'', rest)
            if opened is None:
                break
            quote, rest = opened[0], rest[opened.end() :]


def _locate_json(text: str, table: str, index: int | None, key: str | None) -> int | None:
    wanted: Place = (table,) if table else ()
    if index is not None:
        wanted = (*wanted, index)
    places = dict(_json_places(text))
    best = places.get(wanted)
    if best is not None and key is not None:
        best = places.get((*wanted, key), best)
    return None if best is None else text.count("\n", 0, best) + 1


Place = tuple[str | int, ...]


def _json_places(
    text: str, at: int = 0, path: Place = ()
) -> Generator[tuple[Place, int], None, int]:
    """Path and offset of every value of a well-formed document, and where it ends."""
    at = _skip(text, at)
    yield path, at
    if text[at] not in "{[":
        return _SCALARS.raw_decode(text, at)[1]
    closing = "}" if text[at] == "{" else "]"
    number = 0
    at = _skip(text, at + 1)
    while text[at] != closing:
        step: str | int = number
        if closing == "}":
            step, at = _SCALARS.raw_decode(text, at)
            at = _skip(text, at) + 1  # the colon
        at = yield from _json_places(text, at, (*path, step))
        at = _skip(text, at)
        if text[at] == ",":
            at = _skip(text, at + 1)
        number += 1
    return at + 1


def _skip(text: str, at: int) -> int:
    match = _BLANK.match(text, at)
    return match.end() if match else at
