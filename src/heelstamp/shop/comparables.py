"""The shop's comparables: sold and asking apart, added by a table or by a form, never changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.files import read_file

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.comparables import Comparable
    from heelstamp.casework.spreadsheet.sheet import Sheet
    from heelstamp.shop.opened import OpenShop

SHEET_MAX = 5_000_000
"""Largest spreadsheet that the bench reads, bytes."""

ROWS_MAX = 20_000
"""Rows of it."""


@dataclass(frozen=True)
class SalesAdded:
    """What was added to the comparables of one market."""

    market: str
    rows: tuple[Comparable, ...]
    total: int
    repeats: tuple[tuple[str, str], ...]


def sales_of(shop: OpenShop, market: str) -> list[Comparable]:
    """Return comparables that stand in the shop for one market, named by its chronology."""
    from heelstamp.casework.appraisal.comparables import decode, standing

    return standing([decode(text) for _, text in shop.comparables.rows(market)])


def add_sales(
    shop: OpenShop, market: str, table: Sheet, columns: tuple[str, str] | None = None
) -> SalesAdded:
    """Add a table of sales, all or none.

    Parameters
    ----------
    market
        Id of the chronology they are of.
    columns
        Text of a column map and the name of its file; columns are taken by their names without.

    Raises
    ------
    TableError
        Cells cannot be used, or a sale is there already; it holds all of them.
    InputError
        A column's name says nothing, or the map cannot be read.
    """
    from heelstamp.casework.appraisal.comparables import possible_repeats

    known = sales_of(shop, market)
    rows = _read(table, columns, known)
    keep_sales(shop, market, rows)
    whole = [*known, *rows]
    new = {one.id for one in rows}
    repeats = tuple(pair for pair in possible_repeats(whole) if new & set(pair))
    return SalesAdded(market, tuple(rows), len(whole), repeats)


def add_sale(shop: OpenShop, market: str, told: Mapping[str, str], *, id_: str) -> None:
    """Keep one comparable of a form; what a device sends twice is kept once.

    Raises
    ------
    TableError
        A field cannot be used, or the same sale is kept already.
    ConflictError
        The id names another comparable.
    """
    from heelstamp.casework.appraisal.entering import sale_sheet
    from heelstamp.casework.appraisal.sales_table import comparables_from

    known = sales_of(shop, market)
    sheet = sale_sheet(told, id_, shop.currency)
    if any(one.id == id_ for one in known):
        if comparables_from(sheet)[0] in known:
            return
        raise ConflictError("this id names another comparable", where=market, received=id_)
    keep_sales(shop, market, comparables_from(sheet, known=known))


def correct_sale(
    shop: OpenShop,
    market: str,
    id_: str,
    told: Mapping[str, str] | None,
    *,
    reason: str,
    stamp: str,
) -> Comparable | None:
    """Let a comparable say something else from now on, or nothing; what it said is kept.

    Parameters
    ----------
    told
        What changes, by the names of columns; None takes the comparable away.
    stamp
        Id of the correction; what a device sends twice is kept once.

    Raises
    ------
    InputError
        No such comparable stands, no reason was given, or nothing changes.
    TableError
        A field cannot be used.
    """
    from msgspec.structs import replace

    from heelstamp.casework.appraisal.comparables import encode
    from heelstamp.casework.appraisal.entering import sale_fields, sale_sheet
    from heelstamp.casework.appraisal.sales_table import comparables_from

    kept = shop.comparables.rows(market)
    known = {one.id: one for one in sales_of(shop, market)}
    if any(row == stamp for row, _ in kept):
        return known.get(id_)
    if not reason.strip():
        raise InputError("a correction gives its reason", where=id_, remedy="Say what was wrong.")
    if id_ not in known:
        raise InputError(
            "no such comparable stands",
            where=market,
            received=id_,
            remedy="heelstamp sales list tells their ids.",
        )
    held = known[id_]
    said = {"id": stamp, "corrects": id_, "reason": reason.strip()}
    if told is None:
        made = replace(held, withdrawn=True, **said)
    else:
        fields = sale_fields(held)
        unknown = next((one for one in told if one not in fields), None)
        if unknown is not None:
            raise InputError(
                "a comparable has no such field",
                where=id_,
                received=unknown,
                remedy="Fields: " + ", ".join(fields) + ".",
            )
        (read,) = comparables_from(sale_sheet({**fields, **told}, id_, held.currency))
        # what a form has no field for stays as it was
        premium = held.premium if read.minor == held.minor else ""
        made = replace(read, premium=premium, aspects=held.aspects, **said)
        if replace(made, id=held.id, corrects="", reason=held.reason) == held:
            raise InputError("nothing changes", where=id_, remedy="Say what it should be.")
    shop.comparables.add(market, [(stamp, encode(made))])
    return None if told is None else replace(made, id=id_, corrects="")


def sale_history(shop: OpenShop, market: str, id_: str) -> list[Comparable]:
    """Return everything that was said of a comparable, oldest first."""
    from heelstamp.casework.appraisal.comparables import decode

    rows = [decode(text) for _, text in shop.comparables.rows(market)]
    return [one for one in rows if id_ in (one.id, one.corrects)]


def keep_sales(shop: OpenShop, market: str, rows: Sequence[Comparable]) -> None:
    """Keep comparables that were read, all or none."""
    from heelstamp.casework.appraisal.comparables import encode

    shop.comparables.add(market, [(one.id, encode(one)) for one in rows])


def read_sales(
    path: Path, columns: Path | None = None, sheet: str | None = None
) -> list[Comparable]:
    """Return comparables of a file, without any shop; see `add_sales` for what is refused."""
    return _read(table_in(path, sheet), columns_in(columns), ())


def _read(
    table: Sheet, columns: tuple[str, str] | None, known: Sequence[Comparable]
) -> list[Comparable]:
    from heelstamp.casework.appraisal.sales_table import comparables_from, read_sales_map

    mapped = None if columns is None else read_sales_map(*columns)
    return comparables_from(table, mapped, known=known)


def table_in(path: Path, sheet: str | None = None) -> Sheet:
    """Return a table in a file that a person named.

    Raises
    ------
    InputError
        The file or its sheet cannot be read.
    """
    from heelstamp.media.decoding import read_sheet

    return read_sheet(read_file(path), path.name, sheet)


def columns_in(path: Path | None) -> tuple[str, str] | None:
    """Text and name of a column map; None where none was named."""
    from heelstamp.documents import decode_text

    return None if path is None else (decode_text(read_file(path), path.name), path.name)


def table_sent(data: bytes, name: str) -> Sheet:
    """Return a spreadsheet that was sent to the bench.

    Raises
    ------
    InputError
        Not a table, without a row, or too large to be read here.
    """
    from heelstamp.media.decoding import read_sheet

    if len(data) > SHEET_MAX:
        raise InputError(
            "the table is too large to be read here",
            where=name,
            received=f"more than {SHEET_MAX / 1e6:.0f} MB",
            remedy=f"At most {SHEET_MAX / 1e6:.0f} MB; cut it in two, or import it at the "
            "machine of the shop with the command line.",
        )
    sheet = read_sheet(data, name, most_rows=ROWS_MAX)
    if not sheet.rows:
        raise InputError(
            "the table has a head and no row", where=name, remedy="Write one row for each."
        )
    return sheet
