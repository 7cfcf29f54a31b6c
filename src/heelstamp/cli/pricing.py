"""``price``, ``sales``, ``clearance``: three numbers apart, their ground, what may be listed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop, What
from heelstamp.cli.output import bullet, emit, heading, say, table
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.finding import PriceFinding
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.subjects import Subject

sales_app = typer.Typer(
    name="sales", no_args_is_help=True, help="Keep the shop's comparables: sold and asking apart."
)
Columns = Annotated[
    Path | None, typer.Option(help="A column map (.toml) that says what the columns hold.")
]
Sheet = Annotated[str | None, typer.Option(help="Sheet of a workbook; the first without.")]
DRIVERS = 8


def price(
    what: What,
    comparables: Annotated[
        Path | None,
        typer.Option(help="A table of sales (.csv, .xlsx) instead of those the shop keeps."),
    ] = None,
    columns: Columns = None,
    sheet: Sheet = None,
    as_of: Annotated[
        str | None,
        typer.Option("--as-of", help="Month of the estimate, 2026-11; this one without."),
    ] = None,
    grade: Annotated[str | None, typer.Option(help="Condition, A (best) to E.")] = None,
    colour: Annotated[str | None, typer.Option(help="standard or rare.")] = None,
    case: Annotated[
        bool | None, typer.Option("--case/--no-case", help="Whether it has a case.")
    ] = None,
    sold: Annotated[str | None, typer.Option(help="Price it was sold at, for the net.")] = None,
    offer: Annotated[str | None, typer.Option(help="Price that was offered, for the net.")] = None,
    terms: Annotated[
        Path | None, typer.Option(help="Terms of consignment (.toml); the shop's own without.")
    ] = None,
    statement: Annotated[
        Path | None, typer.Option(help="Write the consignor's one page here (.pdf or .txt).")
    ] = None,
    nominal: Annotated[
        bool, typer.Option("--nominal", help="Leave inflation in the prices.")
    ] = False,
    out: Annotated[Path | None, typer.Option(help="Folder for the pictures (.svg).")] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Price an instrument: market, insured and net, three numbers that never stand for each other.

    Example: heelstamp price examples/wherry-s10350.toml --comparables examples/wherry-sales.csv
    --as-of 2026-11 --grade B
    """
    import msgspec

    from heelstamp.shop.comparables import read_sales
    from heelstamp.shop.prices import Asked
    from heelstamp.shop.prices import price as price_subject
    from heelstamp.shop.statements import statement as statement_of
    from heelstamp.shop.statements import write_statement
    from heelstamp.shop.terms import terms_for

    asked = Asked(
        as_of=as_of,
        grade=grade,
        colour=colour,
        case=case,
        sold=sold,
        offer=offer,
        terms=terms,
        nominal=nominal,
    )
    rows = None if comparables is None else read_sales(comparables, columns, sheet)
    page = None
    with _opened(what, shop) as (here, subject):
        finding = price_subject(here, subject, asked, rows)
        if statement is not None:
            page = statement_of(subject, terms_for(here, subject.name, terms), finding)
            write_statement(page, statement, demonstration=subject.chronology.invented)
    drawn = [] if out is None else _draw(finding, out, what)
    if as_json:
        pictures = [str(one) for one in drawn]
        told = msgspec.to_builtins({"pictures": pictures, "statement": page})
        emit({**msgspec.to_builtins(finding), **told})
        return Exit.DONE
    print_price(finding)
    for one in drawn:
        bullet(f"picture: {one}")
    return Exit.DONE


@contextmanager
def _opened(what: str, folder: Path) -> Iterator[tuple[OpenShop | None, Subject]]:
    """Open the shop in *folder*, None where there is none, and load what the command is about."""
    from heelstamp.shop import is_shop
    from heelstamp.shop.opened import OpenShop, load_subject
    from heelstamp.shop.subjects import ENDINGS

    if not is_shop(folder):
        yield None, load_subject(what, folder)
        return
    with OpenShop(folder) as shop:
        file = Path(what).suffix.lower() in ENDINGS
        yield shop, load_subject(what, folder) if file else shop.subject(what)


def print_price(finding: PriceFinding) -> None:
    """Print the three numbers, what moves the price, what is open, and the cautions."""
    for sentence in finding.sentences:
        say(sentence)
    if finding.settlement is not None:
        heading("To the consignor")
        lines = finding.settlement.lines
        table([(name, sum_, basis) for name, basis, sum_ in lines], ("line", "sum", "how"))
    if finding.schedule:
        heading("Asking prices, down to the floor")
        say("; ".join(f"from {day} {sum_}" for day, sum_ in finding.schedule) + ".")
    heading("What moves this price")
    rows = [
        (
            one.label,
            f"{one.amount:.2f}",
            f"{one.money:+,.0f}",
            f"{100 * one.effect:+.1f} ({100 * one.low:+.1f} to {100 * one.high:+.1f})",
            "" if one.prior is None else f"{100 * one.prior[0]:+.1f} ± {100 * one.prior[1]:.1f}",
        )
        for one in finding.drivers[:DRIVERS]
    ]
    currency = finding.market.currency
    table(rows, ("what", "how much", currency, "log % here (90 %)", "one, before any sale"))
    say("What was believed before any sale rests on common practice unless --json says otherwise.")
    heading("Cautions")
    for caution in finding.cautions:
        bullet(caution)
    say()
    say(f"Price {finding.digest}, on {finding.comparables_used} comparables")


def import_sales(
    what: Annotated[Path, typer.Argument(metavar="TABLE", help="A .csv or .xlsx table of sales.")],
    chronology: Annotated[str, typer.Option("--as", help="Id of the chronology they are of.")],
    columns: Columns = None,
    sheet: Sheet = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Add sales and asking prices to the shop's comparables, all or none.

    Example: heelstamp sales import examples/wherry-sales.csv --as sallowby-wherry --shop demo-shop
    """
    from heelstamp.shop.comparables import add_sales, columns_in, table_in
    from heelstamp.shop.opened import OpenShop
    from heelstamp.wording import about_price as about

    with OpenShop(shop) as here:
        market = here.chronology(chronology).id
        added = add_sales(here, market, table_in(what, sheet), columns_in(columns))
    sold, unsold = (sum(one.kind == kind for one in added.rows) for kind in ("sold", "unsold"))
    asking = len(added.rows) - sold - unsold
    if as_json:
        emit(
            {
                "market": added.market,
                "added": [one.id for one in added.rows],
                "sold": sold,
                "asking": asking,
                "unsold": unsold,
                "total": added.total,
                "possible_repeats": [list(pair) for pair in added.repeats],
            }
        )
        return Exit.DONE
    told = about.sales_added.say(
        count=len(added.rows),
        market=added.market,
        sold=sold,
        asking=asking,
        unsold=unsold,
        total=added.total,
    )
    say(told)
    for one, other in added.repeats:
        bullet(about.repeat.say(one=one, other=other))
    return Exit.DONE


def list_sales(
    chronology: Annotated[str, typer.Argument(metavar="ID", help="Id of the chronology.")],
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """List the shop's comparables of one chronology.

    Example: heelstamp sales list sallowby-wherry --shop demo-shop
    """
    import msgspec

    from heelstamp.casework.appraisal.entering import sale_row
    from heelstamp.shop.comparables import sales_of
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        rows = sales_of(here, here.chronology(chronology).id)
    if as_json:
        emit(msgspec.to_builtins(rows))
        return Exit.DONE
    told = []
    for one in rows:
        row = sale_row(one)
        told.append(
            (row.id, row.month, one.kind, row.price, row.made, row.grade, row.finish, row.source)
        )
    table(told, ("id", "month", "kind", "price", "made", "grade", "finish", "source"))
    return Exit.DONE


def correct_sale(
    what: Annotated[str, typer.Argument(metavar="SALE", help="Id of the comparable.")],
    chronology: Annotated[str, typer.Option("--as", help="Id of the chronology it is of.")],
    reason: Annotated[str, typer.Option(help="What was wrong.")],
    put: Annotated[
        list[str] | None,
        typer.Option("--set", help="A column and what it should say, price=9100 (repeatable)."),
    ] = None,
    withdraw: Annotated[bool, typer.Option("--withdraw", help="Take it away.")] = False,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Correct a comparable, or take it away; what it said before is kept.

    Example: heelstamp sales correct 7 --as sallowby-wherry --set price=9100 --reason "misread"
    """
    from uuid import uuid4

    import msgspec

    from heelstamp.casework.appraisal.entering import sale_fields
    from heelstamp.shop.comparables import correct_sale as correct
    from heelstamp.shop.opened import OpenShop
    from heelstamp.wording import about_price as about

    told = dict(one.partition("=")[::2] for one in put or ())
    if withdraw == bool(told):
        raise InputError(
            "say what it should be, or that it is withdrawn",
            where=what,
            remedy="Use --set COLUMN=VALUE, or --withdraw.",
        )
    with OpenShop(shop) as here:
        market, stamp = here.chronology(chronology).id, f"fix-{uuid4().hex[:12]}"
        said = None if withdraw else told
        stands = correct(here, market, what, said, reason=reason, stamp=stamp)
    if as_json:
        emit({"id": what, "stands": None if stands is None else msgspec.to_builtins(stands)})
        return Exit.DONE
    if stands is None:
        say(about.sale_withdrawn.say(id_=what, reason=reason))
        return Exit.DONE
    say(about.sale_corrected.say(id_=what, reason=reason))
    table([one for one in sale_fields(stands).items() if one[1]], ("column", "says now"))
    return Exit.DONE


sales_app.command("import")(import_sales)
sales_app.command("list")(list_sales)
sales_app.command("correct")(correct_sale)


def clearance(
    what: What,
    to: Annotated[
        list[str] | None, typer.Option("--to", help="Where it may go: EU, US, JP (repeatable).")
    ] = None,
    searched: Annotated[
        str | None, typer.Option(help="Record a search of this list, with --result.")
    ] = None,
    result: Annotated[
        str, typer.Option(help="What the search found; a hit in its own words.")
    ] = "no hit on that day",
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Tell what stands against advertising an instrument: title, near numbers, materials, routes.

    Example: heelstamp clearance H-0001 --shop demo-shop --to EU
    """
    import msgspec

    from heelstamp.casework.dossier import next_id
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop import now
    from heelstamp.shop.clearance import clear, enter_cleared

    with _opened(what, shop) as (here, subject):
        if searched is not None:
            if here is None:
                raise InputError(
                    "a search is entered into a dossier",
                    received=what,
                    remedy="Give its tag, and the shop's folder with --shop.",
                )
            stamp = EntryStamp(next_id(subject.state, "search-"), "", now())
            enter_cleared(here, what, stamp, matter="search", about=searched, decided=result, by=by)
        now_standing = subject if searched is None or here is None else here.subject(what)
        found = clear(here, now_standing, to or [])
    if as_json:
        emit(msgspec.to_builtins(found))
    else:
        say(found.sentences[0])
        for sentence in found.sentences[1:]:
            bullet(sentence)
    standing = {"clear": Exit.DONE, "blocked": Exit.FINDINGS}
    return standing.get(found.standing, Exit.UNDECIDED)


def _draw(finding: PriceFinding, folder: Path, what: str) -> list[Path]:
    from heelstamp.report.price_pictures import distribution_svg, drivers_svg, index_svg
    from heelstamp.shop.files import write_whole

    folder.mkdir(parents=True, exist_ok=True)
    made = {
        "distribution.svg": distribution_svg(finding, title=f"{Path(what).stem}: market price"),
        "drivers.svg": drivers_svg(finding, title=f"{Path(what).stem}: what moves the price"),
        "market-index.svg": index_svg(finding, title="The shop's own comparables, first month 100"),
    }
    for name, drawn in made.items():
        write_whole(folder / name, drawn.encode("utf-8"))
    return [folder / name for name in made]
