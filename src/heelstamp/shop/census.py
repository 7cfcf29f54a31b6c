"""The census of a shop: instruments of a maker kept to learn from, added by tables and dossiers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from heelstamp.casework.census.rows import CensusRow, Conclusion
    from heelstamp.casework.ports import CensusRecord
    from heelstamp.casework.spreadsheet.sheet import Sheet
    from heelstamp.chronology import Chronology
    from heelstamp.chronology.change_view import CensusPoint
    from heelstamp.shop.opened import OpenShop

BATCH = 1024
"""Rows concluded at a time, to bound the memory."""

DRAWN_ROWS = 2000
"""Rows of the census that are dated anew for a drawing, the last that were added."""


@dataclass(frozen=True)
class Added:
    """What was added to a census.

    Attributes
    ----------
    ids
        Of the rows, in order.
    teaching
        How many of them change-overs may be learned from.
    total
        Rows of that chronology's census now.
    """

    chronology: str
    ids: tuple[str, ...]
    teaching: int
    total: int


@dataclass(frozen=True)
class CensusHere:
    """Rows of a census in short: how many there are, and which teach."""

    count: int
    taught: tuple[str, ...]
    silent: tuple[str, ...]


def add_table(
    shop: OpenShop, id_: str, table: Sheet, columns: tuple[str, str] | None = None
) -> Added:
    """Add the rows of a table to the census of a chronology, all or none.

    Parameters
    ----------
    columns
        Text of a column map and the name of its file; columns are taken by their names without.

    Raises
    ------
    TableError
        Cells cannot be used; it holds all of them.
    InputError
        The columns or the map cannot be read, or there is no such chronology.
    ConflictError
        A row of that id is in the census already.
    """
    from heelstamp.casework.census.columns import read_columns
    from heelstamp.casework.census.intake import rows_from_sheet
    from heelstamp.reference.tables import mark_context

    edition = shop.chronology(id_)
    mapped = None if columns is None else read_columns(*columns, edition)
    return _add(shop, rows_from_sheet(table, mapped, edition, mark_context()), edition)


def add_dossier(shop: OpenShop, tag: str, *, while_open: bool = False) -> Added:
    """Add a closed dossier to the census of its chronology.

    Raises
    ------
    ConflictError
        The dossier is not closed and *while_open* is not set, or it is in the census already.
    InputError
        There is no such dossier.
    """
    from heelstamp.casework.census.rows import row_from_dossier
    from heelstamp.reference.tables import mark_context

    subject = shop.subject(tag)
    edition = subject.chronology
    row = row_from_dossier(subject.state, edition, mark_context(), tag=tag, while_open=while_open)
    return _add(shop, [row], edition)


def _add(shop: OpenShop, rows: Sequence[CensusRow], edition: Chronology) -> Added:
    from heelstamp.casework.census.conclusions import Concluder

    concluder = Concluder(edition)
    records = []
    for begin in range(0, len(rows), BATCH):
        some = rows[begin : begin + BATCH]
        conclusions = concluder.conclude([row.evidence for row in some])
        records += [_record(row, one) for row, one in zip(some, conclusions, strict=True)]
    shop.census.add(edition.id, records)
    return Added(
        edition.id,
        tuple(row.id for row in rows),
        sum(row.teaches for row in rows),
        shop.census.count(edition.id),
    )


def _record(row: CensusRow, conclusion: Conclusion) -> CensusRecord:
    import msgspec

    from heelstamp.casework.ports import CensusRecord

    return CensusRecord(
        row.id,
        row.how_dated,
        msgspec.json.encode(row.observations).decode(),
        row.evidence,
        row.read_as,
        msgspec.json.encode(conclusion).decode(),
    )


def read_rows(records: Iterable[CensusRecord], edition: Chronology) -> list[CensusRow]:
    """Return stored rows, read by *edition*."""
    import msgspec

    from heelstamp.casework.census.rows import CensusRow, reading_digest, with_present_reading
    from heelstamp.reference.tables import mark_context

    present, context = reading_digest(edition), mark_context()
    return [
        with_present_reading(
            CensusRow(
                id=one.id,
                chronology=edition.id,
                how_dated=one.how_dated,  # type: ignore[arg-type]
                observations=msgspec.json.decode(one.observations),
                evidence=one.evidence,
                read_as=one.read_as,
            ),
            edition,
            context,
            present,
        )
        for one in records
    ]


def last_rows(shop: OpenShop, edition: Chronology) -> list[CensusRow]:
    """Return the rows that are drawn, read by *edition*."""
    return read_rows(list(shop.census.rows(edition.id))[-DRAWN_ROWS:], edition)


def census_here(shop: OpenShop, id_: str) -> CensusHere:
    """Which rows of a census teach."""
    taught: list[str] = []
    silent: list[str] = []
    for one in shop.census.rows(id_, whole=False):
        (silent if one.how_dated == "feature only" else taught).append(one.id)
    return CensusHere(len(taught) + len(silent), tuple(taught), tuple(silent))


def points_at(shop: OpenShop, id_: str, feature: str) -> tuple[CensusPoint, ...]:
    """Return the instruments beside one feature, each dated without it; remembered."""
    from heelstamp.casework.census.points import CensusDates

    chronology = shop.chronology(id_)
    ground = (chronology.digest, shop.census.count(id_))
    ready = shop.made_once(
        ("census", *ground), lambda: CensusDates(last_rows(shop, chronology), chronology)
    )
    return shop.made_once(("points", feature, *ground), lambda: ready.points(feature))
