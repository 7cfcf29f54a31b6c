"""Findings: when it was completed, what each mark says by itself, and what the parts come to.

Any observation, or all of a part, can be set aside to see the answer without it.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import HTMLResponse

from heelstamp.casework.weighing import turned
from heelstamp.report.change_over import change_over_alt, change_over_svg
from heelstamp.shop.findings import change_overs_seen, doubts_told
from heelstamp.web.at_bench import AtBench
from heelstamp.web.rendering import drawn, page
from heelstamp.web.screens.findings.view import findings_view

router = APIRouter()
SCREEN = "findings"
Ids = Annotated[list[str], Query(max_length=400)]


@router.get("/dossier/{tag}/findings", response_class=HTMLResponse)
def findings(
    here: AtBench,
    aside: Ids = [],  # noqa: B006 - copied for each request
    turn: Ids = [],  # noqa: B006
) -> HTMLResponse:
    """Show date and parts as they stand now, or without the observations set aside.

    Parameters
    ----------
    aside, turn
        Ids of observations set aside so far, and of those to turn over, with spaces between.
    """
    view = findings_view(here.shop, here.tag, turned(aside, " ".join(turn).split()))
    return page(here.request, "findings/findings.html", tag=here.tag, screen=SCREEN, **view)


@router.get("/dossier/{tag}/findings/doubts", response_class=HTMLResponse)
def doubts(here: AtBench) -> HTMLResponse:
    """Show what does not fit and what the answer hangs on."""
    doubted = doubts_told(here.shop, here.tag)
    return here.page("findings/doubts_page.html", SCREEN, doubted=doubted)


@router.get("/dossier/{tag}/findings/curves", response_class=HTMLResponse)
def curves(here: AtBench) -> HTMLResponse:
    """Show the change-over of each feature that was seen, with the census beside it."""
    views = change_overs_seen(here.shop, here.tag)
    drawings = [(one, drawn(change_over_svg(one)), change_over_alt(one)) for one in views]
    return here.page("findings/curves.html", SCREEN, curves=drawings)
