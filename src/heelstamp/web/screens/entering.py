"""Entering: one tap or one form is one entry; the last entry of this hand can be taken back."""

from __future__ import annotations

from typing import Annotated, Any
from uuid import uuid4

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.errors import ConflictError, InputError
from heelstamp.web.paths import screen_path
from heelstamp.web.rendering import desk_of, hand_of, page, partial
from heelstamp.web.screens.first_look import look

router = APIRouter()
SUBJECT_FIELD = {"feature": "feature", "sign": "sign"}
CONTENT_FIELD = {"feature": "variant", "sign": "outcome", "mark": "text", "serial": "text"}


@router.post("/dossier/{tag}/seen", response_class=HTMLResponse)
def seen(
    request: Request,
    tag: str,
    part: Annotated[str, Form(max_length=40)],
    kind: Annotated[str, Form(max_length=20)],
    status: Annotated[str, Form(max_length=20)],
    subject: Annotated[str, Form(max_length=100)] = "",
    value: Annotated[str, Form(max_length=400)] = "",
    id: Annotated[str, Form(max_length=64)] = "",  # noqa: A002 - the field's name
) -> Response:
    """Enter what was seen of a part; an answer that stands is corrected, and both stay."""
    if kind not in CONTENT_FIELD:
        raise InputError("no such kind of look", where="kind", received=kind)
    body: dict[str, Any] = {"id": id or new_id("o"), "part": part, "kind": kind, "status": status}
    if kind in SUBJECT_FIELD:
        body[SUBJECT_FIELD[kind]] = subject
    if status == "read":
        body[CONTENT_FIELD[kind]] = value
    desk = desk_of(request)
    standing = _standing(request, tag, part, kind, subject)
    act: tuple[str, dict[str, Any]] = ("observation", body)
    if standing is not None:
        act = (
            "correction",
            {
                "id": body["id"],
                "corrects": standing,
                "reason": "looked again",
                "replacement": {**body, "id": standing},
            },
        )
    desk.enter(tag, [act], by=hand_of(request))
    if partial(request):
        return page(request, "part.html", **look(desk.subject(tag), part))
    return RedirectResponse(f"{screen_path(tag, 'first-look')}?part={part}", 303)


@router.post("/dossier/{tag}/undo", response_class=HTMLResponse)
def undo(
    request: Request,
    tag: str,
    part: Annotated[str, Form(max_length=40)] = "",
    screen: Annotated[str, Form(max_length=20)] = "first-look",
) -> Response:
    """Take the last entry back: it stays in the journal, withdrawn."""
    desk = desk_of(request)
    state = desk.subject(tag).state
    standing = [
        (entered.seq, id_)
        for id_, entered in state.entered.items()
        if id_ in state.observations or id_ in state.measurements or id_ in state.corrections
    ]
    if not standing:
        raise ConflictError("nothing to take back", where=tag, remedy="Enter something first.")
    body = {
        "id": new_id("c"),
        "corrects": max(standing)[1],
        "reason": "taken back at once",
        "replacement": None,
    }
    desk.enter(tag, [("correction", body)], by=hand_of(request))
    if partial(request) and part:
        return page(request, "part.html", **look(desk.subject(tag), part))
    return RedirectResponse(screen_path(tag, screen) + (f"?part={part}" if part else ""), 303)


def new_id(letter: str) -> str:
    """Give an id that no other device gives: a letter and 40 random bits."""
    return f"{letter}-{uuid4().hex[:10]}"


def _standing(request: Request, tag: str, part: str, kind: str, subject: str) -> str | None:
    """Give the id of the observation that answers the same question now."""
    field = SUBJECT_FIELD.get(kind)
    if field is None:
        return None
    found = [
        one.id
        for one in desk_of(request).subject(tag).state.of_part(part)
        if getattr(one, field) == subject
    ]
    return found[-1] if found else None
