"""Return check: weigh it, take the six fixed shots, say of each whether it is the same."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.photographs import details_of
from heelstamp.casework.return_check import (
    CAME,
    PREFIX,
    VERDICTS,
    departed,
    shot_named,
    shots,
    verdict_entries,
    weight_finding,
)
from heelstamp.catalogue.custody import possible_events
from heelstamp.shop.photographs import keep_photograph, photo_plan
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.return_check.forms import Shot, Verdict

router = APIRouter()
SCREEN = "return-check"


@router.get("/dossier/{tag}/return-check", response_class=HTMLResponse)
def return_check(here: AtBench) -> HTMLResponse:
    """Show weights and shots of departure and return side by side."""
    state = here.state
    return here.page(
        "return_check/return_check.html",
        SCREEN,
        weight=weight_finding(state),
        shots=shots(state, photo_plan()),
        verdicts=VERDICTS,
        departed=departed(state),
        coming=[one for one in possible_events(state.custody_state) if one in CAME],
    )


@router.post("/dossier/{tag}/return-check/shot")
def shot(here: AtBench, told: Annotated[Shot, Form()]) -> Response:
    """Keep a shot of the return; it stays with the shop like the one it is held against."""
    before = shot_named(shots(here.state, photo_plan()), told.slot).before
    details = details_of(
        photo_plan(),
        told.stamp("f"),
        name=told.photo.filename or "",
        slot=f"{PREFIX}{told.slot}",
        part=before.part if before and before.part else "",
        light=before.light if before else "visible",
        private=True,
        note="",
    )
    keep_photograph(here.shop, here.tag, told.photo.file.read(), details, by=here.hand)
    return here.back(SCREEN)


@router.post("/dossier/{tag}/return-check/verdict")
def verdict(here: AtBench, told: Annotated[Verdict, Form()]) -> Response:
    """Enter what a person says of a shot."""
    one = shot_named(shots(here.state, photo_plan()), told.slot)
    here.enter(verdict_entries(here.state, told.stamp("r"), one, told.verdict, told.reason))
    return here.back(SCREEN)
