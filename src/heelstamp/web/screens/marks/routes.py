"""Marks: the photograph beside its readings, *illegible* as easy as a reading, a blind second."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.first_look import OTHERWISE
from heelstamp.casework.mark_reading import choose_acts, mark_views, read_acts, second_acts, waiting
from heelstamp.reference.tables import mark_context
from heelstamp.shop.photographs import photo_plan
from heelstamp.web.forms import Base, Id, Line, Made, Word, back, base_of, slip
from heelstamp.web.rendering import desk_of, hand_of, page

router = APIRouter()
SCREEN = "marks"
READINGS_MAX = 60


@router.get("/dossier/{tag}/marks", response_class=HTMLResponse)
def marks(request: Request, tag: str) -> HTMLResponse:
    """Show every mark that this hand may see, and photographs that wait to be read."""
    subject = desk_of(request).subject(tag)
    state, tree = subject.state, subject.tree
    hand = hand_of(request)
    return page(
        request,
        "marks/marks.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        otherwise=OTHERWISE,
        marks=mark_views(state, tree, subject.chronology, mark_context(), hand),
        waiting=waiting(state, tree, photo_plan()),
    )


@router.post("/dossier/{tag}/mark")
def read(
    request: Request,
    tag: str,
    status: Word = "read",
    part: Word = "",
    mark: Id = "",
    frame: Id = "",
    text: Line = "",
    base: Base = "",
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Enter what a mark says, or that it says nothing."""
    desk = desk_of(request)
    acts = read_acts(
        desk.subject(tag).state,
        slip("o", id, made),
        mark=mark,
        part=part,
        frame=frame,
        status=status,
        text=text,
        base=base_of(base),
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/readings")
def readings(
    request: Request,
    tag: str,
    mark: Id,
    period: Annotated[list[str], Form(max_length=READINGS_MAX)],
    weight: Annotated[list[float], Form(max_length=READINGS_MAX)],
    only: Word = "",
    base: Base = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Let a person's own readings stand: one alone, or several with weights."""
    desk = desk_of(request)
    weights = {only: 100.0} if only else dict(zip(period, weight, strict=False))
    acts = choose_acts(desk.subject(tag).state, slip("c", id, made), mark, weights, base_of(base))
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/second-reading")
def second(
    request: Request,
    tag: str,
    mark: Id,
    status: Word = "read",
    text: Line = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter what a second person reads, before the first reading is shown to them."""
    desk, hand = desk_of(request), hand_of(request)
    acts = second_acts(
        desk.subject(tag).state, slip("s", id, made), mark, status=status, text=text, hand=hand
    )
    desk.enter(tag, acts, by=hand)
    return back(tag, SCREEN)
