"""Screws: one picture, tap each screw; count out = count in.

The picture is a button of the form (``input type="image"``), which sends the place that was tapped
by itself: no script is needed. It is drawn at a fixed size, so that a share of it is a place.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.screws import change_entries, out_entries, tray_of, trays
from heelstamp.errors import InputError
from heelstamp.shop.odd_parts import enter_odd, odd_parts
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.screws.forms import Back, LikeOf, OddSaid, Out
from heelstamp.web.screens.screws.view import DRAWN, WIDE, screws_view, stand_in

router = APIRouter()
SCREEN = "screws"


@router.get("/dossier/{tag}/screws", response_class=HTMLResponse)
def screws(
    here: AtBench,
    opening: Annotated[str, Query(max_length=40)] = "",
    frame: Annotated[str, Query(max_length=64)] = "",
) -> HTMLResponse:
    """Show the picture of an opening with its screws."""
    return here.page(
        "screws/screws.html",
        SCREEN,
        **screws_view(here.subject, opening, frame),
        sets=odd_parts(here.shop, here.tag),
    )


@router.post("/dossier/{tag}/odd-ones")
def odd_ones(here: AtBench, told: Annotated[OddSaid, Form()]) -> Response:
    """Enter of a set whether it holds an odd one."""
    enter_odd(here.shop, here.tag, told.stamp("o"), told.set, by=here.hand)
    return here.back(SCREEN)


@router.get("/dossier/{tag}/screws/drawing/{opening}")
def drawing(here: AtBench, opening: str) -> Response:
    """Send the drawing that stands in for a photograph of an opening."""
    if opening not in DRAWN:
        raise InputError("no such opening", received=opening, remedy="See Screws.")
    return Response(stand_in(here.subject, opening)[0], media_type="image/svg+xml")


@router.post("/dossier/{tag}/screws")
def out(here: AtBench, told: Annotated[Out, Form()]) -> Response:
    """Enter a screw at the place that was tapped."""
    subject = here.subject
    tray = tray_of(trays(subject.state, subject.tree, subject.chronology), told.opening)
    like, typed = told.like(here.lengths)
    x, y = told.x / WIDE, told.y / told.tall
    here.enter(
        out_entries(
            subject.state, told.stamp("v"), tray, frame=told.frame, x=x, y=y, like=like, typed=typed
        )
    )
    return here.back(SCREEN, opening=told.opening, frame=told.frame)


@router.post("/dossier/{tag}/screw")
def back(here: AtBench, told: Annotated[Back, Form()]) -> Response:
    """Put a screw back into its own hole, or take it out again."""
    state = here.state
    reason = "back in its own hole" if told.back_in else "taken out again"
    here.enter(change_entries(state, told.stamp("c"), told.screw, {"back": told.back_in}, reason))
    return here.back(SCREEN, opening=state.screws[told.screw].opening, frame=told.frame)


@router.post("/dossier/{tag}/screw-is")
def like(here: AtBench, told: Annotated[LikeOf, Form()]) -> Response:
    """Say what a screw is like."""
    state = here.state
    found, typed = told.like(here.lengths)
    changes = {key: one or None for key, one in found.items()}
    changes["start"] = None if told.start == "not tried" else told.start
    reason = "; ".join(one for one in ("looked at closely", typed) if one)
    here.enter(change_entries(state, told.stamp("c"), told.screw, changes, reason))
    return here.back(SCREEN, opening=state.screws[told.screw].opening, frame=told.frame)
