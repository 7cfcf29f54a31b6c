"""Canonical JSON: one value, one sequence of bytes.

RFC 8785 (JSON Canonicalization Scheme, June 2020), through the ``rfc8785`` package: properties
sorted by UTF-16 code unit (3.2.3), numbers as ECMAScript writes them (3.2.2.3), UTF-8 (3.2.4).
Holds for I-JSON (RFC 7493): no duplicate names, no lone surrogates, whole numbers within
±(2^53 - 1). Text is not normalised: two spellings of an accented letter are two values.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Any

import rfc8785

from heelstamp.errors import InputError

LARGEST_INTEGER = 2**53 - 1  # RFC 7493, 2.2: exactly representable as binary64
DEEPEST = 64
"""Deepest nesting accepted; every document of this program stays under ten."""


class EndOfTextError(InputError):
    """JSON that ends before it is complete, as a file that was cut off does."""


def canonical_json(value: object, *, where: str = "") -> bytes:
    """Write *value* in its one canonical form.

    Parameters
    ----------
    value
        Plain value: mappings with text keys, sequences, text, numbers, booleans, None.
    where
        Place named in errors, in front of the field.

    Raises
    ------
    InputError
        A number that is not finite or too large to be exact, text with a lone surrogate, a key
        that is not text, a value JSON has no form for, or nesting deeper than `DEEPEST`.

    Examples
    --------
    >>> canonical_json({"b": 4.50, "a": [1e30, None]})
    b'{"a":[1e+30,null],"b":4.5}'
    """
    if _is_plain(value, 0):
        with suppress(UnicodeEncodeError):  # half a character: its place is told below
            return _PLAIN(value).encode("utf-8")
    _check(value, where, "", 0)
    return rfc8785.dumps(value)  # type: ignore[arg-type]


def checked_json(value: object) -> bytes:
    """Write a value that is known to have a canonical form; see `canonical_json`."""
    if _is_plain(value, 0):
        return _PLAIN(value).encode("utf-8")
    return rfc8785.dumps(value)  # type: ignore[arg-type]


_PLAIN = json.JSONEncoder(
    ensure_ascii=False, check_circular=False, allow_nan=False, sort_keys=True, separators=(",", ":")
).encode
"""Writes what is plain as RFC 8785 has it, ten times as fast as the package."""


_SCALARS, _LISTS = (str, bool, type(None)), (list, tuple)


def _is_plain(value: object, depth: int) -> bool:
    """Whether the standard library writes *value* in its canonical form.

    It escapes text as RFC 8785, 3.2.2.2 wants it. It sorts names by code point, which for ASCII
    is their order in UTF-16; and it writes a fraction between 1e-4 and 1e16 as ECMAScript does
    (ECMA-262, Number::toString: no exponent from 1e-6 to 1e21), but not a whole number that is one.
    """
    kind = type(value)
    if kind in _SCALARS:
        return True
    if kind is int or kind is float:
        return _is_plain_number(value)  # type: ignore[arg-type]
    if depth == DEEPEST:
        return False
    if kind is dict:
        return all(
            type(name) is str and name.isascii() and _is_plain(inner, depth + 1)
            for name, inner in value.items()  # type: ignore[attr-defined]
        )
    return kind in _LISTS and all(_is_plain(inner, depth + 1) for inner in value)  # type: ignore[attr-defined]


def _is_plain_number(value: float) -> bool:
    if isinstance(value, int):
        return -LARGEST_INTEGER <= value <= LARGEST_INTEGER
    return 1e-4 <= abs(value) < 1e16 and not value.is_integer()


def read_json(text: str | bytes, *, where: str = "") -> Any:
    """Read JSON strictly: no duplicate names, no NaN; numbers beyond 2^53 - 1 become floats.

    Raises
    ------
    EndOfTextError
        The text ends within a value.
    InputError
        Names line and column.
    """
    try:
        return json.loads(
            text,
            object_pairs_hook=_without_duplicates,
            parse_constant=_refuse_constant,
            parse_int=_read_integer,
        )
    except json.JSONDecodeError as error:
        cut = error.pos >= len(error.doc) or error.msg.startswith("Unterminated string")
        raise (EndOfTextError if cut else InputError)(
            f"broken JSON: {error.msg}",
            where=_join(where, f"line {error.lineno}, column {error.colno}"),
            received=error.doc[error.pos : error.pos + 20] or "the end of the text",
            remedy="Correct the text at that place.",
        ) from None
    except UnicodeDecodeError as error:
        raise InputError(
            "not UTF-8 text",
            where=_join(where, f"byte {error.start + 1}"),
            received=error.object[error.start : error.start + 4].hex(" "),
            remedy="Save the file as UTF-8.",
        ) from None
    except RecursionError:
        raise InputError(
            "nested too deeply", where=where, remedy=f"Stay under {DEEPEST} levels."
        ) from None
    except InputError as error:
        raise error.at(where) if where else error from None


def read_strictly(data: bytes, *, where: str = "") -> tuple[Any, bytes]:
    """Read I-JSON (RFC 7493) and give it with its canonical form, which *data* need not have.

    Raises
    ------
    EndOfTextError
        The text ends within a value.
    InputError
        Not UTF-8, no JSON, a name twice, half a character, a number that is not finite, or nesting
        deeper than `DEEPEST`.
    """
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        cut = error.end == len(data) and error.reason == "unexpected end of data"
        raise (EndOfTextError if cut else InputError)(
            "not UTF-8 text", where=_join(where, f"byte {error.start + 1}")
        ) from None
    value = read_json(text, where=where)
    return value, canonical_json(value, where=where)


def _without_duplicates(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found: dict[str, object] = {}
    for name, value in pairs:
        if name in found:
            raise InputError("a name comes twice", received=name, remedy="Keep one of them.")
        found[name] = value
    return found


def _refuse_constant(name: str) -> None:
    raise InputError("JSON has no such number", received=name, remedy="Give a finite number.")


def _read_integer(text: str) -> int | float:
    if len(text) < 16:  # fewer digits than 2^53 - 1 has
        return int(text)
    number = float(text)
    return number if abs(number) > LARGEST_INTEGER else int(text)


def _check(value: object, where: str, path: str, depth: int) -> None:
    place = _join(where, f"field {path}" if path else "")
    if depth > DEEPEST:
        raise InputError("nested too deeply", where=place, remedy=f"Stay under {DEEPEST} levels.")
    if value is None or isinstance(value, bool):
        return
    if isinstance(value, str):
        _check_text(value, place)
    elif isinstance(value, int | float):
        _check_number(value, place)
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            if not isinstance(name, str):
                raise InputError(
                    "a name that is not text", where=place, received=name, remedy="Use text."
                )
            _check_text(name, place)
            _check(inner, where, f"{path}.{name}" if path else name, depth + 1)
    elif isinstance(value, Sequence) and not isinstance(value, bytes | bytearray):
        for number, inner in enumerate(value):
            _check(inner, where, f"{path}[{number}]", depth + 1)
    else:
        raise InputError(
            f"JSON has no form for a {type(value).__name__}",
            where=place,
            received=value,
            remedy="Give text, a number, a list or a table.",
        )


def _check_text(text: str, place: str) -> None:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise InputError(
            "text with half a character (a lone surrogate)",
            where=place,
            received=ascii(text[error.start : error.end]),
            remedy="Type the text again.",
        ) from None


def _check_number(number: float, place: str) -> None:
    if isinstance(number, int):
        if abs(number) > LARGEST_INTEGER:
            raise InputError(
                "a whole number too large to be kept exactly",
                where=place,
                received=number,
                remedy=f"Stay within ±{LARGEST_INTEGER}, or give it as text.",
            )
    elif not math.isfinite(number):
        raise InputError(
            "a number that is not finite",
            where=place,
            received=number,
            remedy="Leave the field out when there is no value.",
        )


def _join(where: str, place: str) -> str:
    return f"{where}, {place}" if where and place else where or place
