"""Marks: the photograph beside its readings, *illegible* as easy as a reading, a blind second."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.first_look import OTHERWISE
from heelstamp.casework.mark_reading import (
    choose_entries,
    mark_views,
    read_entries,
    second_entries,
    waiting,
)
from heelstamp.reference.tables import mark_context
from heelstamp.shop.photographs import photo_plan
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.marks.forms import Reading, SecondReading, Weighing

router = APIRouter()
SCREEN = "marks"


@router.get("/dossier/{tag}/marks", response_class=HTMLResponse)
def marks(here: AtBench) -> HTMLResponse:
    """Show every mark that this hand may see, and photographs that wait to be read."""
    state, tree, chronology = here.state, here.tree, here.subject.chronology
    return here.page(
        "marks/marks.html",
        SCREEN,
        otherwise=OTHERWISE,
        marks=mark_views(state, tree, chronology, mark_context(), here.hand),
        waiting=waiting(state, tree, photo_plan()),
    )


@router.post("/dossier/{tag}/mark")
def read(here: AtBench, told: Annotated[Reading, Form()]) -> Response:
    """Enter what a mark says, or that it says nothing."""
    fields = told.fields("base")
    here.enter(read_entries(here.state, told.stamp("o"), base=told.seen_at, **fields))
    return here.back(SCREEN)


@router.post("/dossier/{tag}/readings")
def readings(here: AtBench, told: Annotated[Weighing, Form()]) -> Response:
    """Let a person's own readings stand."""
    here.enter(choose_entries(here.state, told.stamp("c"), told.mark, told.weights, told.seen_at))
    return here.back(SCREEN)


@router.post("/dossier/{tag}/second-reading")
def second(here: AtBench, told: Annotated[SecondReading, Form()]) -> Response:
    """Enter what a second person reads."""
    here.enter(second_entries(here.state, told.stamp("s"), hand=here.hand, **told.fields()))
    return here.back(SCREEN)
