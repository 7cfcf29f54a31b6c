"""Condition: where it is not whole, what changed since, and six grades.

The picture is a button of the form, as on Screws: a tap sends the place by itself.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.condition.entering import grade_entries, looked_entries, place_entries
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.condition.forms import Letter, Looked, Place
from heelstamp.web.screens.condition.view import WIDE, condition_view

router = APIRouter()
SCREEN = "condition"


@router.get("/dossier/{tag}/condition", response_class=HTMLResponse)
def condition(
    here: AtBench,
    face: Annotated[str, Query(max_length=20)] = "",
    visit: Annotated[str, Query(max_length=20)] = "",
    frame: Annotated[str, Query(max_length=64)] = "",
) -> HTMLResponse:
    """Show a face with its places, the visits compared, and the grades."""
    told = condition_view(here.subject, face, visit, frame, hand=here.hand)
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


@router.post("/dossier/{tag}/condition/grade")
def letter(here: AtBench, told: Annotated[Letter, Form()]) -> Response:
    """Enter one person's letter for one aspect."""
    here.enter(
        grade_entries(told.stamp("g"), aspect=told.aspect, grade=told.grade, reason=told.reason)
    )
    return here.back(SCREEN, face=told.face, visit=told.visit)
