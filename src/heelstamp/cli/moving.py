"""``move``: a shop goes to a database that several machines reach, and comes back."""

from __future__ import annotations

from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, say


def move(
    to: Annotated[
        str,
        typer.Option(
            "--to", help="Address of an empty PostgreSQL database; the shop's folder to go back."
        ),
    ],
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Move the shop's database; what arrived is compared row by row before it counts.

    Photographs and other files stay in the folder. Stop the bench before, and start it after. Exit
    1 where a file that the database names is not whole.

    Example: heelstamp move --to postgresql://heelstamp@db.example/heelstamp --shop shop
    """
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
