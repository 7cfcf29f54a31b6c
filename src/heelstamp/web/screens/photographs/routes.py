"""Frames: the camera one tap away, care at once, what is missing, and each frame large."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Form, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.photographs import (
    LIGHTS,
    WHENS,
    by_when,
    details_of,
    privacy_acts,
    slots_by_stage,
    tile,
    tiles,
)
from heelstamp.errors import NotFoundError
from heelstamp.shop.photographs import (
    care_at,
    keep_photograph,
    missing_photographs,
    photo_plan,
    small_copy,
)
from heelstamp.web.forms import Id, Made, Prose, Word, back, slip
from heelstamp.web.rendering import desk_of, hand_of, page, partial

router = APIRouter()
SCREEN = "photographs"


@router.get("/dossier/{tag}/photographs", response_class=HTMLResponse)
def frames(
    request: Request, tag: str, added: Annotated[str, Query(max_length=64)] = ""
) -> HTMLResponse:
    """Show the frames and what is missing; of the one just *added* also the care."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    missing = by_when(missing_photographs(desk, tag))
    first = missing["now"][0].slot.id if "now" in missing else ""
    return page(
        request,
        "photographs/photographs.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        missing=missing,
        whens=WHENS,
        tiles=tiles(subject.state, subject.tree, photo_plan()),
        first=first,
        slots=slots_by_stage(photo_plan(), subject.tree),
        lights=LIGHTS,
        added=added,
        care=care_at(desk, tag, added) if added else None,
    )


@router.post("/dossier/{tag}/photographs", response_class=HTMLResponse)
def add(
    request: Request,
    tag: str,
    photo: Annotated[UploadFile, File()],
    slot: Word = "",
    part: Word = "",
    light: Word = "",
    private: Annotated[bool, Form()] = False,
    note: Prose = "",
    id: Id = "",  # noqa: A002 - the field's name
    made: Made = "",
) -> Response:
    """Keep a photograph, file it by its slot, and say what to take again."""
    desk = desk_of(request)
    details = details_of(
        photo_plan(),
        slip("f", id, made),
        name=photo.filename or "",
        slot=slot,
        part=part,
        light=light,
        private=private,
        note=note,
    )
    kept = keep_photograph(desk, tag, photo.file.read(), details, by=hand_of(request))
    if not partial(request):
        return back(tag, SCREEN, added=str(details["id"]))
    subject = desk.subject(tag)
    return page(
        request,
        "photographs/photograph_added.html",
        tag=tag,
        care=kept.care,
        one=tile(subject.state, subject.tree, photo_plan(), str(details["id"])),
    )


@router.get("/dossier/{tag}/photographs/{frame}", response_class=HTMLResponse)
def large(request: Request, tag: str, frame: str) -> HTMLResponse:
    """Show one frame large, with what is known of it."""
    subject = desk_of(request).subject(tag)
    return page(
        request,
        "photographs/photograph.html",
        tag=tag,
        screen=SCREEN,
        subject=subject,
        one=tile(subject.state, subject.tree, photo_plan(), frame),
        photograph=subject.state.photographs[frame],
        entered=subject.state.entered[frame],
    )


@router.post("/dossier/{tag}/private")
def private_frame(
    request: Request,
    tag: str,
    frame: Id,
    private: Annotated[bool, Form()],
    id: Id = "",  # noqa: A002
    made: Made = "",
) -> Response:
    """Keep a frame with the shop, or let outsiders see it."""
    desk = desk_of(request)
    acts = privacy_acts(desk.subject(tag).state, slip("c", id, made), frame, private)
    desk.enter(tag, acts, by=hand_of(request))
    return back(tag, f"{SCREEN}/{frame}")


@router.get("/dossier/{tag}/frame/{frame}")
def frame(
    request: Request, tag: str, frame: str, wide: Annotated[int, Query(ge=64, le=4000)] = 480
) -> Response:
    """Give a copy of at most *wide* pixels; it never changes, so a browser may keep it."""
    desk = desk_of(request)
    photograph = desk.subject(tag).state.photographs.get(frame)
    if photograph is None:
        raise NotFoundError("no such frame", where=tag, received=frame, remedy="See Frames.")
    key = f'"{photograph.file[:32]}-{wide}"'
    headers = {"etag": key, "cache-control": "private, max-age=31536000, immutable"}
    if request.headers.get("if-none-match") == key:
        return Response(status_code=304, headers=headers)
    copy = small_copy(desk, photograph, wide)
    return Response(copy, media_type="image/jpeg", headers=headers)
