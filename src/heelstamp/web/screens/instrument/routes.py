"""The instrument's own page: where it stands, what is known of it, what is next."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from heelstamp.shop import now
from heelstamp.shop.due import AHEAD_DAYS, due_at
from heelstamp.web.at_bench import AtBench
from heelstamp.web.rendering import sees_sums
from heelstamp.web.screens.instrument.view import is_known, known_lines, standing

router = APIRouter()
MOST_DUE = 5
"""Dates of the calendar that the page shows."""


@router.get("/dossier/{tag}", response_class=HTMLResponse)
def instrument(here: AtBench, whole: bool = False) -> HTMLResponse:
    """Show where it stands at once; what has to be worked out first follows in its place."""
    shop, tag, sums = here.shop, here.tag, sees_sums(here.request)
    rows = due_at(shop, tag, now()[:10]) if sums else []
    return here.page(
        "instrument/instrument.html",
        "instrument",
        now=standing(shop, tag, sums=sums),
        calendar=[one for one in rows if -one.late <= AHEAD_DAYS][:MOST_DUE],
        known=known_lines(shop, tag, sums=sums) if whole or is_known(shop, tag) else None,
    )
