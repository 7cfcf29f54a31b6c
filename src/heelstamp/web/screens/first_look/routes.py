"""First look: tap the drawing, or a part's name, and say what is seen. One tap is one entry."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.doubtful_number import doubt_entries
from heelstamp.casework.looking import look_entries
from heelstamp.shop import now
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.first_look.forms import DoubtfulCharacter, Seen
from heelstamp.web.screens.first_look.view import look_view

router = APIRouter()
SCREEN = "first-look"


@router.get("/dossier/{tag}/first-look", response_class=HTMLResponse)
def first_look(here: AtBench, part: Annotated[str, Query(max_length=40)] = "") -> HTMLResponse:
    """Show the drawing, the parts, and the questions of *part*."""
    view = look_view(here.subject, part, here.hand)
    return here.page("first_look/first_look.html", SCREEN, **view)


@router.post("/dossier/{tag}/seen")
def seen(here: AtBench, told: Annotated[Seen, Form()]) -> Response:
    """Enter what was seen of a part; an answer that stands is corrected, and both stay."""
    here.enter(look_entries(here.state, told.look, base=told.seen_at, at=now()))
    return here.back(SCREEN, part=told.shown or told.part)


@router.post("/dossier/{tag}/character")
def doubtful_character(here: AtBench, told: Annotated[DoubtfulCharacter, Form()]) -> Response:
    """Enter that a character of the serial number could be another, or that none could."""
    here.enter(doubt_entries(here.state, told.stamp("c"), **told.told()))
    return here.back(SCREEN, part=told.part)
