"""The census of a shop: rows added from tables and dossiers, and editions learned from it.

A learned edition is written whole into the shop's ``chronologies`` folder; the edition before it
is kept beside it under ``earlier``, named with its edition, so that what it concluded can be
compared.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heelstamp.shop.files import write_whole
from heelstamp.shop.folder import CHRONOLOGIES_FOLDER, open_shop
from heelstamp.shop.files import read_file
from heelstamp.errors import ConflictError, InputError, StorageError

if TYPE_CHECKING:
    from heelstamp.casework.census.held import Held
    from heelstamp.casework.census.learn import NewEdition
    from heelstamp.casework.census.rows import CensusRow
    from heelstamp.casework.census.sheet import Sheet
    from heelstamp.chronology import Chronology
    from heelstamp.casework.ports import CensusRecord, Shop

EARLIER_FOLDER = "earlier"
TABLES = (".csv", ".xlsx")


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


def edition_document(id_: str, shop: Path | None) -> tuple[dict[str, Any], str]:
    """Give the present edition of a chronology as plain values, and the name of its file.

    Raises
    ------
    InputError
        There is none of this id, or it cannot be read.
    """
    from heelstamp.documents import decode_text, format_of, parse_document
    from heelstamp.reference.chronology_files import bundled_text, own_file

    folder = shop / CHRONOLOGIES_FOLDER if shop is not None else None
    own = own_file(id_, folder)
    if own is None:
        name = f"{id_}.toml"
        return parse_document(bundled_text(id_, folder), name, "toml"), name
    text = decode_text(read_file(own), own.name)
    return parse_document(text, own.name, format_of(own.name)), own.name


def present_edition(id_: str, shop: Path | None) -> Chronology:
    """Give the present edition of a chronology."""
    from heelstamp.shop.subjects import chronology_for

    return chronology_for(id_, shop)


def import_table(
    shop: Path, path: Path, chronology: str, columns: Path | None = None, sheet: str | None = None
) -> Added:
    """Add the rows of a table to the census, all or none.

    Raises
    ------
    TableError
        Cells cannot be used; it holds all of them.
    InputError
        The table, its columns or the map cannot be read, or there is no such chronology.
    ConflictError
        A row of that id is in the census already.
    """
    from heelstamp.documents import decode_text
    from heelstamp.media.spreadsheets import read_sheet

    edition = present_edition(chronology, shop)
    text = None
    if columns is not None:
        text = decode_text(read_file(columns), columns.name)
    table = read_sheet(read_file(path), path.name, sheet)
    with open_shop(shop) as opened:
        return add_sheet(opened, table, edition, text, "" if columns is None else columns.name)


def add_sheet(
    shop: Shop, table: Sheet, edition: Chronology, columns: str | None = None, name: str = ""
) -> Added:
    """Add the rows of a table to the census, all or none; see `import_table`.

    Parameters
    ----------
    columns, name
        Text of a column map and the name of its file.
    """
    from heelstamp.casework.census.columns import read_columns
    from heelstamp.casework.census.intake import rows_from_sheet
    from heelstamp.reference.tables import mark_context

    mapped = None if columns is None else read_columns(columns, name, edition)
    return _add(shop, rows_from_sheet(table, mapped, edition, mark_context()), edition)


def add_dossier(shop: Path, tag: str, *, while_open: bool = False) -> Added:
    """Add a closed dossier to the census.

    Raises
    ------
    ConflictError
        The dossier is not closed and *while_open* is not set, or it is in the census already.
    InputError
        There is no such dossier.
    """
    from heelstamp.casework.census.rows import row_from_dossier
    from heelstamp.casework.dossier import state_of
    from heelstamp.reference.tables import mark_context

    with open_shop(shop) as opened:
        state = state_of(opened, tag)
        edition = present_edition(state.instrument.chronology, shop)
        row = row_from_dossier(state, edition, mark_context(), tag=tag, while_open=while_open)
        return _add(opened, [row], edition)


def _add(shop: Shop, rows: Sequence[CensusRow], edition: Chronology) -> Added:
    from heelstamp.casework.census.conclusions import Concluder

    concluder = Concluder(edition)
    records = []
    for begin in range(0, len(rows), 1024):
        some = rows[begin : begin + 1024]
        conclusions = concluder.conclude([row.evidence for row in some])
        records += [_record(row, one) for row, one in zip(some, conclusions, strict=True)]
    shop.census.add(edition.id, records)
    return Added(
        edition.id,
        tuple(row.id for row in rows),
        sum(row.teaches for row in rows),
        shop.census.count(edition.id),
    )


def _record(row: CensusRow, conclusion: Any) -> CensusRecord:
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


def census_rows(records: Iterable[CensusRecord], edition: Chronology) -> list[CensusRow]:
    """Give stored rows, read by *edition*."""
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


def learn(
    shop: Path, id_: str, edition: str, *, serial: bool = False, least: int | None = None
) -> NewEdition:
    """Learn a new edition from the shop's census; nothing is written.

    Raises
    ------
    InputError
        Nothing to learn from, or *edition* is the name of the present one.
    """
    from heelstamp.casework.census.learn import learn_edition
    from heelstamp.dating.learning import LEAST_LOOKS

    document, _ = edition_document(id_, shop)
    with open_shop(shop) as opened:
        rows = census_rows(opened.census.rows(id_), present_edition(id_, shop))
    return learn_edition(
        document,
        rows,
        edition=edition,
        serial=serial,
        least=LEAST_LOOKS if least is None else least,
    )


def held(shop: Path, id_: str) -> Held:
    """Tell whether ranges held over the shop's census; see `heelstamp.casework.census.held`."""
    from heelstamp.casework.census.held import census_held

    document, _ = edition_document(id_, shop)
    with open_shop(shop) as opened:
        rows = census_rows(opened.census.rows(id_), present_edition(id_, shop))
    return census_held(document, rows)


def write_edition(new: NewEdition, shop: Path, out: Path | None = None) -> Path:
    """Write a learned edition: into the shop (`write_document`), or to *out*.

    Raises
    ------
    ConflictError
        The edition before is kept already with another content.
    StorageError
        The machine refused; the present edition is still in place.
    """
    from heelstamp.documents import format_of
    from heelstamp.toml_text import toml_text

    text = toml_text(new.document).encode("utf-8")
    if out is not None:
        if format_of(out.name) != "toml":
            raise InputError(
                "an edition is written as TOML", received=out.name, remedy="End .toml."
            )
        write_whole(out, text)
        return out
    return write_document(new.chronology.id, shop, text)


def write_document(id_: str, shop: Path, text: bytes) -> Path:
    """Put an edition into a shop whole; the one before is kept under ``earlier`` as it was.

    Raises
    ------
    ConflictError
        The edition before is kept already with another content.
    StorageError
        The machine refused; the present edition is still in place.
    """
    from heelstamp.documents import decode_text, parse_document
    from heelstamp.toml_text import toml_text
    from heelstamp.reference.chronology_files import bundled_text, own_file

    before, name = edition_document(id_, shop)
    folder = shop / CHRONOLOGIES_FOLDER
    kept = folder / EARLIER_FOLDER / f"{id_}-{_plain(str(before['edition']))}.toml"
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StorageError(
            "the folder cannot be made", where=str(kept.parent), received=error.strerror
        ) from error
    if kept.is_file():
        standing = parse_document(decode_text(read_file(kept), kept.name), kept.name, "toml")
        if standing != before:
            raise ConflictError(
                "another edition of this name is kept already",
                where=str(kept),
                remedy="Give the present edition another name first.",
            )
    own = own_file(id_, folder)
    if own is None:
        text_before = bundled_text(id_, folder).encode("utf-8")
    else:
        text_before = read_file(own)
        if own.suffix == ".json":
            text_before = toml_text(before).encode("utf-8")
    write_whole(kept, text_before)
    write_whole(folder / f"{id_}.toml", text)
    old = folder / name
    if old.suffix == ".json" and old.is_file():
        old.unlink()  # its content is kept under earlier
    return folder / f"{id_}.toml"


def editions_kept(id_: str, shop: Path) -> tuple[str, ...]:
    """Name the editions of a chronology that were replaced, the last one first."""
    return tuple(one.stem.removeprefix(f"{id_}-") for one in _replaced(id_, shop))


def earlier_edition(id_: str, shop: Path) -> Chronology | None:
    """Give the edition that was replaced last, if one was."""
    from heelstamp.reference.chronology_files import read_chronology_file

    found = _replaced(id_, shop)
    return read_chronology_file(found[0]) if found else None


def _replaced(id_: str, shop: Path) -> list[Path]:
    """Find the files of replaced editions; another id may begin like this one."""
    from heelstamp.documents import decode_text, parse_document

    folder = shop / CHRONOLOGIES_FOLDER / EARLIER_FOLDER
    found = [
        one
        for one in (folder.glob(f"{id_}-*.toml") if folder.is_dir() else ())
        if parse_document(decode_text(read_file(one), one.name), one.name, "toml").get("id") == id_
    ]
    return sorted(found, key=lambda one: (one.stat().st_mtime_ns, one.name), reverse=True)


def _plain(edition: str) -> str:
    return re.sub(r"[^A-Za-z0-9_.-]+", "-", edition)
