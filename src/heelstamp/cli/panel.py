"""``panel``: the weekly photograph of one panel under the lamp, and whether the lamp drifted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit

if TYPE_CHECKING:
    from heelstamp.casework.panel import PanelLog


def panel(
    tag: Annotated[str, typer.Argument(help="Tag of the dossier that holds the panel.")],
    frame: Annotated[str, typer.Argument(help="Frame with slot=panel and light=UV-A.")],
    box: Annotated[
        str, typer.Option("--box", help="The panel in the frame: x0,y0,x1,y1,REFLECTANCE.")
    ],
    grey: Annotated[
        list[str] | None,
        typer.Option("--grey", help="Grey standard that does not glow: x0,y0,x1,y1,REFLECTANCE."),
    ] = None,
    settings: Annotated[
        str | None, typer.Option("--settings", help="Camera settings, when the file has none.")
    ] = None,
    shop: Shop = HERE,
    by: By = EXAMINER,
    as_json: AsJson = False,
) -> int:
    """Measure this week's photograph of the panel, enter it, and say whether the lamp drifted.

    Example: heelstamp panel H-0001 F7 --box 900,600,1500,1000,0.5 --grey 40,40,120,120,0.18
    """
    from heelstamp.casework.finish import read_numbers
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.panel import enter_panel

    with OpenShop(shop) as opened:
        log = enter_panel(
            opened,
            tag,
            frame,
            read_numbers(box, "x0,y0,x1,y1,REFLECTANCE", "--box"),
            [read_numbers(one, "x0,y0,x1,y1,REFLECTANCE", "--grey") for one in grey or []],
            settings=settings,
            by=by,
        )
    return show_panel(log, as_json=as_json)


def show_panel(log: PanelLog, *, as_json: bool) -> int:
    """Print the series of the panel; exit 1 when the lamp drifted, 3 when nothing compares."""
    if as_json:
        emit(log.data())
    else:
        for sentence in log.sentences:
            bullet(sentence)
    exits = {"steady": Exit.DONE, "drifted": Exit.FINDINGS}
    return exits.get(log.days[-1].drift.state.value, Exit.UNDECIDED)
