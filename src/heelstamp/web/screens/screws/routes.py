"""Tray: one picture, tap each screw; count out = count in.

The picture is a button of the form (``input type="image"``), which sends the place that was tapped
by itself: no script is needed. It is drawn at a fixed size, so that a share of it is a place.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.screws import (
    DRIVES,
    HEADS,
    STARTS,
    THREADS,
    change_acts,
    out_acts,
    picture_for,
    screw_length,
    tray_of,
    trays,
)
from heelstamp.errors import InputError
from heelstamp.web.forms import Id, Made, Word, back, slip
from heelstamp.web.rendering import desk_of, hand_of, lengths_of, page
from heelstamp.web.screens.first_look.drawing import still_drawing

router = APIRouter()
SCREEN = "screws"
WIDE = 720
"""Pixels at which the picture of a tray is drawn."""
Length = Annotated[str, Form(max_length=24)]
"""A length as a person writes it, in the unit of the device."""
DRAWN = {"guard": "front", "bridge": "front", "neck": "back"}


@router.get("/dossier/{tag}/screws", response_class=HTMLResponse)
def tray(
    request: Request,
    tag: str,
    opening: Annotated[str, Query(max_length=40)] = "",
    frame: Annotated[str, Query(max_length=64)] = "",
) -> HTMLResponse:
    """Show the picture of an opening with its screws."""
    subject = desk_of(request).subject(tag)
    every = trays(subject.state, subject.tree, subject.chronology)
    one = tray_of(every, opening)
    chosen = frame or picture_for(subject.state, one.opening)
    photograph = subject.state.photographs.get(chosen)
    if photograph is None:
        tall = still_drawing(subject.state.instrument.kind, DRAWN[one.opening], WIDE)[1]
    else:
        tall = round(WIDE * photograph.height / photograph.width)
    shown = [s for s in one.screws if (s.frame or "") == (chosen if photograph else "")]
    return page(
        request,
        "screws/screws.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        trays=every,
        tray=one,
        photograph=photograph,
        wide=WIDE,
        tall=tall,
        shown=shown,
        heads=HEADS,
        drives=DRIVES,
        threads=THREADS,
        starts=STARTS,
        last=one.screws[-1] if one.screws else None,
    )


@router.get("/dossier/{tag}/tray-drawing/{opening}")
def drawing(request: Request, tag: str, opening: str) -> Response:
    """Give the drawing that stands in for a photograph of an opening."""
    subject = desk_of(request).subject(tag)
    if opening not in DRAWN:
        raise InputError("no such tray", received=opening, remedy="See the tray.")
    svg, _ = still_drawing(subject.state.instrument.kind, DRAWN[opening], WIDE)
    return Response(svg, media_type="image/svg+xml")


@router.post("/dossier/{tag}/screws")
def out(
    request: Request,
    tag: str,
    opening: Word,
    tall: Annotated[float, Form(ge=1, le=20_000, allow_inf_nan=False)],
    x: Annotated[float, Form(alias="tap.x", allow_inf_nan=False)],
    y: Annotated[float, Form(alias="tap.y", allow_inf_nan=False)],
    frame: Id = "",
    head: Word = "",
    drive: Word = "",
    thread: Word = "",
    length: Length = "",
    start: Word = "not tried",
    odd: Annotated[bool, Form()] = False,
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Enter a screw at the place that was tapped."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    one = tray_of(trays(subject.state, subject.tree, subject.chronology), opening)
    length_mm, typed = screw_length(length, lengths_of(request))
    like: dict[str, Any] = {
        "head": head,
        "drive": drive,
        "thread": thread,
        "length_mm": length_mm,
        "start": start,
        "odd": odd,
    }
    acts = out_acts(
        subject.state,
        slip("v", id, made),
        one,
        frame=frame,
        x=x / WIDE,
        y=y / tall,
        like=like,
        typed=typed,
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN, opening=opening, frame=frame)


@router.post("/dossier/{tag}/screw")
def put(
    request: Request,
    tag: str,
    screw: Id,
    back_in: Annotated[bool, Form()],
    frame: Id = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Put a screw back into its own hole, or take it out again."""
    desk = desk_of(request)
    state = desk.subject(tag).state
    reason = "back in its own hole" if back_in else "taken out again"
    acts = change_acts(state, slip("c", id, made), screw, {"back": back_in}, reason)
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN, opening=state.screws[screw].opening, frame=frame)


@router.post("/dossier/{tag}/screw-is")
def like(
    request: Request,
    tag: str,
    screw: Id,
    head: Word = "",
    drive: Word = "",
    thread: Word = "",
    length: Length = "",
    start: Word = "not tried",
    odd: Annotated[bool, Form()] = False,
    frame: Id = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Say what a screw is like."""
    desk = desk_of(request)
    state = desk.subject(tag).state
    length_mm, typed = screw_length(length, lengths_of(request))
    told: dict[str, Any] = {
        "head": head or None,
        "drive": drive or None,
        "thread": thread or None,
        "length_mm": length_mm,
        "start": start if start != "not tried" else None,
        "odd": odd or None,
    }
    reason = "; ".join(one for one in ("looked at closely", typed) if one)
    acts = change_acts(state, slip("c", id, made), screw, told, reason)
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN, opening=state.screws[screw].opening, frame=frame)
