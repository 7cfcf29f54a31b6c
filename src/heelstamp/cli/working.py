"""``work``: do what the servers of a shop leave to workers."""

from __future__ import annotations

from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, Shop
from heelstamp.cli.output import say


def work(
    shop: Shop = HERE,
    lane: Annotated[
        list[str] | None,
        typer.Option(help="Take this alone: pairs, census, tables or demonstration (repeatable)."),
    ] = None,
    at_once: Annotated[
        int, typer.Option(min=1, max=64, help="Pieces of work at a time; a pair takes 1 GB.")
    ] = 1,
    until_idle: Annotated[
        bool, typer.Option("--until-idle", help="End when nothing is left to do.")
    ] = False,
) -> int:
    """Take the work of a shop on PostgreSQL that has workers (workers = true in shop.toml).

    Runs until it is stopped; what is at work is finished first.

    Example: heelstamp work --shop shop --lane pairs
    """
    import asyncio

    from heelstamp.errors import InputError
    from heelstamp.shop.jobs import LANES
    from heelstamp.shop.working import work_until_stopped

    unknown = [one for one in lane or () if one not in LANES]
    if unknown:
        raise InputError(
            "no such lane", received=unknown[0], remedy=f"Use {', '.join(sorted(LANES))}."
        )
    say("Takes work (stop it with Ctrl-C).")
    asyncio.run(work_until_stopped(shop, lanes=lane or (), at_once=at_once, wait=not until_idle))
    return Exit.DONE
