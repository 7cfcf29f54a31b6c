"""TOML written from plain values, so that reading it again gives the same values.

TOML 1.0.0 (toml.io). Scalars of a table come first, then its tables, then its arrays of tables; a
table of a few scalars is written on one line. Comments and layout of an earlier text are not kept.
Values are text, whole and real numbers, truth values, lists and tables; None has no TOML form and
is refused.
"""

from __future__ import annotations

import json
import math
import re
import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")
WIDTH = 100
SHORT = 6
"""A table of at most so many scalars goes on one line."""


def toml_text(data: Mapping[str, Any]) -> str:
    """Write a document.

    Raises
    ------
    TypeError
        A value has no TOML form.

    Examples
    --------
    >>> print(toml_text({"a": 1, "row": [{"name": "x", "lag": {"mean": 2.5}}]}), end="")
    a = 1
    <BLANKLINE>
    [[row]]
    name = "x"
    lag = { mean = 2.5 }
    """
    return "\n".join(_table(data, ())).strip("\n") + "\n"


def _table(data: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    later: list[tuple[str, Any]] = []
    for key, value in data.items():
        inside = _inline(value)
        if inside is None:
            later.append((key, value))
        else:
            yield f"{_key(key)} = {inside}"
    for key, value in later:
        name = ".".join(_key(one) for one in (*path, key))
        if isinstance(value, Mapping):
            yield f"\n[{name}]"
            yield from _table(value, (*path, key))
            continue
        for one in value:
            yield f"\n[[{name}]]"
            yield from _table(one, (*path, key))


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _string(key)


def _inline(value: Any) -> str | None:
    """Write a value on its key's line; None for what needs a header of its own."""
    if isinstance(value, Mapping):
        short = len(value) <= SHORT and not any(isinstance(one, Mapping) for one in value.values())
        plain = not any(_tables(one) for one in value.values())
        return _one_line(value) if short and plain and not _long(value) else None
    if _tables(value):
        return None
    return _value(value)


def _tables(value: Any) -> bool:
    """Tell whether a value is an array of tables; a mixed one is written on one line."""
    if not isinstance(value, list | tuple) or not value:
        return False
    return all(isinstance(one, Mapping) for one in value)


def _long(value: Mapping[str, Any]) -> bool:
    return any(isinstance(one, list | tuple) and len(one) > SHORT for one in value.values())


def _one_line(value: Mapping[str, Any]) -> str:
    inside = ", ".join(f"{_key(key)} = {_value(one)}" for key, one in value.items())
    return f"{{ {inside} }}" if inside else "{}"


def _value(value: Any) -> str:
    match value:
        case bool():
            text = "true" if value else "false"
        case str():
            text = _string(value)
        case int():
            text = str(value)
        case float():
            text = _number(value)
        case list() | tuple():
            text = _list(value)
        case Mapping():
            text = _one_line(value)
        case _:
            raise TypeError(f"no TOML form: {value!r}")
    return text


def _list(values: list[Any] | tuple[Any, ...]) -> str:
    inside = ", ".join(_value(one) for one in values)
    if len(inside) < WIDTH or not all(isinstance(one, int | float) for one in values):
        return f"[{inside}]"
    lines = textwrap.wrap(inside, WIDTH - 4, break_long_words=False, break_on_hyphens=False)
    return "[\n" + "\n".join(f"    {line}" for line in lines) + "\n]"


def _number(value: float) -> str:
    if math.isnan(value):
        return "nan"
    if math.isinf(value):
        return "inf" if value > 0 else "-inf"
    text = repr(value)
    return text if any(sign in text for sign in ".e") else f"{text}.0"


def _string(text: str) -> str:
    # JSON's escapes are TOML's, but that TOML also escapes DEL and has no surrogate pairs
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
