"""``paper``: what each reader is told."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop, What
from heelstamp.cli.output import emit, say

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
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Write the examination report as PDF.

    Example: heelstamp paper report H-0001 --for buyer -o report.pdf
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.papers.document import READERS
    from heelstamp.errors import InputError
    from heelstamp.shop import now
    from heelstamp.shop.files import write_whole
    from heelstamp.shop.opened import open_subject
    from heelstamp.shop.reports import typeset_report

    if reader not in READERS:
        raise InputError(
            "no such reader", received=reader, remedy="Readers: " + ", ".join(READERS) + "."
        )
    with open_subject(what, shop) as (_, subject):
        pdf = typeset_report(subject, reader, at=now())
    path = out or Path(f"{Path(subject.name).stem}-report-{reader}.pdf")
    write_whole(path, pdf)
    if as_json:
        emit({"path": str(path), "bytes": len(pdf), "sha256": sha256(pdf), "reader": reader})
    else:
        say(f"Report for the {reader}: {path} ({len(pdf) / 1024:.0f} kB)")
        say(f"SHA-256 {sha256(pdf)}: keep it apart from the file.")
    return Exit.DONE
