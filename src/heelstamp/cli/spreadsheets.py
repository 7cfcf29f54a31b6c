"""``spreadsheet``: look at a person's spreadsheet, take it in, and write the shop's tables."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit, heading, say, table
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.spreadsheet.reading import PassedOver
    from heelstamp.shop.spreadsheets import Told

spreadsheet_app = typer.Typer(
    name="spreadsheet",
    no_args_is_help=True,
    help="Spreadsheets as people have them, in and out: looked at first, taken all or nothing.",
)
What = Annotated[str, typer.Argument(metavar="KIND", help="sales, census or instruments.")]
File = Annotated[Path, typer.Argument(metavar="TABLE", help="A .csv or .xlsx table.")]
Of = Annotated[str, typer.Option("--of", help="Id of the chronology, for sales and census.")]
Columns = Annotated[
    Path | None, typer.Option(help="A column map (.toml) that says what the columns hold.")
]
Sheet = Annotated[str | None, typer.Option(help="Sheet of a workbook; the first without.")]
Encoding = Annotated[str, typer.Option(help="utf-8, utf-16 or windows-1252; told from the bytes.")]
HeadRow = Annotated[int, typer.Option("--names-in", min=0, help="Row that names the columns.")]
Mark = Annotated[str, typer.Option("--decimal-mark", help="A point or a comma.")]
Dates = Annotated[
    str, typer.Option("--dates", help="day first, month first, year first or days counted.")
]
Currency = Annotated[str, typer.Option(help="ISO 4217 code of sums without one.")]
SaleKind = Annotated[str, typer.Option("--kind", help="sold, asking or unsold, of all rows.")]
Holds = Annotated[
    list[str] | None,
    typer.Option("--holds", help="What a column of sales holds, Preis=price (repeatable)."),
]


@spreadsheet_app.command("look")
def look(
    what: What,
    file: File,
    of: Of = "",
    columns: Columns = None,
    sheet: Sheet = None,
    encoding: Encoding = "",
    head_row: HeadRow = 0,
    mark: Mark = "",
    dates: Dates = "",
    currency: Currency = "",
    kind: SaleKind = "",
    holds: Holds = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Show ten rows of a spreadsheet as they would be taken; nothing is kept.

    Example: heelstamp spreadsheet look sales examples/wherry-sales.csv --of sallowby-wherry
    --shop demo-shop
    """
    import msgspec

    from heelstamp.cli.output import error_value
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.spreadsheets import look_at

    told = _told(
        what, of, file, columns, sheet, (encoding, head_row, mark, dates, currency), kind, holds
    )
    with OpenShop(shop) as here:
        found = look_at(here, told)
    if as_json:
        emit(
            {
                "encoding": found.encoding,
                "reading": msgspec.to_builtins(found.understood.declared),
                "concluded": list(found.understood.concluded),
                "passed_over": msgspec.to_builtins(found.understood.passed),
                "columns": [
                    {"name": name, "holds": held, "first": first}
                    for name, held, first in found.columns
                ],
                "head": found.head,
                "rows": found.rows,
                "count": found.count,
                "refused": None if found.refused is None else error_value(found.refused),
            }
        )
        return Exit.DONE if found.refused is None else Exit.FINDINGS
    say(f"{found.count} rows" + (f", written in {found.encoding}." if found.encoding else "."))
    for one in found.understood.concluded:
        bullet(one)
    _say_passed(found.understood.passed)
    heading("Columns")
    rows = [
        (name or "(blank)", held or "says nothing", "; ".join(first))
        for name, held, first in found.columns
    ]
    table(rows, ("name", "holds", "first cells"))
    if found.rows:
        heading(f"The first {len(found.rows)} as they would be taken")
        table(found.rows, found.head)
    if found.refused is not None:
        heading("Not taken as it is")
        say(str(found.refused))
        for cell in getattr(found.refused, "cells", ())[:20]:
            bullet(str(cell))
        return Exit.FINDINGS
    return Exit.DONE


@spreadsheet_app.command("take")
def take(
    what: What,
    file: File,
    of: Of = "",
    columns: Columns = None,
    sheet: Sheet = None,
    encoding: Encoding = "",
    head_row: HeadRow = 0,
    mark: Mark = "",
    dates: Dates = "",
    currency: Currency = "",
    kind: SaleKind = "",
    holds: Holds = None,
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Take a spreadsheet in, all or nothing.

    Example: heelstamp spreadsheet take instruments stock.xlsx --shop shop
    """
    import msgspec

    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.spreadsheets import take_in

    told = _told(
        what, of, file, columns, sheet, (encoding, head_row, mark, dates, currency), kind, holds
    )
    with OpenShop(shop) as here:
        count, understood = take_in(here, told, by=by)
    if as_json:
        passed = msgspec.to_builtins(understood.passed)
        emit({"taken": count, "concluded": list(understood.concluded), "passed_over": passed})
        return Exit.DONE
    say(f"{count} rows were taken.")
    for one in understood.concluded:
        bullet(one)
    _say_passed(understood.passed)
    return Exit.DONE


@spreadsheet_app.command("write")
def write(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="instruments, sales, census, money or due.")
    ],
    out: Annotated[Path, typer.Argument(metavar="FILE", help="Where to, .csv or .xlsx.")],
    of: Of = "",
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Write one of the shop's tables; no cell of it is taken for a formula.

    Example: heelstamp spreadsheet write sales sales.xlsx --of sallowby-wherry --shop demo-shop
    """
    from heelstamp.shop import now
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.tables import write_table

    with OpenShop(shop) as here:
        count = write_table(here, name, of, out, now()[:10])
    if as_json:
        emit({"file": str(out), "rows": count})
    else:
        say(f"{count} rows written to {out}.")
    return Exit.DONE


def _say_passed(passed: tuple[PassedOver, ...]) -> None:
    if passed:
        heading("Rows that are no data")
    for one in passed:
        bullet(f"row {one.row}, {one.why}: {one.text}")


def _told(
    what: str,
    of: str,
    file: Path,
    columns: Path | None,
    sheet: str | None,
    written: tuple[str, int, str, str, str],
    sale_kind: str,
    holds: list[str] | None,
) -> Told:
    from heelstamp.shop.comparables import columns_in
    from heelstamp.shop.files import read_file
    from heelstamp.shop.spreadsheets import declared_as, told_of

    named = dict(one.rpartition("=")[::2] for one in holds or ())
    if any(not name for name in named):
        raise InputError(
            "a column and what it holds", where="--holds", remedy="Write it as Preis=price."
        )
    return told_of(
        what,
        of,
        read_file(file),
        file.name,
        declared=declared_as(*written),
        sheet=sheet,
        columns=columns_in(columns),
        holds=named or None,
        sale_kind=sale_kind,
    )
