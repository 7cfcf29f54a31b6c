"""Return: weigh it, take the six fixed shots, say of each whether it is the same."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Request, UploadFile
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.photographs import details_of
from heelstamp.casework.return_check import (
    CAME,
    PREFIX,
    VERDICTS,
    departed,
    shot_named,
    shots,
    verdict_acts,
    weight_finding,
)
from heelstamp.catalogue.custody import possible_events
from heelstamp.shop.photographs import keep_photograph, photo_plan
from heelstamp.web.forms import Id, Line, Made, Word, back, slip
from heelstamp.web.rendering import desk_of, hand_of, page

router = APIRouter()
SCREEN = "return-check"


@router.get("/dossier/{tag}/return-check", response_class=HTMLResponse)
def returned(request: Request, tag: str) -> HTMLResponse:
    """Show weights and shots of departure and return side by side."""
    subject = desk_of(request).subject(tag)
    state = subject.state
    coming = [one for one in possible_events(state.custody_state) if one in CAME]
    return page(
        request,
        "return_check/return_check.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        weight=weight_finding(state),
        shots=shots(state, photo_plan()),
        verdicts=VERDICTS,
        departed=departed(state),
        coming=coming,
    )


@router.post("/dossier/{tag}/return-check/shot")
def shot(
    request: Request,
    tag: str,
    slot: Word,
    photo: Annotated[UploadFile, File()],
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Keep a shot of the return; it stays with the shop like the one it is held against."""
    desk = desk_of(request)
    one = shot_named(shots(desk.subject(tag).state, photo_plan()), slot)
    light = one.before.light if one.before else "visible"
    part = one.before.part if one.before and one.before.part else ""
    details = details_of(
        photo_plan(),
        slip("f", id, made),
        name=photo.filename or "",
        slot=f"{PREFIX}{slot}",
        part=part,
        light=light,
        private=True,
        note="",
    )
    keep_photograph(desk, tag, photo.file.read(), details, by=hand_of(request))
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/return-check/verdict")
def verdict(
    request: Request,
    tag: str,
    slot: Word,
    verdict: Word,
    reason: Line = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter what a person says of a shot."""
    desk = desk_of(request)
    state = desk.subject(tag).state
    one = shot_named(shots(state, photo_plan()), slot)
    acts = verdict_acts(state, slip("r", id, made), one, verdict, reason)
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)
