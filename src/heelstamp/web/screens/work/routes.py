"""Work: what did you do to it? Six large kinds of act, and no act without before and after."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.public_words import marked
from heelstamp.casework.treatment import treat_entries
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.work.forms import Treatment
from heelstamp.web.screens.work.view import work_view

router = APIRouter()
SCREEN = "work"


@router.get("/dossier/{tag}/work", response_class=HTMLResponse)
def work(
    here: AtBench,
    kind: Annotated[str, Query(max_length=20)] = "",
    act: Annotated[str, Query(max_length=100)] = "",
) -> HTMLResponse:
    """Show the kinds of act; of a chosen act what belongs to it."""
    return here.page("work/work.html", SCREEN, **work_view(here.subject, kind, act))


@router.post("/dossier/{tag}/work")
def treat(here: AtBench, told: Annotated[Treatment, Form()]) -> Response:
    """Enter a treatment."""
    entries = treat_entries(
        here.state,
        told.stamp("t"),
        here.tree,
        here.subject.chronology,
        load_stop_table(),
        told=told.told,
        before=told.before,
        after=told.after,
    )
    here.enter(marked(entries, told.public))
    return here.back(SCREEN)
