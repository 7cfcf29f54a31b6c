"""A chronology: what is known of one maker's instruments, read from a document.

Schema ``heelstamp/chronology/1``. The document holds change-overs with their windows, lags,
state and sign tables, the serial curve, ways of marking, and priors (``records``); ``tables``
turns it into a dating model. Every row is read on its own so that an error names file, line, row
and field. Knowledge is the shop's, never a truth of the factory; an invented maker says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heelstamp.archive import digest_of
from heelstamp.chronology.contents import Chronology
from heelstamp.chronology.cross_checks import check_rows
from heelstamp.chronology.records import (
    AccessRow,
    AssemblyRow,
    BatchRow,
    ExceptionRow,
    FeatureRow,
    Grid,
    HistoryClass,
    InspectionRow,
    OpeningRow,
    PartRow,
    PlacesTable,
    Prior,
    Record,
    ScrewsTable,
    SerialTable,
    SetRow,
    SignRow,
    SourceCodeRow,
    Span,
    TimingTable,
    Writing,
)
from heelstamp.chronology.row_reader import RowReader
from heelstamp.documents import Format, parse_document

_SINGLE: dict[str, type[Record]] = {
    "production": Span,
    "grid": Grid,
    "prior": Prior,
    "timing": TimingTable,
    "serial": SerialTable,
    "screws": ScrewsTable,
    "places": PlacesTable,
}
_LISTS: dict[str, type[Record]] = {
    "history": HistoryClass,
    "assembly": AssemblyRow,
    "opening": OpeningRow,
    "set": SetRow,
    "part": PartRow,
    "batch": BatchRow,
    "feature": FeatureRow,
    "exception": ExceptionRow,
    "writing": Writing,
    "source_code": SourceCodeRow,
    "sign": SignRow,
    "access": AccessRow,
    "inspection": InspectionRow,
}
_HEAD = ("schema", "id", "edition", "kind", "maker", "model", "invented", "note")
_OPTIONAL = {
    "serial",
    "screws",
    "places",
    "assembly",
    "opening",
    "set",
    "batch",
    "exception",
    "writing",
    "source_code",
    "sign",
    "feature",
    "access",
    "inspection",
}


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
    reader = RowReader(data, name, text)
    tables = {*_SINGLE, *_LISTS}
    reader.check_top({*_HEAD, *tables, "group_failure", "careful", "words"}, tables - _OPTIONAL)
    chronology = Chronology(
        document=name,
        id=reader.head("id"),
        edition=reader.head("edition"),
        kind=reader.head("kind"),
        maker=reader.head("maker"),
        model=reader.head("model"),
        invented=reader.flag("invented"),
        note=str(data.get("note", "")),
        production=reader.single("production", Span),
        grid=reader.single("grid", Grid),
        prior=reader.single("prior", Prior),
        timing=reader.single("timing", TimingTable),
        serial=reader.single("serial", SerialTable) if "serial" in data else None,
        history=reader.rows("history", HistoryClass),
        assemblies=reader.rows("assembly", AssemblyRow),
        openings=reader.rows("opening", OpeningRow),
        sets=reader.rows("set", SetRow),
        careful=reader.shares("careful"),
        screws=reader.single("screws", ScrewsTable) if "screws" in data else ScrewsTable(),
        places=reader.single("places", PlacesTable) if "places" in data else None,
        parts=reader.rows("part", PartRow),
        batches=reader.rows("batch", BatchRow),
        features=reader.rows("feature", FeatureRow),
        exceptions=reader.rows("exception", ExceptionRow),
        writings=reader.rows("writing", Writing),
        source_codes=reader.rows("source_code", SourceCodeRow),
        signs=reader.rows("sign", SignRow),
        accesses=reader.rows("access", AccessRow),
        inspections=reader.rows("inspection", InspectionRow),
        group_failure=reader.shares("group_failure"),
        words=reader.words("words"),
        digest=digest_of(dict(data)),
    )
    check_rows(chronology, reader)
    return chronology
