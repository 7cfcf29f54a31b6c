"""Next look: the next layer, with its gain, its risk and the owner's word; or stop, and why."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from heelstamp.shop import planning
from heelstamp.web.at_bench import AtBench

router = APIRouter()


@router.get("/dossier/{tag}/next-look", response_class=HTMLResponse)
def next_look(here: AtBench, whole: bool = False) -> HTMLResponse:
    """Show the front of inspections; it takes a second to work out, so the page comes before it."""
    ready = whole or planning.next_look_ready(here.shop, here.tag)
    plan = planning.next_look(here.shop, here.tag) if ready else None
    return here.page("next_look/next_look.html", "next-look", plan=plan)
