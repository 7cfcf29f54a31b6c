"""TOML written from plain values, and an earlier text changed to new values with its comments kept.

TOML 1.0.0 (toml.io). A comment belongs to what stands below it: it goes when that goes, and stays
with it when something is put in before. Order and layout of what an edit does not touch stay.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, MutableMapping, Sequence
from difflib import SequenceMatcher
from typing import Any

import tomlkit
from tomlkit.container import Container
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Comment, InlineTable, Item, Null, Table, Whitespace

from heelstamp.documents import parse_document, plain_values
from heelstamp.errors import InputError

NUMBERS = 12
"""Numbers on a line of a long list of them."""

SHORT = 6
"""A table of at most so many scalars goes on one line."""


class _NeedsHeaderError(Exception):
    """What is written on one line gets something that needs a header of its own."""


def toml_of(data: Mapping[str, Any]) -> str:
    """Plain values as TOML: text, numbers, truth values, lists and tables.

    Raises
    ------
    TypeError
        A value has no TOML form, as None.

    Examples
    --------
    >>> print(toml_of({"a": 1, "row": [{"name": "x", "lag": {"mean": 2.5}}]}), end="")
    a = 1
    <BLANKLINE>
    [[row]]
    name = "x"
    lag = {mean = 2.5}
    """
    document = tomlkit.document()
    _fill(document, data)
    return tomlkit.dumps(document).lstrip("\n")


def revised(text: str, wanted: Mapping[str, Any]) -> str:
    """Change a TOML text to read as *wanted*; what stays the same stays as it was written.

    Where a text is laid out so that it cannot be changed in place, *wanted* is written afresh.
    """
    try:
        document = tomlkit.parse(text)
        _own_comments(document)
        _revise(document, wanted)
        new = tomlkit.dumps(document)
        if parse_document(new, "revised", "toml") == wanted:
            return new
    except (TOMLKitError, InputError):
        pass
    return toml_of(wanted)


def _own_comments(document: Container) -> None:
    """Hang comments and blank lines in front of a header on that header, as its indent."""
    run: list[tuple[Container, int]] = []
    for container, place, item in _walk(document):
        if isinstance(item, Comment | Whitespace):
            run.append((container, place))
            continue
        if isinstance(item, Table):
            before = "".join(one.body[at][1].as_string() for one, at in run)
            item.trivia.indent = before + item.trivia.indent
            for one, at in run:
                one.body[at] = (None, Null())
        run.clear()


def _walk(container: Container) -> Iterator[tuple[Container, int, Item]]:
    """Everything that is printed, in the order of the text: a table stands for its header."""
    for place, (_, item) in enumerate(list(container.body)):
        for one in item.body if isinstance(item, AoT) else [item]:
            if not isinstance(one, Table):
                yield container, place, one
                continue
            if not one.is_super_table():
                yield container, place, one
            yield from _walk(one.value)


def _revise(table: MutableMapping[str, Any], wanted: Mapping[str, Any]) -> None:
    for key in [one for one in table if one not in wanted]:
        del table[key]
    fresh = {key: value for key, value in wanted.items() if key not in table}
    for key, value in wanted.items():
        if key in fresh or _plain(table[key]) == value:
            continue
        try:
            _revise_value(table, key, value)
        except _NeedsHeaderError:
            if isinstance(table, InlineTable):
                raise
            table[key] = _item(value)
    if isinstance(table, InlineTable) and any(map(_headed, fresh.values())):
        raise _NeedsHeaderError
    _fill(table, fresh)


def _revise_value(table: MutableMapping[str, Any], key: str, value: Any) -> None:
    there = table[key]
    if isinstance(there, MutableMapping) and isinstance(value, Mapping):
        _revise(there, value)
    elif isinstance(there, list) and _is_rows(_plain(there)) and _is_rows(value):
        _revise_rows(there, value)
    elif isinstance(table, InlineTable) and _headed(value):
        raise _NeedsHeaderError
    else:
        table[key] = _item(value)


def _revise_rows(rows: Any, wanted: Sequence[Mapping[str, Any]]) -> None:
    """Change rows in place; the last first, so that places before stay what they are."""
    before, after = ([json.dumps(_plain(one), sort_keys=True) for one in s] for s in (rows, wanted))
    matched = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
    for tag, begin, end, first, last in reversed(matched):
        if tag == "equal":
            continue
        both = min(end - begin, last - first)
        for place in reversed(range(begin + both, end)):
            del rows[place]
        for place in reversed(range(first + both, last)):
            make = _table if isinstance(rows, AoT) else _inline
            rows.insert(begin + both, make(wanted[place]))
        for offset in range(both):
            _revise(rows[begin + offset], wanted[first + offset])


def _plain(value: Any) -> Any:
    """Return a value of a document as `documents.parse_document` gives it."""
    return plain_values(value.unwrap() if hasattr(value, "unwrap") else value)


def _fill(table: Any, data: Mapping[str, Any]) -> None:
    for key, value in sorted(data.items(), key=lambda one: _headed(one[1])):
        table.add(key, _item(value))


def _item(value: Any) -> Item:
    if isinstance(value, Mapping):
        return _table(value) if _headed(value) else _inline(value)
    if _is_rows(value):
        rows = tomlkit.aot()
        for one in value:
            rows.append(_table(one))
        return rows
    if isinstance(value, list) and len(value) > NUMBERS and not any(map(_is_other, value)):
        numbers = tomlkit.array()
        for begin in range(0, len(value), NUMBERS):
            numbers.add_line(*value[begin : begin + NUMBERS])
        numbers.add_line(indent="")
        return numbers
    made: Item = tomlkit.item(value)
    return made


def _table(value: Mapping[str, Any]) -> Table:
    table = tomlkit.table()
    table.trivia.indent = "\n"
    _fill(table, value)
    return table


def _inline(value: Mapping[str, Any]) -> InlineTable:
    made = tomlkit.inline_table()
    made.update(value)
    return made


def _headed(value: Any) -> bool:
    """Whether a value needs a header of its own: rows, and tables that are long or hold others."""
    if not isinstance(value, Mapping):
        return _is_rows(value)
    inner = list(value.values())
    return len(inner) > SHORT or any(
        isinstance(one, Mapping) or (isinstance(one, list) and (len(one) > SHORT or _is_rows(one)))
        for one in inner
    )


def _is_rows(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(x, Mapping) for x in value)


def _is_other(value: Any) -> bool:
    return not isinstance(value, int | float)
