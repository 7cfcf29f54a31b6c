"""The bundled reference tables, verified before use and handed on as frozen values.

Each table is a CSV file beside ``datapackage.json`` (Frictionless Data Package, tabular profile),
which names its sources, licence, the unit of each column and its SHA-256. A table whose bytes or
columns differ from the descriptor is not read at all. ``builders/reference_tables.py`` renews the
descriptor after an edit.
"""

from __future__ import annotations

import csv
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from heelstamp.errors import HeelstampError, IntegrityError
from heelstamp.marks import BoundMark, MarkContext, PatentAnchor, PatentTable, SourceCode
from heelstamp.units import Period, parse_month

FOLDER = Path(__file__).with_name("tables")
DESCRIPTOR = "datapackage.json"
Row = Mapping[str, str]
_REMEDY = "Install the program again, or run builders/reference_tables.py after a meant edit."


@dataclass(frozen=True, slots=True)
class VerbalBand:
    """One band of the likelihood ratio: above *over*, up to and including *up_to*."""

    over: float
    up_to: float
    support: str
    note: str
    source: str


def describe(folder: Path = FOLDER) -> Mapping[str, Mapping[str, Any]]:
    """The descriptor of each table, by name.

    Raises
    ------
    IntegrityError
        The descriptor is missing or is not JSON of the expected shape.
    """
    path = folder / DESCRIPTOR
    try:
        package = json.loads(path.read_text(encoding="utf-8"))
        return MappingProxyType({one["name"]: one for one in package["resources"]})
    except (OSError, UnicodeDecodeError, ValueError, KeyError, TypeError) as error:
        raise IntegrityError(
            "the descriptor of the reference tables cannot be read",
            where=str(path),
            received=error,
            remedy=_REMEDY,
        ) from error


def load(name: str, folder: Path = FOLDER) -> tuple[Row, ...]:
    """Read one table, every value as text.

    Parameters
    ----------
    name
        Name in the descriptor, such as ``bound_marks``.
    folder
        Where the tables lie.

    Returns
    -------
    tuple
        One read-only mapping per row, column → text; empty text where there is no value.

    Raises
    ------
    IntegrityError
        The table is not described, is missing, or differs from its description.
    """
    described = describe(folder)
    if name not in described:
        raise IntegrityError(
            "no such reference table",
            received=name,
            remedy="Known: " + ", ".join(sorted(described)) + ".",
        )
    resource = described[name]
    path = folder / f"{name}.csv"
    try:
        data = path.read_bytes()
    except OSError as error:
        raise IntegrityError(
            "a reference table is missing", where=str(path), received=error, remedy=_REMEDY
        ) from error
    found = "sha256:" + hashlib.sha256(data).hexdigest()
    if found != resource.get("hash"):
        raise IntegrityError(
            "a reference table is not what its descriptor says",
            where=str(path),
            received=found,
            remedy=_REMEDY,
        )
    reader = csv.DictReader(data.decode("utf-8").splitlines())
    columns = [column["name"] for column in resource["schema"]["fields"]]
    if list(reader.fieldnames or ()) != columns:
        raise IntegrityError(
            "the columns of a reference table differ from its descriptor",
            where=str(path),
            received=", ".join(reader.fieldnames or ()),
            remedy=_REMEDY,
        )
    return tuple(MappingProxyType(dict(row)) for row in reader)


def verify(folder: Path = FOLDER) -> tuple[str, ...]:
    """Load every described table; give the names.

    Raises
    ------
    IntegrityError
        The first table that does not match.
    """
    names = tuple(describe(folder))
    for name in names:
        load(name, folder)
    return names


@cache
def source_codes(folder: Path = FOLDER) -> Mapping[str, SourceCode]:
    """Return what is known of each source number, by number."""
    return MappingProxyType(
        {
            row["code"]: SourceCode(
                code=row["code"],
                part_kinds=tuple(row["part_kinds"].split(";")),
                evidence=row["evidence"] == "yes",
                source=cite(row),
                first_edition=int(row["first_edition"]) if row["first_edition"] else None,
                last_edition=int(row["last_edition"]) if row["last_edition"] else None,
            )
            for row in load("source_codes", folder)
        }
    )


@cache
def patent_table(folder: Path = FOLDER) -> PatentTable:
    """The dated patent numbers of both series, in rising order."""
    anchors: dict[str, list[PatentAnchor]] = {"utility": [], "design": []}
    for row in load("patent_first_numbers", folder):
        anchors[row["series"]].append(
            PatentAnchor(
                number=int(row["first_number"]),
                not_before=parse_month(f"{row['year']}-01"),
                evidence=row["evidence"] == "yes",
                source=cite(row),
                basis=f"first of {row['year']}",
            )
        )
    for row in load("patent_grants", folder):
        day = row["granted"]
        anchors["utility"].append(
            PatentAnchor(
                number=int(row["number"]),
                not_before=parse_month(day[:7] if len(day) > 4 else f"{day}-01"),
                evidence=row["evidence"] == "yes",
                source=cite(row),
                basis=f"granted {day}",
            )
        )
    return PatentTable(*(tuple(sorted(anchors[series], key=_number)) for series in anchors))


@cache
def bound_marks(folder: Path = FOLDER) -> Mapping[str, BoundMark]:
    """The law- and material-bound marks, by id."""
    marks: dict[str, BoundMark] = {}
    for row in load("bound_marks", folder):
        try:
            marks[row["id"]] = BoundMark(
                key=row["id"],
                what=row["what"],
                not_before=parse_month(row["not_before"]) if row["not_before"] else None,
                margin_before=int(row["margin_before"] or 0),
                not_after=parse_month(row["not_after"]) if row["not_after"] else None,
                margin_after=int(row["margin_after"] or 0),
                evidence=row["evidence"] == "yes",
                usual=row["usual"],
                note=row["note"],
                source=cite(row),
            )
        except HeelstampError as error:
            raise error.at(f"bound_marks, {row['id']}") from None
    return MappingProxyType(marks)


@cache
def verbal_scale(folder: Path = FOLDER) -> tuple[VerbalBand, ...]:
    """The bands of the likelihood ratio, the weakest first."""
    return tuple(
        VerbalBand(
            over=float(row["ratio_over"]),
            up_to=float(row["ratio_up_to"]),
            support=row["support"],
            note=row["note"],
            source=cite(row),
        )
        for row in load("verbal_scale", folder)
    )


def mark_context(
    *,
    span: Period | None = None,
    one_digit: Mapping[str, int] | None = None,
    claimed: Period | None = None,
) -> MarkContext:
    """A reading context with all bundled tables.

    Parameters
    ----------
    span
        Months outside which nothing is read; the mark grid when absent.
    one_digit
        Source number → last year in which it marked a one-digit year.
    claimed
        Months to which an owner's claim limits the part (never for a dating).
    """
    bare = MarkContext()
    return MarkContext(
        sources=source_codes(),
        patents=patent_table(),
        bound=bound_marks(),
        one_digit=bare.one_digit if one_digit is None else MappingProxyType(dict(one_digit)),
        span=bare.span if span is None else span,
        claimed=claimed,
    )


def _number(anchor: PatentAnchor) -> int:
    return anchor.number


def cite(row: Row) -> str:
    """Write a row's source: bibliography key, section, and how far it was checked."""
    key = f"[{row['source']}]" if row["source"] else ""
    return "; ".join(part for part in (key, row["section"], row["status"]) if part)
