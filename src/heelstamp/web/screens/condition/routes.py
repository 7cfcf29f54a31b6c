"""Condition: where it is not whole, what changed since, and six grades.

The picture is a button of the form, as on Screws: a tap sends the place by itself.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.condition.entering import (
    difference_entries,
    grade_entries,
    looked_entries,
    place_entries,
)
from heelstamp.shop import change_watch
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.condition.forms import Difference, Letter, Looked, Place
from heelstamp.web.screens.condition.view import WIDE, compared_view, condition_view

router = APIRouter()
SCREEN = "condition"


@router.get("/dossier/{tag}/condition", response_class=HTMLResponse)
def condition(
    here: AtBench,
    face: Annotated[str, Query(max_length=20)] = "",
    visit: Annotated[str, Query(max_length=20)] = "",
    frame: Annotated[str, Query(max_length=64)] = "",
    *,
    photographs: bool = False,
) -> HTMLResponse:
    """Show a face with its places, the visits compared, and the grades.

    Photographs of one slot take seconds to compare, so the page comes before them.
    """
    told = condition_view(here.subject, face, visit, frame, hand=here.hand)
    ready = photographs or change_watch.watch_ready(here.shop, here.tag)
    seen = change_watch.watch(here.shop, here.tag) if ready else ()
    told |= compared_view(here.subject, seen) | {
        "to_compare": not ready,
        "asked": {"face": told["face"], "visit": told["visit"], "photographs": 1},
    }
    return here.page("condition/condition.html", SCREEN, **told)


@router.post("/dossier/{tag}/condition")
def place(here: AtBench, told: Annotated[Place, Form()]) -> Response:
    """Enter a place that is not whole."""
    here.enter(place_entries(told.stamp("d"), told.told(WIDE), size=told.size, unit=here.lengths))
    return here.back(SCREEN, face=told.face, visit=told.visit, frame=told.frame)


@router.post("/dossier/{tag}/condition/looked")
def looked(here: AtBench, told: Annotated[Looked, Form()]) -> Response:
    """Enter that a face was looked over whole."""
    here.enter(looked_entries(told.stamp("l"), face=told.face, visit=told.visit))
    return here.back(SCREEN, face=told.face, visit=told.visit, frame=told.frame)


@router.post("/dossier/{tag}/condition/difference")
def difference(here: AtBench, told: Annotated[Difference, Form()]) -> Response:
    """Enter that what differs in two photographs is nothing that came or went."""
    here.enter(
        difference_entries(
            told.stamp("v"), before=told.before, after=told.after, it_is=told.it_is, note=told.note
        )
    )
    return here.back(SCREEN, photographs="1")


@router.post("/dossier/{tag}/condition/grade")
def letter(here: AtBench, told: Annotated[Letter, Form()]) -> Response:
    """Enter one person's letter for one aspect."""
    here.enter(
        grade_entries(told.stamp("g"), aspect=told.aspect, grade=told.grade, reason=told.reason)
    )
    return here.back(SCREEN, face=told.face, visit=told.visit)
