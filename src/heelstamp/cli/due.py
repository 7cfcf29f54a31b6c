"""``due``: what is due in the shop, today and ahead, and as a calendar file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import emit, say, table


def due(
    day: Annotated[str, typer.Option("--day", help="Day, 2026-11-02; today without.")] = "",
    ahead: Annotated[int, typer.Option(min=0, max=3650, help="Days to look ahead.")] = 30,
    ics: Annotated[
        Path | None, typer.Option("--ics", help="Write all of it as a calendar file (.ics).")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Tell what is due in the shop and why, the latest first; exit 1 when something is late.

    Example: heelstamp due --ics due.ics --shop demo-shop
    """
    import msgspec

    from heelstamp.casework.calendar_file import calendar_text
    from heelstamp.shop import now
    from heelstamp.shop.due import due_in
    from heelstamp.shop.files import write_whole
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.sale import day_of

    today = day_of(day or now()[:10], "--day").isoformat()
    with OpenShop(shop) as here:
        found = due_in(here, today)
        if ics is not None:
            text = calendar_text(found, at=now(), name=here.name)
            write_whole(ics, text.encode("utf-8"))
    near = [one for one in found if -one.late <= ahead]
    late = any(one.late > 0 for one in near)
    if as_json:
        emit(msgspec.to_builtins(near))
        return Exit.FINDINGS if late else Exit.DONE
    if not near:
        say(f"Nothing is due within {ahead} days of {today}.")
        return Exit.DONE
    rows = [(one.day, _when(one.late), one.tag or "the shop", one.kind, one.told) for one in near]
    table(rows, ("day", "when", "of", "what", "why"))
    return Exit.FINDINGS if late else Exit.DONE


def _when(late: int) -> str:
    if late > 0:
        return f"{late} d late"
    return "today" if late == 0 else f"in {-late} d"
