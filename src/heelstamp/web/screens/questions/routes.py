"""Counter: a buyer's question, its answer with frame numbers, or a task."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.buyer_questions import (
    Usual,
    answer,
    answered,
    find_question,
    log_acts,
    open_tasks,
    task_acts,
)
from heelstamp.catalogue import PartsTree
from heelstamp.reference.counter_questions import load_questions
from heelstamp.shop.reports import document_at
from heelstamp.web.forms import Id, Line, Made, back, slip
from heelstamp.web.rendering import desk_of, hand_of, page

router = APIRouter()
SCREEN = "questions"


@router.get("/dossier/{tag}/questions", response_class=HTMLResponse)
def counter(
    request: Request, tag: str, ask: Annotated[str, Query(max_length=400)] = ""
) -> HTMLResponse:
    """Show the usual questions, and the answer to one."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    given = before = None
    if ask.strip():
        question = _question(ask, subject.tree)
        given = answer(question, subject.state, document_at(desk, tag, "buyer"))
        before = answered(subject.state, question.id)
    return page(
        request,
        "questions/questions.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        ask=ask,
        usual=load_questions(),
        given=given,
        before=before,
        tasks=open_tasks(subject.state),
    )


@router.post("/dossier/{tag}/answered")
def keep_answer(
    request: Request,
    tag: str,
    ask: Line,
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Keep what was answered."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    question = _question(ask, subject.tree)
    given = answer(question, subject.state, document_at(desk, tag, "buyer"))
    desk.enter(tag, log_acts(subject.state, slip("q", id, made), given), by=hand_of(request))
    return back(tag, SCREEN, ask=ask)


@router.post("/dossier/{tag}/task")
def task(
    request: Request,
    tag: str,
    ask: Line,
    done: Annotated[bool, Form()] = False,
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Make a question a task, or end it."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    question = _question(ask, subject.tree)
    acts = task_acts(subject.state, slip("q", id, made), question, done=done)
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN, ask="" if done else ask)


def _question(ask: str, tree: PartsTree) -> Usual:
    """Give the question of this id or these words."""
    usual = load_questions()
    named = [one for one in usual if ask in (one.id, one.text)]
    return named[0] if named else find_question(ask, usual, tree)
