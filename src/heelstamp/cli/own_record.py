"""``own-record``: what became known later, and how often what the shop had said turned out so."""

from __future__ import annotations

from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import emit, heading, say, table

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Hold what the shop had said against what became known later.",
)


@app.command()
def add(
    tag: Annotated[str, typer.Argument(help="Tag of the dossier, as H-0001.")],
    about: Annotated[str, typer.Argument(help="date, or a part, as part:neck.")],
    source: Annotated[str, typer.Option(help="From where it is known.")],
    original: Annotated[
        bool | None,
        typer.Option("--original/--not-original", help="Of a part: whether it was fitted first."),
    ] = None,
    first: Annotated[
        str, typer.Option("--from", help="Of the date: first month it can have been, 1965-03.")
    ] = "",
    last: Annotated[str, typer.Option("--to", help="Last month; the same where left out.")] = "",
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Enter what became known of a part or the date, beside what had been said of it.

    What had been said is that of the last paper issued, else what is said now.

    Example: heelstamp own-record add H-0001 part:neck --original --source "a bill of 1965"
    """
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.own_record import later_known
    from heelstamp.units import Period

    months = Period.parse([first, last or first], where="--from") if first else None
    with OpenShop(shop) as opened:
        entry = later_known(opened, tag, about, source=source, original=original, months=months)
        opened.enter(tag, [entry], by=by)
    if as_json:
        emit(dict(entry.body))
    else:
        stated = entry.body.get("stated")
        had = f"probability {stated:.2f}" if stated is not None else "its ranges"
        say(f"Entered {entry.body['id']}: {about}, of which {had} had been said.")
    return Exit.DONE


@app.command()
def show(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Show how often what was said turned out so.

    Example: heelstamp own-record show --shop shop
    """
    import msgspec

    from heelstamp.casework.papers.own_record_section import own_record_section
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.own_record import record_of

    with OpenShop(shop) as opened:
        found = record_of(opened)
    if as_json:
        emit(msgspec.to_builtins(found))
        return Exit.DONE
    section = own_record_section(found)
    heading("What was said, and what became known later")
    for one in section.statements:
        say(one.text)
    if section.rows:
        table(
            [(row.words, row.stated, row.turned_out) for row in section.rows],
            ("said", "given", "fitted first, or held"),
        )
    return Exit.DONE
