"""A chronology: what is known of one maker's instruments, read from a document.

Schema ``heelstamp/chronology/1``. The document holds change-overs with their windows, lags,
state and sign tables, the serial curve, ways of marking, and priors (``records``); ``tables``
turns it into a dating model. Every row is read on its own so that an error names file, line, row
and field. Knowledge is the shop's, never a truth of the factory; an invented maker says so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from heelstamp.archive import digest_of
from heelstamp.casework.chronology.records import (
    CHRONOLOGY_SCHEMA,
    AssemblyRow,
    BatchRow,
    ExceptionRow,
    FeatureRow,
    Grid,
    HistoryClass,
    PartRow,
    Prior,
    Record,
    SerialTable,
    SignRow,
    SourceCodeRow,
    Span,
    TimingTable,
    Writing,
)
from heelstamp.casework.documents import Format, locate, parse_document
from heelstamp.catalogue.conversion import convert, nearest
from heelstamp.errors import HeelstampError, InputError
from heelstamp.units import Month, MonthGrid, Period, parse_month

R = TypeVar("R", bound=Record)

_SINGLE: dict[str, type[Record]] = {
    "production": Span,
    "grid": Grid,
    "prior": Prior,
    "timing": TimingTable,
    "serial": SerialTable,
}
_LISTS: dict[str, type[Record]] = {
    "history": HistoryClass,
    "assembly": AssemblyRow,
    "part": PartRow,
    "batch": BatchRow,
    "feature": FeatureRow,
    "exception": ExceptionRow,
    "writing": Writing,
    "source_code": SourceCodeRow,
    "sign": SignRow,
}
_HEAD = ("schema", "id", "edition", "kind", "maker", "model", "invented", "note")
_OPTIONAL = {"serial", "batch", "exception", "writing", "source_code", "sign", "feature"}


@dataclass(frozen=True)
class Chronology:
    """A chronology that was read; lists keep the order of the document.

    Attributes
    ----------
    words
        What to call features, signs, variants and outcomes on paper, by id.
    digest
        SHA-256 of the document's canonical JSON: the edition a finding rests on.
    """

    id: str
    edition: str
    kind: str
    maker: str
    model: str
    invented: bool
    note: str
    production: Span
    grid: Grid
    prior: Prior
    timing: TimingTable
    serial: SerialTable | None
    history: tuple[HistoryClass, ...]
    assemblies: tuple[AssemblyRow, ...]
    parts: tuple[PartRow, ...]
    batches: tuple[BatchRow, ...]
    features: tuple[FeatureRow, ...]
    exceptions: tuple[ExceptionRow, ...]
    writings: tuple[Writing, ...]
    source_codes: tuple[SourceCodeRow, ...]
    signs: tuple[SignRow, ...]
    group_failure: Mapping[str, float]
    words: Mapping[str, str]
    digest: str

    @property
    def completion(self) -> MonthGrid:
        """Months on which completion is dated."""
        return MonthGrid.parse(*self.grid.completion)

    @property
    def marks(self) -> MonthGrid:
        """Months in which a part may have been made."""
        return MonthGrid.parse(*self.grid.marks)

    def feature(self, id_: str) -> FeatureRow | None:
        """Find a feature by its id or one of its other ids."""
        for row in self.features:
            if id_ == row.id or id_ in row.also:
                return row
        return None

    def sign(self, id_: str) -> SignRow | None:
        """Find a sign by its id."""
        return next((row for row in self.signs if row.id == id_), None)


def read_chronology(text: str, form: Format, *, name: str) -> Chronology:
    """Read a chronology from the text of a file.

    Raises
    ------
    InputError
        Broken syntax, a missing or unknown field, a value out of range, a month that cannot be,
        a row that names something undefined; names file, line, row and field.
    """
    return parse_chronology(parse_document(text, name, form), name=name, text=text)


def parse_chronology(data: Mapping[str, Any], *, name: str, text: str | None = None) -> Chronology:
    """Read a chronology from plain values; see `read_chronology`."""
    reader = _Reader(data, name, text)
    reader.check_top()
    chronology = Chronology(
        id=reader.head("id"),
        edition=reader.head("edition"),
        kind=reader.head("kind"),
        maker=reader.head("maker"),
        model=reader.head("model"),
        invented=bool(data.get("invented", False)),
        note=str(data.get("note", "")),
        production=reader.single("production", Span),
        grid=reader.single("grid", Grid),
        prior=reader.single("prior", Prior),
        timing=reader.single("timing", TimingTable),
        serial=reader.single("serial", SerialTable) if "serial" in data else None,
        history=reader.rows("history", HistoryClass),
        assemblies=reader.rows("assembly", AssemblyRow),
        parts=reader.rows("part", PartRow),
        batches=reader.rows("batch", BatchRow),
        features=reader.rows("feature", FeatureRow),
        exceptions=reader.rows("exception", ExceptionRow),
        writings=reader.rows("writing", Writing),
        source_codes=reader.rows("source_code", SourceCodeRow),
        signs=reader.rows("sign", SignRow),
        group_failure=reader.shares("group_failure"),
        words=reader.words("words"),
        digest=digest_of(dict(data)),
    )
    _check_rows(chronology, reader)
    return chronology


class _Reader:
    """Reads rows one by one and puts file, line and row into every refusal."""

    def __init__(self, data: Mapping[str, Any], name: str, text: str | None) -> None:
        self.data, self.name, self.text = data, name, text

    def place(self, table: str, index: int | None, key: str | None = None) -> str:
        line = locate(self.text, table, index, key) if self.text else None
        row = f"{table} {index + 1}" if index is not None else table
        parts = [self.name, f"line {line}" if line else "", row, f"field {key}" if key else ""]
        return ", ".join(part for part in parts if part)

    def refused(
        self, what: str, table: str, index: int | None, key: str | None, received: object = None
    ) -> InputError:
        return InputError(
            what,
            where=self.place(table, index, key),
            received=received,
            remedy="See docs/methods/chronology.md for the form.",
        )

    def check_top(self) -> None:
        schema = self.data.get("schema")
        if schema != CHRONOLOGY_SCHEMA:
            raise InputError(
                "not a chronology this program reads",
                where=self.place("", None, "schema"),
                received=schema,
                remedy=f'Write schema = "{CHRONOLOGY_SCHEMA}" at the top.',
            )
        known = {*_HEAD, *_SINGLE, *_LISTS, "group_failure", "words"}
        for key in self.data:
            if key not in known:
                raise InputError(
                    "unknown table or field",
                    where=self.place(key, None),
                    received=key,
                    remedy=nearest(key, known),
                )
        for key in (*_SINGLE, *_LISTS):
            if key not in self.data and key not in _OPTIONAL:
                raise InputError(
                    f"the table {key} is missing",
                    where=self.name,
                    remedy="See docs/methods/chronology.md for the form.",
                )

    def head(self, key: str) -> str:
        value = self.data.get(key)
        if not isinstance(value, str) or not value:
            raise self.refused("needs a text here", "", None, key, value)
        return value

    def shares(self, table: str) -> dict[str, float]:
        values = self.data.get(table, {})
        for key, value in values.items():
            if not isinstance(value, int | float) or not 0 <= value <= 1:
                raise self.refused("not a share of one", table, None, key, value)
        return {key: float(value) for key, value in values.items()}

    def words(self, table: str) -> dict[str, str]:
        values = self.data.get(table, {})
        for key, value in values.items():
            if not isinstance(value, str):
                raise self.refused("not a text", table, None, key, value)
        return dict(values)

    def single(self, table: str, record: type[R]) -> R:
        return self._converted(self.data[table], record, table, None)

    def rows(self, table: str, record: type[R]) -> tuple[R, ...]:
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
        try:
            return parse_month(text)
        except InputError as error:
            raise error.at(self.place(table, index, key)) from None


def _check_rows(chronology: Chronology, reader: _Reader) -> None:
    """Check what one row alone cannot show: months, and names defined elsewhere."""
    span = chronology.production
    Period(
        reader.month(span.first, "production", None, "first"),
        reader.month(span.last, "production", None, "last"),
    )
    for key in ("completion", "marks"):
        for end in getattr(chronology.grid, key):
            reader.month(end, "grid", None, key)
    parts = {row.key for row in chronology.parts}
    named: list[tuple[str, Callable[[Any], list[str]], tuple[Any, ...]]] = [
        ("assembly", lambda row: row.parts, chronology.assemblies),
        ("batch", lambda row: row.parts, chronology.batches),
        ("feature", lambda row: row.parts, chronology.features),
        ("sign", lambda row: row.parts, chronology.signs),
        ("writing", lambda row: [row.part], chronology.writings),
    ]
    for table, parts_of, rows in named:
        for index, row in enumerate(rows):
            for part in parts_of(row):
                if part not in parts:
                    key = "part" if table == "writing" else "parts"
                    raise InputError(
                        "no such part in this chronology",
                        where=reader.place(table, index, key),
                        received=part,
                        remedy=nearest(part, parts),
                    )
    for index, row in enumerate(chronology.features):
        _check_feature(row, index, reader)
    for index, one in enumerate(chronology.exceptions):
        if chronology.feature(one.feature) is None:
            raise reader.refused("no such feature", "exception", index, "feature", one.feature)
    if chronology.serial is not None:
        for knot in chronology.serial.knot:
            reader.month(knot.month, "serial", None, "knot")


def _check_feature(row: FeatureRow, index: int, reader: _Reader) -> None:
    expected = 2 if row.passing else len(row.change) + 1
    if len(row.variants) != expected or not (row.change or row.passing):
        raise reader.refused(
            f"{len(row.variants)} variants and {len(row.change)} change-overs do not fit: give "
            "one change-over between two variants, or passing with two variants",
            "feature",
            index,
            "variants",
        )
    for change in row.change:
        reader.month(change.first_new, "feature", index, "change")
        reader.month(change.last_old, "feature", index, "change")
    if row.passing is not None:
        for end in (row.passing.first, row.passing.last):
            reader.month(end, "feature", index, "passing")
