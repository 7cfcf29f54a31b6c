"""Questions: what a buyer asks, its answer with frame numbers, or a task."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.buyer_questions import log_entries, log_of, open_tasks, task_entries
from heelstamp.shop.reports import document_at, told_at
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.questions.forms import Asked, Task
from heelstamp.web.screens.questions.view import (
    AnswerView,
    answer_view,
    question_named,
    usual_questions,
)

router = APIRouter()
SCREEN = "questions"


@router.get("/dossier/{tag}/questions", response_class=HTMLResponse)
def questions(here: AtBench, ask: Annotated[str, Query(max_length=400)] = "") -> HTMLResponse:
    """Show the usual questions, and the answer to one."""
    given = None
    if ask.strip():
        given = _given(here, ask)
    return here.page(
        "questions/questions.html",
        SCREEN,
        ask=ask,
        usual=usual_questions(),
        given=given,
        tasks=open_tasks(here.state),
        log=log_of(here.state),
    )


@router.post("/dossier/{tag}/answered")
def keep_answer(here: AtBench, told: Annotated[Asked, Form()]) -> Response:
    """Keep what was answered."""
    view = _given(here, told.ask)
    here.enter(log_entries(here.state, told.stamp("q"), view.answer))
    return here.back(SCREEN, ask=told.ask)


@router.post("/dossier/{tag}/task")
def task(here: AtBench, told: Annotated[Task, Form()]) -> Response:
    """Make a question a task, or end it."""
    question = question_named(told.ask, here.tree)
    here.enter(task_entries(here.state, told.stamp("q"), question, done=told.done))
    return here.back(SCREEN, ask="" if told.done else told.ask)


def _given(here: AtBench, ask: str) -> AnswerView:
    told = told_at(here.shop, here.tag, "buyer")
    return answer_view(ask, here.subject, told, document_at(here.shop, here.tag, "buyer"))
