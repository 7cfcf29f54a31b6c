"""Photographs: the camera one tap away, care at once, what is missing, and each frame large."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.casework.cautions import FIRST, cautions_of
from heelstamp.casework.papers.public_record import numbered_frames
from heelstamp.casework.photographs import (
    LIGHTS,
    WHENS,
    by_when,
    details_of,
    privacy_entries,
    slots_by_stage,
    tile,
    tiles,
)
from heelstamp.casework.picture_marks import (
    HIDES,
    box_entries,
    marked_picture,
    removal_entries,
    scale_entries,
)
from heelstamp.shop.photographs import (
    care_at,
    keep_photograph,
    missing_photographs,
    photo_plan,
    photograph_at,
    small_copy,
)
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.photographs.forms import Box, Privacy, Removal, Scale, Taken

router = APIRouter()
SCREEN = "photographs"


@router.get("/dossier/{tag}/photographs", response_class=HTMLResponse)
def photographs(here: AtBench, added: Annotated[str, Query(max_length=64)] = "") -> HTMLResponse:
    """Show the frames and what is missing; of the one just *added* also the care."""
    missing = by_when(missing_photographs(here.shop, here.tag))
    return here.page(
        "photographs/photographs.html",
        SCREEN,
        missing=missing,
        whens=WHENS,
        tiles=tiles(here.state, here.tree, photo_plan()),
        first=missing["now"][0].slot.id if "now" in missing else "",
        slots=slots_by_stage(photo_plan(), here.tree),
        lights=LIGHTS,
        added=added,
        care=care_at(here.shop, here.tag, added) if added else None,
        cautions={
            act: cautions_of(act)
            for act in dict.fromkeys(act for one in missing.get("now", ()) for act in one.slot.ends)
        },
        first_caution=FIRST,
    )


@router.post("/dossier/{tag}/photographs")
def add(here: AtBench, told: Annotated[Taken, Form()]) -> Response:
    """Keep a photograph, file it by its slot, and say what to take again."""
    details = details_of(
        photo_plan(), told.stamp("f"), name=told.photo.filename or "", **told.fields("photo")
    )
    keep_photograph(here.shop, here.tag, told.photo.file.read(), details, by=here.hand)
    return here.back(SCREEN, added=str(details["id"]))


@router.get("/dossier/{tag}/photographs/{frame}", response_class=HTMLResponse)
def large(here: AtBench, frame: str) -> HTMLResponse:
    """Show one frame large, with what is known of it."""
    return here.page(
        "photographs/photograph.html",
        SCREEN,
        one=tile(here.state, here.tree, photo_plan(), frame),
        photograph=here.state.photographs[frame],
        entered=here.state.entered[frame],
        marked=marked_picture(here.state, frame),
        hides=HIDES,
        masked=frame in numbered_frames(here.state),
    )


@router.post("/dossier/{tag}/photographs/{frame}/box")
def box(here: AtBench, frame: str, told: Annotated[Box, Form()]) -> Response:
    """Cover a place in every copy that goes to outsiders."""
    here.enter(box_entries(here.state, told.stamp("b"), frame=frame, **told.fields()))
    return here.back(f"{SCREEN}/{frame}")


@router.post("/dossier/{tag}/photographs/{frame}/scale")
def scale(here: AtBench, frame: str, told: Annotated[Scale, Form()]) -> Response:
    """Tell a length between two points of the picture."""
    ends = (told.x0, told.y0, told.x1, told.y1)
    here.enter(
        scale_entries(
            here.state,
            told.stamp("s"),
            frame=frame,
            ends=ends,
            length=told.length,
            unit=here.lengths,
            note=told.note,
        )
    )
    return here.back(f"{SCREEN}/{frame}")


@router.post("/dossier/{tag}/photographs/{frame}/removed")
def removed(here: AtBench, frame: str, told: Annotated[Removal, Form()]) -> Response:
    """Withdraw a box or a scale; it stays in the journal."""
    here.enter(removal_entries(here.state, told.stamp("c"), mark=told.mark, reason=told.reason))
    return here.back(f"{SCREEN}/{frame}")


@router.post("/dossier/{tag}/private")
def privacy(here: AtBench, told: Annotated[Privacy, Form()]) -> Response:
    """Keep a frame with the shop, or let outsiders see it."""
    here.enter(privacy_entries(here.state, told.stamp("c"), told.frame, told.private))
    return here.back(f"{SCREEN}/{told.frame}")


@router.get("/dossier/{tag}/frame/{frame}")
def copy(here: AtBench, frame: str, wide: Annotated[int, Query(ge=64, le=4000)] = 480) -> Response:
    """Send a copy of at most *wide* pixels; it never changes, so a browser may keep it."""
    photograph = photograph_at(here.shop, here.tag, frame)
    key = f'"{photograph.file[:32]}-{wide}"'
    headers = {"etag": key, "cache-control": "private, max-age=31536000, immutable"}
    if here.request.headers.get("if-none-match") == key:
        return Response(status_code=304, headers=headers)
    data = small_copy(here.shop, photograph, wide)
    return Response(data, media_type="image/jpeg", headers=headers)
