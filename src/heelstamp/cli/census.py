"""``chronology import``, ``chronology learn`` and ``redate``: what the shop's own past teaches."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, heading, say, table

if TYPE_CHECKING:
    from heelstamp.casework.census.held import Held
    from heelstamp.casework.census.learn import NewEdition
    from heelstamp.casework.census.redating import Redated
    from heelstamp.shop.redating import Progress

TABLES = (".csv", ".xlsx")
WORDS_SHOWN = 12


def census_commands(chronology: typer.Typer) -> None:
    """Put ``import`` and ``learn`` among the commands of ``chronology``."""
    chronology.command("import")(import_rows)
    chronology.command("learn")(learn)


def import_rows(
    what: Annotated[
        str, typer.Argument(help="A .csv or .xlsx table, or the tag of a closed dossier.")
    ],
    chronology: Annotated[
        str | None, typer.Option("--as", help="Id of the chronology; a dossier names its own.")
    ] = None,
    columns: Annotated[
        Path | None, typer.Option(help="A column map (.toml) that says what the columns hold.")
    ] = None,
    sheet: Annotated[
        str | None, typer.Option(help="Sheet of a workbook; the first without.")
    ] = None,
    while_open: Annotated[
        bool, typer.Option("--open", help="Add a dossier although the instrument is still here.")
    ] = False,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Add instruments to the census that change-overs are learned from.

    Example: heelstamp chronology import examples/wherry-census.csv --as sallowby-wherry
    --columns examples/wherry-census-columns.toml --shop shop
    """
    from heelstamp.errors import InputError
    from heelstamp.shop.census import add_dossier, add_table
    from heelstamp.shop.comparables import columns_in, table_in
    from heelstamp.shop.opened import OpenShop

    path = Path(what)
    table_named = path.suffix.lower() in TABLES
    if table_named and chronology is None:
        raise InputError(
            "a table does not say which chronology it is for",
            where=what,
            remedy="Give its id with --as.",
        )
    with OpenShop(shop) as here:
        if chronology is not None and table_named:
            added = add_table(here, chronology, table_in(path, sheet), columns_in(columns))
        else:
            added = add_dossier(here, what, while_open=while_open)
    if as_json:
        emit(
            {
                "chronology": added.chronology,
                "added": list(added.ids),
                "teaching": added.teaching,
                "total": added.total,
            }
        )
    else:
        from heelstamp.wording.about_census import census_added

        told = census_added.say(
            count=len(added.ids),
            chronology=added.chronology,
            total=added.total,
            teaching=added.teaching,
        )
        say(told)
    return Exit.DONE


def learn(
    id_: Annotated[str, typer.Argument(metavar="ID", help="Id of the chronology.")],
    edition: Annotated[
        str | None, typer.Option(help="Name of the new edition; the day without it.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="Write the edition to this .toml instead of the shop.")
    ] = None,
    least: Annotated[
        int | None, typer.Option(min=1, help="Looks below which a feature keeps what it had.")
    ] = None,
    serial: Annotated[
        bool, typer.Option("--serial", help="Learn the serial curve and its scatter too.")
    ] = False,
    calibration: Annotated[
        Path | None,
        typer.Option(help="Also test the shop's past ranges, and draw the diagram (.svg) here."),
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Learn change-overs from the census and write a new edition of the chronology.

    Example: heelstamp chronology learn sallowby-wherry --shop demo-shop --out learned.toml
    """
    from heelstamp.shop.learning import held
    from heelstamp.shop.learning import learn as learn_census
    from heelstamp.shop.makers import write_edition
    from heelstamp.shop.opened import OpenShop

    past = None
    with OpenShop(shop) as here:
        new = learn_census(here, id_, edition or "", serial=serial, least=least)
        if calibration is not None:
            past = held(here, id_)
            _draw(past, id_, calibration)
        written = write_edition(here, id_, new.document, out)
    if as_json:
        emit(learned_data(new, past, written))
    else:
        _print_learned(new, written)
        if past is not None:
            _print_held(past, calibration)
    return Exit.DONE


def redate(
    chronology: Annotated[
        str | None,
        typer.Option(help="Id of a chronology, or file of a new edition; all in use without it."),
    ] = None,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep the new conclusions of census rows.")
    ] = False,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Date the census and all dossiers again, and tell which conclusions move, and how far.

    Example: heelstamp redate --chronology sallowby-wherry --shop demo-shop
    """
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.redating import chronologies_in_use
    from heelstamp.shop.redating import redate as redate_all
    from heelstamp.shop.subjects import ENDINGS, chronology_for

    new = None
    if chronology is not None and chronology.lower().endswith(ENDINGS):
        new = chronology_for(chronology, shop)
        chronology = new.id
    results: dict[str, Redated] = {}
    with OpenShop(shop) as here:
        for id_ in chronologies_in_use(here) if chronology is None else (chronology,):
            with _progress(shown=not as_json) as progress:
                results[id_] = redate_all(here, id_, new=new, keep=keep, progress=progress)
    if as_json:
        told = {id_: result.data() for id_, result in results.items()}
        emit({"kept": keep, "chronologies": told})
    else:
        for id_, result in results.items():
            _print_redated(id_, result)
        if not results:
            say("No dossier and no census row in this shop.")
        say("The new conclusions are kept." if keep else "Nothing was written; --keep keeps them.")
    return Exit.FINDINGS if any(one.moved for one in results.values()) else Exit.DONE


@contextmanager
def _progress(*, shown: bool) -> Iterator[Progress | None]:
    """Return a function that moves a bar on the error stream, where that is a terminal."""
    if not shown:
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = ("dating again", BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)

        def told(done: int, total: int) -> None:
            bar.update(task, completed=done, total=total)

        yield told


def _month(value: float) -> str:
    from heelstamp.units import name_month

    return name_month(round(value))


def learned_data(new: NewEdition, past: Held | None, written: Path) -> dict[str, Any]:
    """What was learned, for programs."""
    from heelstamp.units import format_month

    def iso(value: float) -> str:
        return format_month(round(value))

    return {
        "chronology": new.chronology.id,
        "edition": new.chronology.edition,
        "digest": new.chronology.digest,
        "file": str(written),
        "taught": new.taught,
        "never_teach": new.silent,
        "changes": [
            {
                "feature": one.feature,
                "name": one.name,
                "looks": one.looks,
                "old": {"centre": iso(one.old_centre), "width": round(one.old_width, 2)},
                "new": {
                    "centre": iso(one.centre),
                    "centre_sd": round(one.centre_sd, 2),
                    "centre_90": [iso(end) for end in one.centre_90],
                    "width": round(one.width, 2),
                },
            }
            for one in new.changes
        ],
        "kept_as_they_were": dict(new.kept),
        "serials": {
            prefix: {"knots": len(one.numbers), "scatter_months": round(one.scatter, 2)}
            for prefix, one in new.serials.items()
        },
        "calibration": None if past is None else _held_data(past),
    }


def _held_data(past: Held) -> dict[str, Any]:
    return {
        "instruments": past.count,
        "width_90_months": past.width,
        "width_90_with_marks_months": past.width_with_marks,
        "levels": [
            {"level": one.level, "held": one.held, "interval_90": [one.low, one.high]}
            for one in past.levels
        ],
    }


def _print_learned(new: NewEdition, written: Path) -> None:
    from heelstamp.wording import about_census as about

    say(about.census_taught.say(taught=new.taught, silent=new.silent))
    print_changes(new)
    for prefix, one in new.serials.items():
        told = about.serials_learned.say(
            prefix=prefix, points=len(one.numbers), count=one.count, scatter=one.scatter
        )
        say(told)
    if new.kept:
        say(about.left_as_they_were.say(looks=new.kept))
    say(f"Edition {new.chronology.edition} written to {written}")


def print_changes(new: NewEdition) -> None:
    """Print what moved."""
    rows = [
        (
            one.feature,
            one.name,
            str(one.looks),
            f"{_month(one.old_centre)}, {one.old_width:.1f}",
            f"{_month(one.centre)} ± {one.centre_sd:.1f}, {one.width:.1f}",
            f"{_month(one.centre_90[0])} to {_month(one.centre_90[1])}",
        )
        for one in new.changes
    ]
    table(rows, ("id", "change-over", "looks", "before", "now, width in months", "90 %"))


def _print_held(past: Held, picture: Path | None) -> None:
    from heelstamp.wording import about_census as about

    heading("The shop's own past")
    for level in (0.5, 0.9):
        one = past.level(level)
        told = about.ranges_held.say(
            count=past.count, level=level, held=one.held, low=one.low, high=one.high
        )
        bullet(told)
    bullet(about.ranges_wide.say(without=past.width, with_marks=past.width_with_marks))
    say(f"Diagram: {picture}")


def _draw(past: Held, id_: str, path: Path) -> None:
    from heelstamp.report.reliability import ReliabilityPoint, reliability_svg
    from heelstamp.shop.files import write_whole

    points = [
        ReliabilityPoint(one.level, one.held, one.low, one.high, past.count) for one in past.levels
    ]
    drawn = reliability_svg(
        points,
        title=f"{id_}: ranges made without marks",
        across="what the range was to hold",
        upwards="what it held of the date with marks",
    )
    write_whole(path, drawn.encode("utf-8"))


def _print_redated(id_: str, result: Redated) -> None:
    from heelstamp.casework.census.redating import step_names
    from heelstamp.wording import about_census as about

    told = about.dated_again.say(
        chronology=id_, count=result.count, moved=result.moved, first=result.first
    )
    say(told)
    if not result.moved:
        return
    rows = [
        (name, str(result.median[name]), str(result.ends[name]))
        for name in step_names()
        if result.median[name] or result.ends[name]
    ]
    table(rows, ("months moved", "median", "further end of the 90 % range"))
    if result.withheld or result.given:
        say(about.dates_turned.say(withheld=result.withheld, given=result.given))
    if result.words:
        heading("Words that turned")
        words = [
            (part.replace("_", " "), before, after, str(count))
            for (part, before, after), count in result.words_turned[:WORDS_SHOWN]
        ]
        table(words, ("part", "before", "now", "instruments"))
        if len(result.words) > WORDS_SHOWN:
            say(f"and {len(result.words) - WORDS_SHOWN} more kinds; --json gives all.")
    heading("Moved furthest")
    for one in result.worst:
        moved = about.conclusion_moved.say(
            id_=one.id,
            median=one.median,
            ends=one.ends,
            turned=[(part.replace("_", " "), *words) for part, words in sorted(one.turned.items())],
            date=one.withheld,
        )
        bullet(moved)
    say()
