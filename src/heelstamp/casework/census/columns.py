"""What the columns of a shop's own table mean, and the words it uses for the four other facts.

A column map is a TOML document, schema ``heelstamp/columns/1``. Without one, columns are taken by
their names: ``id``, ``serial``, ``how dated``, ``not before``, ``not after``; the id of a feature
or sign of the chronology; the key of a part for the mark on it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

import msgspec

from heelstamp.casework.spreadsheet.reading import Declared, Role, RoleOf
from heelstamp.catalogue.conversion import convert, nearest
from heelstamp.chronology import Chronology
from heelstamp.documents import locate, parse_document
from heelstamp.errors import HeelstampError, InputError

COLUMNS_SCHEMA = "heelstamp/columns/1"

Kind = Literal[
    "id", "how dated", "mark", "serial", "feature", "sign", "not before", "not after", "ignore"
]
WORDS: dict[str, tuple[str, ...]] = {
    "not looked": ("not looked at", "not looked", "-", "–", "—"),
    "absent": ("absent",),
    "illegible": ("illegible",),
    "not applicable": ("not applicable", "n/a"),
}
"""Words for the facts besides *read*; a blank cell is *not looked*."""


class Column(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One column.

    Attributes
    ----------
    name
        As the head of the table has it.
    part, reader
        Of a mark: the part it is on and the rule to read it by; the chronology's ways of marking
        without one. Of a feature or sign: the part, where there is a choice.
    feature, sign
        Its id; the column's name without one.
    values
        What cells stand for: a variant, an outcome, a way of dating.
    """

    name: str
    kind: Kind
    part: str | None = None
    reader: str | None = None
    feature: str | None = None
    sign: str | None = None
    values: dict[str, str] = {}


class ColumnMap(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the columns mean.

    Attributes
    ----------
    how_dated
        For rows without a word on it.
    reliability
        Of the papers behind *not before* and *not after*, a share.
    words
        Further words for *not looked*, *absent*, *illegible* and *not applicable*.
    reading
        How the table is written: encoding, head, order of dates.
    """

    schema: str
    how_dated: str | None = None
    reliability: float = 0.9
    words: dict[str, list[str]] = {}
    column: list[Column] = []
    reading: Declared = Declared()

    def status_of(self, text: str) -> str | None:
        """Return the fact that a cell's text stands for; None when it says something else."""
        bare = text.strip().casefold()
        if not bare:
            return "not looked"
        for status, words in WORDS.items():
            if bare in words or bare in (one.casefold() for one in self.words.get(status, ())):
                return status
        return None


def read_columns(text: str, name: str, chronology: Chronology) -> ColumnMap:
    """Read a column map and check it against the chronology.

    Raises
    ------
    InputError
        Broken syntax, an unknown field, kind, part, feature or sign; names file and line.
    """
    data = parse_map(text, name, COLUMNS_SCHEMA)
    try:
        found = convert({**data, "column": []}, ColumnMap)
    except InputError as error:
        raise error.at(name) from None
    for status in found.words:
        if status not in WORDS:
            raise InputError(
                "no such fact",
                where=f"{name}, line {locate(text, 'words')}",
                received=status,
                remedy="Words may be given for: " + ", ".join(WORDS) + ".",
            )
    columns = []
    rows: list[Mapping[str, Any]] = data.get("column", [])
    for index, row in enumerate(rows):
        place = f"{name}, line {locate(text, 'column', index)}, column {index + 1}"
        try:
            one = convert(row, Column)
            check_column(one, chronology)
        except HeelstampError as error:
            raise error.at(place) from None
        columns.append(one)
    return msgspec.structs.replace(found, column=columns)


def parse_map(text: str, name: str, schema: str) -> dict[str, Any]:
    """Parse a column map and see that it is of the wanted schema.

    Raises
    ------
    InputError
        Broken syntax, or another schema; names file and line.
    """
    data = parse_document(text, name, "toml")
    if data.get("schema") != schema:
        raise InputError(
            "not a column map this program reads",
            where=f"{name}, line {locate(text, '', None, 'schema') or 1}",
            received=data.get("schema"),
            remedy=f'Write schema = "{schema}" at the top.',
        )
    return data


def check_column(column: Column, chronology: Chronology) -> None:
    """Refuse a column that names nothing in the chronology.

    Raises
    ------
    InputError
        No such part, feature or sign, or a mark without a part.
    """
    parts = {row.key for row in chronology.parts}
    if column.kind == "mark" and column.part is None:
        raise InputError(
            "a mark is on a part", where="field part", received=column.name, remedy="Give part."
        )
    if column.part is not None and column.part not in parts:
        raise InputError(
            "no such part in this chronology",
            where="field part",
            received=column.part,
            remedy=nearest(column.part, parts),
        )
    if column.kind == "feature":
        _known(column, chronology.feature(feature_of(column)), column.feature, "feature")
    if column.kind == "sign":
        _known(column, chronology.sign(sign_of(column)), column.sign, "sign")


def _known(column: Column, row: Any, named: str | None, kind: str) -> None:
    if row is None:
        raise InputError(
            f"no such {kind} in this chronology",
            where=f"field {kind}",
            received=named or column.name,
            remedy=f"Give {kind}, the id it has there.",
        )
    if column.part is None and len(row.parts) > 1:
        raise InputError(
            f"this {kind} may be on several parts",
            where="field part",
            received=row.id,
            remedy="Give part, one of: " + ", ".join(row.parts) + ".",
        )


def feature_of(column: Column) -> str:
    """Return the id of a feature column."""
    return column.feature or column.name


def sign_of(column: Column) -> str:
    """Return the id of a sign column."""
    return column.sign or column.name


def census_role(columns: ColumnMap | None, chronology: Chronology) -> RoleOf:
    """Tell whether a column of a census holds dates or texts; None where its name says nothing."""
    mapped = {one.name: one.kind for one in (columns.column if columns is not None else ())}

    def role(name: str) -> Role | None:
        kind = mapped.get(name)
        if kind is None and not mapped:
            try:
                kind = columns_by_name((name,), chronology).column[0].kind
            except HeelstampError:
                kind = None
        return None if kind is None else "date" if kind in ("not before", "not after") else "text"

    return role


def columns_by_name(names: tuple[str, ...], chronology: Chronology) -> ColumnMap:
    """Take the columns of a table by their names alone.

    Raises
    ------
    InputError
        A name says nothing; the message tells how to map it.
    """
    parts = {row.key for row in chronology.parts}
    found: list[Column] = []
    for name in names:
        bare = name.strip().casefold()
        if bare in ("id", "serial", "how dated", "not before", "not after"):
            found.append(Column(name=name, kind=bare))  # type: ignore[arg-type]
        elif chronology.feature(name) is not None:
            found.append(Column(name=name, kind="feature"))
        elif chronology.sign(name) is not None:
            found.append(Column(name=name, kind="sign"))
        elif name in parts:
            found.append(Column(name=name, kind="mark", part=name))
        else:
            raise InputError(
                "the name of this column says nothing",
                where=f"column {name or '(blank)'}",
                remedy="Say what it holds in a column map (--columns), or take it out.",
            )
        try:
            check_column(found[-1], chronology)
        except HeelstampError as error:
            raise error.at(f"column {name}") from None
    return ColumnMap(schema=COLUMNS_SCHEMA, column=found)
