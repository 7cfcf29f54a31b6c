"""``federation``: what several shops' censuses teach together, exchanged as files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, say, table

if TYPE_CHECKING:
    from heelstamp.casework.federation.joined import Joined

federation_app = typer.Typer(
    name="federation",
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Learn change-overs together with other shops: tables by file, no instruments.",
)
Id = Annotated[str, typer.Argument(metavar="ID", help="Id of the chronology.")]


@federation_app.command()
def know(
    key: Annotated[
        str, typer.Argument(help="Its fingerprint, told by another way than its files.")
    ],
    name: Annotated[str, typer.Option(help="What the shop is called here.")],
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Enter the key of another shop, so that its tables may be taken.

    The other shop tells the 64 digits with heelstamp key show, by telephone or on paper.

    Example: heelstamp federation know KEY --name "the shop by the lock" --shop shop
    """
    from heelstamp.shop.known_shops import know as know_key
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        entered = know_key(here, key, name)
    if as_json:
        emit({"key": entered, "name": name})
    else:
        say(f"{name} is known by its key {entered[:16]}….")
    return Exit.DONE


@federation_app.command()
def forget(
    whom: Annotated[str, typer.Argument(help="What it is called here, or 8 digits of its key.")],
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """No longer know a shop: its tables are joined no more, and leave nothing in what is joined.

    Example: heelstamp federation forget "the shop by the lock" --shop shop
    """
    from heelstamp.shop.known_shops import forget as forget_key
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        name = forget_key(here, whom)
    if as_json:
        emit({"name": name})
    else:
        say(f"{name} is no longer known here. Join again: editions that stand are not changed.")
    return Exit.DONE


@federation_app.command()
def shops(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """List the shops that are known here, and which tables of theirs there are.

    Example: heelstamp federation shops --shop demo-shop
    """
    from heelstamp.shop.federation import makers_taken, taken
    from heelstamp.shop.known_shops import known_shops
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        known = known_shops(here)
        kept = [one for id_ in makers_taken(here) for one in taken(here, id_)]
    told: list[dict[str, Any]] = [
        {
            "name": name,
            "key": key,
            "tables": [
                {
                    "chronology": one.tables.chronology,
                    "number": one.tables.number,
                    "day": one.tables.day,
                    "change_overs": len(one.tables.tables),
                    "gathered": one.tables.gathered,
                    "dated_by": list(one.tables.dated_by),
                    "joins": one.joins,
                }
                for one in kept
                if one.key == key
            ],
        }
        for key, name in known.items()
    ]
    if as_json:
        emit(told)
        return Exit.DONE
    if not told:
        say("No other shop is known here: heelstamp federation know KEY --name NAME.")
        return Exit.DONE
    rows = []
    for one in told:
        for held in one["tables"] or [None]:
            what = (
                ("nothing taken", "", "", "")
                if held is None
                else (
                    f"{held['chronology']}, {held['number']}",
                    held["day"],
                    held["gathered"],
                    "yes" if held["joins"] else "no",
                )
            )
            rows.append((one["name"], one["key"][:16], *what))
    table(rows, ("shop", "key", "tables", "made", "from", "joined"))
    return Exit.DONE


@federation_app.command()
def give(
    id_: Id,
    gathered: Annotated[
        str,
        typer.Option(
            "--gathered",
            help="How instruments came into the census: 'all that came in', 'only what was sold' "
            "or 'one variant collected'.",
        ),
    ],
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="File to hand out; ends in .json.")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Make signed tables of the census to hand to other shops, by mail or by hand.

    At least 20 instruments stand behind each table and behind its difference to every earlier one;
    under 50, dates are blurred first. What can be guessed from tables: docs/methods/federation.md.

    Example: heelstamp federation give sallowby-wherry --gathered "all that came in" --shop shop
    """
    from heelstamp.casework.federation.summary import gathered_named
    from heelstamp.shop.federation import give as give_tables
    from heelstamp.shop.files import write_whole
    from heelstamp.shop.opened import OpenShop
    from heelstamp.wording import about_federation as about

    how = gathered_named(gathered)
    with OpenShop(shop) as here:
        gave = give_tables(here, id_, gathered=how)
    made = gave.made
    path = out or Path(f"{id_}-tables-{made.tables.number}.json")
    write_whole(path, gave.data)
    blurred = sum(one.blurred for one in made.tables.tables)
    if as_json:
        emit(
            {
                "path": str(path),
                "number": made.tables.number,
                "digest": made.tables.digest,
                "change_overs": [one.feature for one in made.tables.tables],
                "blurred": [one.feature for one in made.tables.tables if one.blurred],
                "withheld": dict(made.withheld),
                "bytes": len(gave.data),
            }
        )
        return Exit.DONE
    told = about.tables_given.say(
        number=made.tables.number, chronology=id_, features=len(made.tables.tables), blurred=blurred
    )
    say(told)
    if made.withheld:
        say(about.tables_withheld.say(groups=made.withheld))
    say(about.months_can_be_guessed.say())
    say(f"Written to {path} ({len(gave.data) / 1000:.0f} kB).")
    return Exit.DONE


@federation_app.command()
def take(
    files: Annotated[list[Path], typer.Argument(help="Files of other shops.")],
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Take tables of other shops; each is taken whole or refused, and says why.

    Example: heelstamp federation take from-the-lock.json --shop shop
    """
    from heelstamp.errors import HeelstampError
    from heelstamp.shop.federation import Taken
    from heelstamp.shop.federation import take as take_tables
    from heelstamp.shop.files import read_file
    from heelstamp.shop.opened import OpenShop
    from heelstamp.wording import about_federation as about

    done: list[Taken] = []
    refused: list[HeelstampError] = []
    with OpenShop(shop) as here:
        for path in files:
            try:
                done.append(take_tables(here, read_file(path), path.name))
            except HeelstampError as error:
                refused.append(error)
    if as_json:
        emit(
            {
                "taken": [
                    {"shop": one.name, "key": one.key, "number": one.tables.number} for one in done
                ],
                "refused": [str(one) for one in refused],
            }
        )
    else:
        for one in done:
            told = about.tables_taken.say(
                shop=one.name,
                number=one.tables.number,
                chronology=one.tables.chronology,
                features=len(one.tables.tables),
                gathered=one.tables.gathered,
            )
            say(told)
        for why in refused:
            say(f"Not taken: {why}")
    return Exit.MISUSE if refused else Exit.DONE


@federation_app.command()
def join(
    id_: Id,
    without: Annotated[
        list[str] | None, typer.Option("--without", help="A shop that is left out; repeat it.")
    ] = None,
    edition: Annotated[
        str | None, typer.Option(help="Name of the new edition; the day without it.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Write the edition to this .toml instead of the shop."),
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Learn change-overs from this shop's census and the tables of others, as a new edition.

    Exit 1 where the tables of a shop do not fit all others: it is asked about, and stays in.

    Example: heelstamp federation join sallowby-wherry --out joined.toml --shop shop
    """
    from heelstamp.shop.joined_tables import join as join_tables
    from heelstamp.shop.makers import write_edition
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        joined = join_tables(here, id_, edition or "", without=without or ())
        written = write_edition(here, id_, joined.new.document, out)
    if as_json:
        emit(_joined_data(joined, written))
    else:
        _print_joined(joined, written)
    return Exit.FINDINGS if joined.asked else Exit.DONE


def _joined_data(joined: Joined, written: Path) -> dict[str, Any]:
    from heelstamp.cli.census import learned_data

    return learned_data(joined.new, None, written) | {
        "way": joined.way,
        "shops": [
            {
                "key": one.key,
                "name": one.name,
                "change_overs": len(one.tables),
                "log_bayes_factors": None
                if fit is None
                else {"shift": round(fit.shift, 2), "any_curve": round(fit.any_curve, 2)},
                "asked_about": fit is not None and fit.is_asked,
            }
            for one, fit in zip(joined.shops, joined.fits, strict=True)
        ],
    }


def _print_joined(joined: Joined, written: Path) -> None:
    from heelstamp.cli.census import print_changes
    from heelstamp.wording import about_federation as about

    say(
        about.tables_joined.say(
            others=joined.others,
            own=joined.others < len(joined.shops),
            shifted=joined.way == "shifted",
        )
    )
    rows = [
        (one.name, one.key[:16], str(len(one.tables)), "" if fit is None else f"{fit.most:.1f}")
        for one, fit in zip(joined.shops, joined.fits, strict=True)
    ]
    table(rows, ("shop", "key", "change-overs", "log Bayes factor against the others"))
    if joined.asked:
        bullet(about.shops_asked.say(shops=[one.name for one in joined.asked]))
    if joined.selected:
        bullet(about.one_variant_collected.say(shops=[one.name for one in joined.selected]))
    say()
    print_changes(joined.new)
    say(f"Edition {joined.new.chronology.edition} written to {written}")
