"""Plain values into typed records, with errors that name field, received value and remedy.

The types do the checking (msgspec); this module only translates its complaint into the house's
sentence. It holds for the message forms of msgspec 0.20 to 0.22; a message of another form is
passed on as it came.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Iterable, Mapping
from types import UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

import msgspec

from heelstamp.errors import InputError

T = TypeVar("T")

_NONCHARACTERS = "\ufdd0-\ufdef" + "".join(
    f"{chr(plane * 0x10000 + 0xFFFE)}{chr(plane * 0x10000 + 0xFFFF)}" for plane in range(17)
)
_UNFIT_IN_LINE = re.compile(f"[\x00-\x1f\x7f-\x9f\ud800-\udfff{_NONCHARACTERS}]")
_UNFIT = re.compile(f"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff{_NONCHARACTERS}]")
_AT = re.compile(r" - at `\$(?P<path>.*)`$")
_UNKNOWN = re.compile(r"Object contains unknown field `(?P<field>.+?)`")
_MISSING = re.compile(r"Object missing required field `(?P<field>.+?)`")
_STEP = re.compile(r"\.(?P<key>[^.\[]+)|\[(?P<index>\d+|\.\.\.)\]")


def join_place(where: str, place: str) -> str:
    """Put *place* behind *where*, with a comma when both are given."""
    return f"{where}, {place}" if where and place else where or place


def nearest(name: object, known: Iterable[str]) -> str:
    """The remedy for a misspelt name: the likeliest one meant, else all there are."""
    names = sorted(known)
    close = difflib.get_close_matches(str(name), names, n=1, cutoff=0.6)
    return f'Did you mean "{close[0]}"?' if close else "Known: " + ", ".join(names) + "."


def refuse_controls(data: object, *, where: str = "", lines: Collection[str] | None = None) -> None:
    """Refuse text that no paper can carry: control characters, noncharacters, half characters.

    Those of category Cc and Cs and the 66 noncharacters (The Unicode Standard 16.0, 4.5 and
    23.7). Everything else is kept as it came, marks of direction and joiners of emoji too.

    Parameters
    ----------
    data
        Plain value; every text in it is looked at, names of fields too.
    lines
        Fields whose text may hold line feeds and tabs; all without it.

    Raises
    ------
    InputError
        Names field, place in the text from 1, and the character by its code.
    """
    pending: list[tuple[object, str, str]] = [(data, "", "")]
    for value, path, field in pending:  # which grows as it is gone through
        if isinstance(value, str):
            unfit = _UNFIT if lines is None or field in lines else _UNFIT_IN_LINE
            if (found := unfit.search(value)) is not None:
                raise InputError(
                    "a character that is no text",
                    where=join_place(where, f"field {path}" if path else ""),
                    received=f"U+{ord(found[0]):04X}, character {found.start() + 1}",
                    remedy="Leave it out.",
                )
        elif isinstance(value, Mapping):
            for key, inner in value.items():
                name = str(key) if str(key).isprintable() else ascii(key)
                place = f"{path}.{name}" if path else name
                pending += [(key, place, ""), (inner, place, str(key))]
        elif isinstance(value, list | tuple):
            pending += [(one, f"{path}[{n}]", field) for n, one in enumerate(value)]


def convert(
    data: object,
    record: type[T],
    *,
    where: str = "",
    lines: Collection[str] | None = None,
    kept: bool = False,
) -> T:
    """Read *data* as *record*.

    Parameters
    ----------
    data
        Plain value, as TOML or JSON gives it.
    record
        A msgspec Struct type.
    where
        Place named in front of the field, such as ``observation 3 (id "o3")``.
    lines
        Fields whose text may hold line feeds and tabs; all without it.
    kept
        What is read stands in a record already, and is taken with whatever characters it has.

    Raises
    ------
    InputError
        Not a table, an unknown or missing field, a value of another type or out of range, or a
        character that is no text (`refuse_controls`).
    """
    if not isinstance(data, Mapping):
        raise InputError("not a table of fields", where=where, received=data, remedy="Give fields.")
    if not kept:
        refuse_controls(data, where=where, lines=lines)
    try:
        return msgspec.convert(data, record)
    except msgspec.ValidationError as error:
        raise _translated(str(error), data, record, where) from None
    except UnicodeEncodeError:  # half a character, which no record that was sealed can hold
        refuse_controls(data, where=where, lines=lines)
        raise


def _translated(message: str, data: object, record: type, where: str) -> InputError:
    found = _AT.search(message)
    path = found["path"] if found else ""
    bare = message[: found.start()] if found else message
    container = _value_at(data, path)
    if (unknown := _UNKNOWN.search(bare)) is not None:
        names = _fields_at(record, path)
        field = unknown["field"]
        received = container.get(field) if isinstance(container, Mapping) else None
        return InputError(
            "unknown field",
            where=join_place(where, f"field {_spell(path + '.' + field)}"),
            received=received,
            remedy=nearest(field, names) if names else "Remove it.",
        )
    if (missing := _MISSING.search(bare)) is not None:
        field = missing["field"]
        allowed = _choices(record, f"{path}.{field}")
        return InputError(
            "missing field",
            where=join_place(where, f"field {_spell(path + '.' + field)}"),
            remedy=f"Give one of: {allowed}." if allowed else f"Give {field}.",
        )
    place = f"field {_spell(path)}" if path else ""
    allowed = _choices(record, path)
    if bare.startswith("Invalid enum value") and allowed:
        options = allowed.split(", ")
        close = difflib.get_close_matches(str(container), options, n=1, cutoff=0.6)
        hint = f' Did you mean "{close[0]}"?' if close else ""
        return InputError(
            "not one of the values allowed here",
            where=join_place(where, place),
            received=container,
            remedy=f"Use one of: {allowed}.{hint}",
        )
    return InputError(
        "value of the wrong kind",
        where=join_place(where, place),
        received=container,
        remedy=bare.replace("`", "").rstrip(".") + ".",
    )


def _spell(path: str) -> str:
    return path.lstrip(".")


def _value_at(data: object, path: str) -> Any:
    value: Any = data
    for step in _STEP.finditer(path):
        try:
            value = value[step["key"]] if step["key"] else value[int(step["index"])]
        except (KeyError, IndexError, TypeError, ValueError):
            return None
    return value


def _type_at(record: Any, path: str) -> Any:
    """The annotation at *path*, as far as Structs and lists lead."""
    kind = record
    for step in _STEP.finditer(path):
        kind = _without_null(kind)
        if step["key"]:
            if not (isinstance(kind, type) and issubclass(kind, msgspec.Struct)):
                return None
            kind = get_type_hints(kind).get(step["key"])
        else:
            arguments = get_args(kind)
            kind = arguments[0] if arguments else None
    return _without_null(kind)


def _without_null(kind: Any) -> Any:
    if get_origin(kind) in {Union, UnionType}:
        kept = [one for one in get_args(kind) if one is not type(None)]
        if len(kept) == 1:
            return kept[0]
    return kind


def _fields_at(record: type, path: str) -> tuple[str, ...]:
    kind = _type_at(record, path) if path else record
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return kind.__struct_encode_fields__
    return ()


def _choices(record: type, path: str) -> str:
    kind = _type_at(record, path)
    return ", ".join(map(str, get_args(kind))) if get_origin(kind) is Literal else ""
