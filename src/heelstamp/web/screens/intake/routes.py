"""Door: who hands it over, and may we open it? Custody, leave, climate, contents, receipt."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.intake import (
    ANSWERS,
    CLIMATE,
    SCALE_G,
    climate_acts,
    consent_acts,
    contents_acts,
    custody_acts,
    door_view,
)
from heelstamp.catalogue.bodies.observation import LINKS
from heelstamp.report.tag_code import tag_code_svg
from heelstamp.web.forms import Id, Ids, Line, Made, Number, Prose, Word, back, slip
from heelstamp.web.paths import SCREENS
from heelstamp.web.rendering import desk_of, drawn, hand_of, page
from heelstamp.web.screens.intake.receipt import TAKEN_IN, receipt

router = APIRouter()
SCREEN = "intake"


@router.get("/dossier/{tag}/intake", response_class=HTMLResponse)
def door(request: Request, tag: str) -> HTMLResponse:
    """Show what may be done at the door now."""
    subject = desk_of(request).subject(tag)
    return page(
        request,
        "intake/intake.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        answers=ANSWERS,
        view=door_view(subject.state, subject.tree),
        links=LINKS,
        climate=CLIMATE,
        scale=SCALE_G,
        received=any(one.event in TAKEN_IN for one in subject.state.custody.values()),
    )


@router.post("/dossier/{tag}/custody")
def custody(
    request: Request,
    tag: str,
    event: Word,
    giver: Word = "",
    receiver: Word = "",
    place: Word = "",
    weight_g: Number = None,
    uncertainty_g: Number = None,
    note: Prose = "",
    screen: Word = SCREEN,
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Enter a change of custody, with the weight if it was weighed."""
    desk = desk_of(request)
    acts = custody_acts(
        desk.subject(tag).state,
        slip("k", id, made),
        event=event,
        giver=giver,
        receiver=receiver,
        place=place,
        weight_g=weight_g,
        uncertainty_g=uncertainty_g,
        note=note,
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, screen if screen in {one.key for one in SCREENS} else SCREEN)


@router.post("/dossier/{tag}/consent")
def consent(
    request: Request,
    tag: str,
    act: Word,
    answer: Word,
    by: Word = "a consignor",
    condition: Line = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter the owner's word on one act, or take it back."""
    desk = desk_of(request)
    acts = consent_acts(
        desk.subject(tag).state,
        slip("w", id, made),
        act=act,
        answer=answer,
        by=by,
        condition=condition,
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/climate")
def climate(
    request: Request,
    tag: str,
    case: Number = None,
    room: Number = None,
    humidity: Annotated[float | None, Form(gt=0, le=100, allow_inf_nan=False)] = None,
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter the temperature inside the closed case, and the room's with its humidity."""
    desk = desk_of(request)
    readings = {"case": case, "room": room, "humidity": humidity}
    acts = climate_acts(desk.subject(tag).state, slip("m", id, made), readings)
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)


@router.post("/dossier/{tag}/contents")
def contents(
    request: Request,
    tag: str,
    item: Line,
    link: Word,
    frames: Ids = [],  # noqa: B006 - copied for each request
    note: Prose = "",
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Enter a thing found in the case, and what ties it to the instrument."""
    desk = desk_of(request)
    acts = contents_acts(
        desk.subject(tag).state,
        slip("n", id, made),
        item=item,
        link=link,
        frames=[one for one in frames if one],
        note=note,
    )
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, SCREEN)


@router.get("/dossier/{tag}/receipt", response_class=HTMLResponse)
def receipt_page(request: Request, tag: str) -> HTMLResponse:
    """Show the receipt, ready to print and sign."""
    subject = desk_of(request).subject(tag)
    return page(
        request,
        "intake/receipt.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        receipt=receipt(subject.state, subject.tree),
        code=drawn(tag_code_svg(tag)),
    )
