"""Rows of a chronology document, read one by one: every refusal names file, line, row and field."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from heelstamp.catalogue.conversion import convert, nearest
from heelstamp.chronology.records import CHRONOLOGY_SCHEMA, Record
from heelstamp.documents import locate
from heelstamp.errors import HeelstampError, InputError
from heelstamp.units import Month, parse_month

R = TypeVar("R", bound=Record)

REMEDY = "See docs/methods/chronology.md for the form."


class RowReader:
    """Reads rows one by one and puts file, line and row into every refusal."""

    def __init__(self, data: Mapping[str, Any], name: str, text: str | None) -> None:
        self.data, self.name, self.text = data, name, text

    def place(self, table: str, index: int | None, key: str | None = None) -> str:
        """Name a place: file, line, row, field."""
        line = locate(self.text, table, index, key) if self.text else None
        row = f"{table} {index + 1}" if index is not None else table
        parts = [self.name, f"line {line}" if line else "", row, f"field {key}" if key else ""]
        return ", ".join(part for part in parts if part)

    def refused(
        self, what: str, table: str, index: int | None, key: str | None, received: object = None
    ) -> InputError:
        """Return the refusal of what stands at a place."""
        return InputError(
            what, where=self.place(table, index, key), received=received, remedy=REMEDY
        )

    def check_top(self, known: set[str], required: set[str]) -> None:
        """Refuse another schema, an unknown table and a missing one."""
        schema = self.data.get("schema")
        if schema != CHRONOLOGY_SCHEMA:
            raise InputError(
                "not a chronology this program reads",
                where=self.place("", None, "schema"),
                received=schema,
                remedy=f'Write schema = "{CHRONOLOGY_SCHEMA}" at the top.',
            )
        for key in self.data:
            if key not in known:
                raise InputError(
                    "unknown table or field",
                    where=self.place(key, None),
                    received=key,
                    remedy=nearest(key, known),
                )
        for key in sorted(required):
            if key not in self.data:
                raise InputError(f"the table {key} is missing", where=self.name, remedy=REMEDY)

    def head(self, key: str) -> str:
        """Read a text at the top."""
        value = self.data.get(key)
        if not isinstance(value, str) or not value:
            raise self.refused("needs a text here", "", None, key, value)
        return value

    def flag(self, key: str) -> bool:
        """Read true or false at the top; false when it is not there."""
        value = self.data.get(key, False)
        if not isinstance(value, bool):
            raise self.refused("write true or false", "", None, key, value)
        return value

    def _table(self, table: str) -> Mapping[str, Any]:
        values = self.data.get(table, {})
        if not isinstance(values, Mapping):
            raise self.refused(f"write it as a table [{table}]", table, None, None, values)
        return values

    def shares(self, table: str) -> dict[str, float]:
        """Read a table of shares of one."""
        values = self._table(table)
        for key, value in values.items():
            if not isinstance(value, int | float) or not 0 <= value <= 1:
                raise self.refused("not a share of one", table, None, key, value)
        return {key: float(value) for key, value in values.items()}

    def words(self, table: str) -> dict[str, str]:
        """Read a table of texts."""
        values = self._table(table)
        for key, value in values.items():
            if not isinstance(value, str):
                raise self.refused("not a text", table, None, key, value)
        return dict(values)

    def single(self, table: str, record: type[R]) -> R:
        """Read a table that comes once."""
        return self._converted(self.data[table], record, table, None)

    def rows(self, table: str, record: type[R]) -> tuple[R, ...]:
        """Read a list of tables."""
        rows = self.data.get(table, [])
        if not isinstance(rows, list):
            raise self.refused(f"write [[{table}]], one table a row", table, None, None)
        return tuple(self._converted(row, record, table, i) for i, row in enumerate(rows))

    def _converted(self, value: object, record: type[R], table: str, index: int | None) -> R:
        try:
            return convert(value, record, where="")
        except HeelstampError as error:
            field = error.where.removeprefix("field ").split(".")[0].split("[")[0] or None
            raise InputError(
                error.what,
                where=self.place(table, index, field),
                received=error.received or None,
                remedy=error.remedy,
            ) from None

    def month(self, text: str, table: str, index: int | None, key: str) -> Month:
        """Read a month."""
        try:
            return parse_month(text)
        except InputError as error:
            raise error.at(self.place(table, index, key)) from None
