"""Spreadsheets as people have them, taken into the shop: looked at first, then all or nothing.

What is declared beats the column map's own ``[reading]``, which beats what the cells allow.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Literal, get_args

from heelstamp.errors import HeelstampError, InputError
from heelstamp.shop.comparables import ROWS_MAX, SHEET_MAX

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.comparables import Comparable
    from heelstamp.casework.appraisal.sales_table import SalesMap
    from heelstamp.casework.census.columns import ColumnMap
    from heelstamp.casework.spreadsheet.reading import Declared, RoleOf, Understood
    from heelstamp.shop.jobs import Job, Progress
    from heelstamp.shop.opened import OpenShop

Kind = Literal["sales", "census", "instruments"]
HOLD_S = 5.0
"""Seconds that a table waits for its turn to be held."""
LONGEST_CALLED = 40
"""Characters of a file's name that ids of its rows begin with."""
SHOWN = 10
"""Rows that a look shows."""


@dataclass(frozen=True)
class Told:
    """A spreadsheet as it was sent, and what was said of it.

    Attributes
    ----------
    kind, of
        What its rows are; the chronology they are of, where they are of one.
    declared
        How it is written, as far as a person said.
    columns
        Text and name of a column map.
    holds
        What columns hold, by their names, where a person said so (sales alone).
    """

    kind: Kind
    of: str
    data: bytes
    name: str
    declared: Declared
    sheet: str | None = None
    columns: tuple[str, str] | None = None
    holds: Mapping[str, str] | None = None
    sale_kind: str = ""


@dataclass(frozen=True)
class Look:
    """What a spreadsheet says as it is read.

    Attributes
    ----------
    encoding
        Of CSV, as read.
    columns
        Name of each column, what it holds (blank where its name says nothing), and its first cells.
    head, rows
        The first rows as they would be taken.
    count
        How many rows there are.
    refused
        Why it would not be taken as it is; ``cells`` of a `TableError` are all the places.
    """

    understood: Understood
    encoding: str
    columns: tuple[tuple[str, str, tuple[str, ...]], ...]
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    count: int
    refused: HeelstampError | None


def look_at(shop: OpenShop, told: Told) -> Look:
    """Read a spreadsheet and show what it says; nothing is kept.

    Raises
    ------
    InputError
        It cannot be read at all, or could be read in two ways; names the cell.
    """
    mapped, role = _map(shop, told)
    understood, encoding = _understood(told, mapped, role)
    columns = tuple(
        (name, _holds(shop, told, mapped, name), _first(understood, at))
        for at, name in enumerate(understood.sheet.columns)
    )
    head: tuple[str, ...] = ()
    rows: Sequence[tuple[str, ...]] = ()
    refused: HeelstampError | None = None
    try:
        head, rows = _shown(_made(shop, told, mapped, understood), told.kind)
    except HeelstampError as error:
        refused = error
    return Look(
        understood,
        encoding,
        columns,
        head,
        tuple(rows[:SHOWN]),
        len(understood.sheet.rows),
        refused,
    )


def take_in(shop: OpenShop, told: Told, *, by: str) -> tuple[int, Understood]:
    """Take a spreadsheet in, all or nothing: how many rows were taken, and how it was understood.

    Raises
    ------
    TableError
        Cells cannot be used; it holds all of them.
    InputError
        As `look_at` does.
    """
    from heelstamp.shop.census import add_table
    from heelstamp.shop.comparables import keep_sales
    from heelstamp.shop.new_dossier import open_dossier

    mapped, role = _map(shop, told)
    understood, _ = _understood(told, mapped, role)
    if told.kind == "census":
        added = add_table(shop, told.of, understood.sheet, told.columns)
        return len(added.ids), understood
    made = _made(shop, told, mapped, understood)
    if told.kind == "sales":
        keep_sales(shop, shop.chronology(told.of).id, made)
    else:
        for body in made:
            open_dossier(shop, body, by=by)
    return len(made), understood


def _map(shop: OpenShop, told: Told) -> tuple[SalesMap | ColumnMap | None, RoleOf]:
    from heelstamp.casework.appraisal.sales_table import read_sales_map, sales_role
    from heelstamp.casework.census.columns import census_role, read_columns
    from heelstamp.casework.spreadsheet.instruments import instruments_role

    if told.kind == "sales":
        sales = None if told.columns is None else read_sales_map(*told.columns)
        return sales, sales_role(sales)
    if told.kind == "census":
        edition = shop.chronology(told.of)
        census = None if told.columns is None else read_columns(*told.columns, edition)
        return census, census_role(census, edition)
    return None, instruments_role


def _understood(
    told: Told, mapped: SalesMap | ColumnMap | None, role: RoleOf
) -> tuple[Understood, str]:
    from heelstamp.casework.spreadsheet.reading import Declared, understand
    from heelstamp.media.decoding import read_rows
    from heelstamp.media.spreadsheets import encoding_of

    if len(told.data) > SHEET_MAX:
        raise InputError(
            "the table is too large to be read here",
            where=told.name,
            received=f"more than {SHEET_MAX / 1e6:.0f} MB",
            remedy=f"At most {SHEET_MAX / 1e6:.0f} MB; cut it in two.",
        )
    usual = Declared() if mapped is None else mapped.reading
    said = {
        field: getattr(told.declared, field) or getattr(usual, field)
        for field in Declared.__struct_fields__
    }
    currency = getattr(mapped, "currency", "")
    declared = Declared(**said | {"currency": said["currency"] or currency})
    encoding = declared.encoding or encoding_of(told.data, told.name)
    raw = read_rows(told.data, told.name, told.sheet, most_rows=ROWS_MAX, encoding=encoding)
    if told.holds:
        role = _role_held(told.holds, role)
    return understand(raw, declared, role), encoding


def _role_held(holds: Mapping[str, str], role: RoleOf) -> RoleOf:
    from heelstamp.casework.appraisal.sales_table import SALES_SCHEMA, SalesMap, sales_role

    columns = [_column(name, held) for name, held in holds.items()]
    own = sales_role(SalesMap(schema=SALES_SCHEMA, column=columns))
    return lambda name: own(name) if name in holds else role(name)


def _column(name: str, held: str) -> Any:
    from heelstamp.casework.appraisal.sales_table import SalesColumn
    from heelstamp.catalogue.conversion import convert

    aspect = held.removeprefix("aspect: ") if held.startswith("aspect: ") else ""
    currency = held.removeprefix("price in ") if held.startswith("price in ") else ""
    bare = "aspect" if aspect else "price" if currency else held
    row = {"name": name, "holds": bare, "aspect": aspect, "currency": currency}
    return convert(row, SalesColumn)


def _made(
    shop: OpenShop, told: Told, mapped: SalesMap | ColumnMap | None, understood: Understood
) -> list[Any]:
    from heelstamp.casework.appraisal.sales_table import (
        SALES_SCHEMA,
        SalesMap,
        comparables_from,
        held_by_name,
        sales_map_by_name,
    )
    from heelstamp.casework.census.columns import ColumnMap
    from heelstamp.casework.census.intake import rows_from_sheet
    from heelstamp.casework.spreadsheet.instruments import instruments_from
    from heelstamp.reference.tables import mark_context
    from heelstamp.shop.comparables import sales_of
    from heelstamp.shop.new_dossier import known_chronologies

    sheet = understood.sheet
    if not sheet.rows:
        raise InputError("the table has a head and no row", where=told.name)
    if told.kind == "census":
        edition = shop.chronology(told.of)
        census = mapped if isinstance(mapped, ColumnMap) else None
        return list(rows_from_sheet(sheet, census, edition, mark_context()))
    if told.kind == "sales":
        import msgspec

        columns = mapped if isinstance(mapped, SalesMap) else None
        if columns is None and told.holds:
            held = [
                _column(name, told.holds[name])
                if name in told.holds
                else held_by_name(name) or _column(name, "ignore")
                for name in sheet.columns
            ]
            columns = SalesMap(schema=SALES_SCHEMA, column=held)
        columns = columns or sales_map_by_name(sheet.columns)
        said = {"currency": columns.currency or understood.declared.currency}
        said["kind"] = told.sale_kind or columns.kind
        columns = msgspec.structs.replace(columns, **said)
        return comparables_from(
            sheet,
            columns,
            known=sales_of(shop, shop.chronology(told.of).id),
            called=told.name.rsplit(".", 1)[0][:LONGEST_CALLED],
        )
    known, _ = known_chronologies(shop)
    by_name = {(one.maker.casefold(), one.model.casefold()): one.id for one in known}
    return instruments_from(sheet, by_name, lambda tag: shop.journals.head(tag) is not None)


def _holds(shop: OpenShop, told: Told, mapped: SalesMap | ColumnMap | None, name: str) -> str:
    from heelstamp.casework.census.columns import census_role
    from heelstamp.casework.spreadsheet.instruments import NAMES

    held = "" if told.holds is None else told.holds.get(name, "")
    if held:
        return held
    if mapped is not None:
        found: Any = next((one for one in mapped.column if one.name == name), None)
        return "" if found is None else str(getattr(found, "holds", None) or found.kind)
    if told.kind == "census":
        return name if census_role(None, shop.chronology(told.of))(name) else ""
    if told.kind == "instruments":
        return NAMES.get(name.strip().casefold(), "")
    return _holds_by_name(name)


def _holds_by_name(name: str) -> str:
    from heelstamp.casework.appraisal.sales_table import held_by_name

    held = held_by_name(name)
    if held is None:
        return ""
    if held.holds == "aspect":
        return f"aspect: {held.aspect}"
    return f"price in {held.currency}" if held.currency else held.holds


def _fact(seen: Mapping[str, Any]) -> str:
    said = next((seen[one] for one in ("text", "variant", "outcome") if seen.get(one)), "")
    return f"{seen.get('part')}: {said or seen.get('status')}"


def _first(understood: Understood, at: int) -> tuple[str, ...]:
    cells = (row[at].text for _, row in understood.sheet.rows if at < len(row))
    return tuple(dict.fromkeys(one for one in cells if one))[:3]


def _shown(rows: list[Any], kind: Kind) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    from heelstamp.casework.appraisal.entering import sale_row

    if kind == "sales":
        sales: list[Comparable] = rows
        return (
            ("id", "month", "kind", "price", "made", "condition", "finish", "neck", "source"),
            [
                (
                    one.id,
                    one.month,
                    held.kind,
                    one.price,
                    one.made,
                    one.grade,
                    one.finish,
                    one.neck,
                    one.source,
                )
                for held, one in ((row, sale_row(row)) for row in sales)
            ],
        )
    if kind == "census":
        return (
            ("id", "how dated", "facts"),
            [
                (one.id, one.how_dated, "; ".join(_fact(seen) for seen in one.observations)[:200])
                for one in rows
            ],
        )
    fields = ("tag", "kind", "maker", "model", "chronology", "claimed")
    return fields, [tuple(str(row.get(one, "")) for one in fields) for row in rows]


def declared_as(
    encoding: str, head_row: int, decimal_mark: str, date_order: str, currency: str
) -> Declared:
    """Hold what a person declares to its words.

    Raises
    ------
    InputError
        A word that says nothing; names the field.
    """
    from heelstamp.casework.spreadsheet.reading import Declared
    from heelstamp.catalogue.conversion import convert

    return convert(
        {
            "encoding": encoding,
            "head_row": head_row,
            "decimal_mark": decimal_mark,
            "date_order": date_order,
            "currency": currency,
        },
        Declared,
    )


def told_of(kind: str, of: str, data: bytes, name: str, **said: Any) -> Told:
    """Hold what was sent to a kind of table, and to its chronology.

    Raises
    ------
    InputError
        No such kind, or a kind of one chronology without it.
    """
    kinds = get_args(Kind)
    if kind not in kinds:
        raise InputError(
            "no such kind of table", received=kind, remedy="Use " + ", ".join(kinds) + "."
        )
    if kind in ("sales", "census") and not of:
        raise InputError(
            f"a table of {kind} does not say which chronology it is of",
            where=name,
            remedy="Give its id.",
        )
    return Told(kind=kind, of=of, data=data, name=name, **said)  # type: ignore[arg-type]


def _held(
    data: bytes, name: str, mapped: tuple[str, str] | None, _told: Progress
) -> tuple[bytes, str, tuple[str, str] | None]:
    return data, name, mapped


def hold_table(shop: OpenShop, told: Told, columns: tuple[bytes, str] | None) -> Job:
    """Hold what was sent until it is looked at and taken, or newer ones need the room."""
    from heelstamp.archive import sha256
    from heelstamp.documents import decode_text

    mapped = None if columns is None else (decode_text(*columns), columns[1])
    ground = (told.name, sha256(told.data), mapped)
    job = shop.jobs.start(
        "tables",
        "table",
        told.kind,
        partial(_held, told.data, told.name, mapped),
        on=(sha256(told.data),),
        rests_on=ground,
    )
    return shop.jobs.wait(job, HOLD_S)
