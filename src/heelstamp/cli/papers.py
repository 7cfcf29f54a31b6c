"""``paper``: what each reader is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop, What
from heelstamp.cli.output import emit, say, table

if TYPE_CHECKING:
    from heelstamp.casework.papers.leaving import Leaving
    from heelstamp.units import LengthUnit

app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Issue a paper.")


@app.callback()
def _papers() -> None:
    """Issue a paper."""


@app.command()
def report(
    what: What,
    reader: Annotated[
        str, typer.Option("--for", help="consignor, buyer, insurer or shop.")
    ] = "consignor",
    out: Annotated[Path | None, typer.Option("--out", "-o", help="File to write.")] = None,
    preview: Annotated[
        bool, typer.Option("--preview", help="Write it as it would be issued; enter nothing.")
    ] = False,
    lengths: Annotated[str, typer.Option("--lengths", help="mm or in, of the setup.")] = "mm",
    review: Annotated[
        bool, typer.Option("--review", help="List the typed words that would leave; write nothing.")
    ] = False,
    by: By = EXAMINER,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Issue the examination report as PDF; of an examination file it is a preview.

    Example: heelstamp paper report H-0001 --for buyer -o report.pdf
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.dossier import next_id
    from heelstamp.casework.papers.document import READERS
    from heelstamp.errors import InputError
    from heelstamp.shop import now
    from heelstamp.shop.files import write_whole
    from heelstamp.shop.issuing import issue, issued_report
    from heelstamp.shop.opened import open_subject
    from heelstamp.shop.reports import review_of, typeset_report

    chosen = next((one for one in READERS if one == reader), None)
    if chosen is None:
        raise InputError(
            "no such reader", received=reader, remedy="Readers: " + ", ".join(READERS) + "."
        )
    unit = _unit(lengths)
    with open_subject(what, shop) as (opened, subject):
        if review:
            return _reviewed(review_of(subject, chosen), as_json=as_json)
        if opened is None or preview:
            pdf = typeset_report(subject, chosen, at=now(), lengths=unit)
        else:
            id_ = next_id(subject.state, "issue-")
            digest = issue(opened, what, chosen, id_=id_, by=by, lengths=unit)
            pdf = issued_report(opened, what, digest)
    path = out or Path(f"{Path(subject.name).stem}-report-{reader}.pdf")
    write_whole(path, pdf)
    if as_json:
        emit({"path": str(path), "bytes": len(pdf), "sha256": sha256(pdf), "reader": reader})
    else:
        say(f"Report for the {reader}: {path} ({len(pdf) / 1024:.0f} kB)")
        say(f"SHA-256 {sha256(pdf)}: keep it apart from the file.")
    return Exit.DONE


def _unit(lengths: str) -> LengthUnit:
    from heelstamp.errors import InputError
    from heelstamp.units import LENGTH_UNITS

    unit = next((one for one in LENGTH_UNITS if one == lengths), None)
    if unit is None:
        raise InputError(
            "no such unit of lengths", where="--lengths", received=lengths, remedy="mm or in."
        )
    return unit


def _add(name: str, help_: str) -> None:
    """Add the command of one of the shop's other papers."""

    @app.command(name, help=f"{help_}\n\nExample: heelstamp paper {name} H-0001 -o {name}.pdf")
    def issue_paper(
        what: What,
        out: Annotated[Path | None, typer.Option("--out", "-o", help="File to write.")] = None,
        preview: Annotated[
            bool, typer.Option("--preview", help="Write it as it would be issued; enter nothing.")
        ] = False,
        lengths: Annotated[str, typer.Option("--lengths", help="mm or in.")] = "mm",
        price: Annotated[
            list[str] | None, typer.Option("--price", help="Net at this price (agreement).")
        ] = None,
        single: Annotated[
            bool, typer.Option("--single", help="One label to a page, for a printer of labels.")
        ] = False,
        by: By = EXAMINER,
        shop: Shop = HERE,
        as_json: AsJson = False,
    ) -> int:
        from heelstamp.archive import sha256
        from heelstamp.casework.dossier import next_id
        from heelstamp.shop.files import write_whole
        from heelstamp.shop.forms import form_at, issue_form, typeset_form
        from heelstamp.shop.opened import OpenShop

        unit = _unit(lengths)
        prices = tuple(price or ())
        with OpenShop(shop) as opened:
            if preview:
                paper = form_at(opened, what, name, lengths=unit, prices=prices)
                pdf = typeset_form(opened, what, paper, single=single)
            else:
                id_ = next_id(opened.subject(what).state, "issue-")
                digest = issue_form(
                    opened, what, name, id_=id_, by=by, lengths=unit, prices=prices, single=single
                )
                pdf = opened.files.get(digest)
        path = out or Path(f"{what}-{name}.pdf")
        write_whole(path, pdf)
        if as_json:
            emit({"path": str(path), "bytes": len(pdf), "sha256": sha256(pdf), "paper": name})
        else:
            say(f"{help_.rstrip('.')}: {path} ({len(pdf) / 1024:.0f} kB)")
            say(f"SHA-256 {sha256(pdf)}")
        return Exit.DONE


for _name, _help in (
    ("receipt", "Receipt for who handed it over, signed by both."),
    ("permission", "Permission sheet: what the owner allows, act by act."),
    ("agreement", "Consignment agreement from the terms, with the net at three prices."),
    ("insurance", "Schedule for the insurer, with value, owner and full number."),
    ("work", "Treatment and setup sheet."),
    ("screws", "Screw sheet, by opening and number."),
    ("labels", "Labels with codes: a sheet, or one to a page."),
    ("invoice", "Invoice for the buyer: price agreed, what was paid, what is left."),
    ("money", "Receipt for the buyer's money, with the day on which funds cleared."),
    ("refund", "Refund slip: what was given back, what stays."),
    ("settlement", "Settlement for the consignor of a sale that is final, to the cent."),
):
    _add(_name, _help)


def _reviewed(found: Sequence[Leaving], *, as_json: bool) -> int:
    """Print the words that would leave, and what in them may tell more than is meant."""
    if as_json:
        emit([asdict(one) for one in found])
        return Exit.DONE
    rows = [
        (
            one.entry,
            one.field,
            one.text,
            "; ".join(f"{mark.kind}: {mark.found}" for mark in one.marks),
        )
        for one in found
    ]
    table(rows, ("entry", "field", "words that leave", "look at"))
    return Exit.DONE
