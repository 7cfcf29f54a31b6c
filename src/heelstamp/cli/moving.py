"""``move``: a shop goes to a database that several machines reach, and comes back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, say
from heelstamp.errors import InputError


def move(
    to: Annotated[
        str,
        typer.Option(
            "--to", help="Address of an empty PostgreSQL database; the shop's folder to go back."
        ),
    ] = "",
    files: Annotated[
        str,
        typer.Option(
            "--files",
            help="Object store for photographs, recordings and papers, as s3://bucket/prefix; the "
            "shop's folder to go back.",
        ),
    ] = "",
    endpoint: Annotated[
        str, typer.Option(help="With --files: the store's server, as https://objects.example.")
    ] = "",
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Move the shop's database or its files; what arrived is compared before it counts.

    Rows are compared with --to, digests with --files. Stop the bench before, and start it after.
    Exit 1 where a file that the database names is not whole.

    Example: heelstamp move --to postgresql://heelstamp@db.example/heelstamp --shop shop
    """
    if not (to or files) or (endpoint and not files):
        raise InputError(
            "nothing to move was named",
            where="move",
            remedy="Give --to for the database, --files for the files, or both.",
        )
    codes = [_move_database(shop, to, as_json=as_json)] if to else []
    if files:
        codes.append(_move_files(shop, files, endpoint, as_json=as_json))
    return max(codes)


def _move_files(shop: Path, to: str, endpoint: str, *, as_json: bool) -> int:
    from heelstamp.shop.file_store import move_files
    from heelstamp.wording.sentences import counted

    moved = move_files(shop, to, endpoint)
    if as_json:
        emit(
            {
                "files_in": moved.place,
                "files": moved.count,
                "bytes": moved.size,
                "lacking": list(moved.lacking),
            }
        )
    else:
        say(
            f"The shop's files are in {moved.place} now: {counted(moved.count, 'file')}, "
            f"{moved.size / 1e6:.1f} MB, each read there and compared by its digest."
        )
        say("Those that were left stay; remove them when all is well.")
        for one in moved.lacking:
            bullet(f"file {one}")
    return Exit.FINDINGS if moved.lacking else Exit.DONE


def _move_database(shop: Path, to: str, *, as_json: bool) -> int:
    from heelstamp.shop.moving import move_shop
    from heelstamp.wording.sentences import counted

    moved = move_shop(shop, to)
    if as_json:
        emit(
            {
                "database": moved.place,
                "ledger": moved.content.ledger,
                "dossiers": {tag: one.digest for tag, one in moved.content.dossiers.items()},
                "files": len(moved.content.files),
                "rows": dict(moved.rows),
                "left": moved.left,
                "lacking": list(moved.lacking),
            }
        )
    else:
        say(
            f"The shop is in {moved.place} now: {counted(len(moved.content.dossiers), 'dossier')}, "
            f"{counted(moved.rows['entry'], 'entry', 'entries')}, "
            f"{counted(moved.rows['account'], 'account')}, compared row by row."
        )
        say(f"What was in {moved.left} stays, and no longer counts; remove it when all is well.")
        for one in moved.lacking:
            bullet(f"file {one}")
    return Exit.FINDINGS if moved.lacking else Exit.DONE
