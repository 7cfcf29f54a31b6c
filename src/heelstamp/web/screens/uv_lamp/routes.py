"""UV lamp: a pair of frames compared beside the requests, its answer, what a person says of it."""

from __future__ import annotations

from typing import Annotated

import msgspec
from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, JSONResponse, Response

from heelstamp.casework.photographs import details_of
from heelstamp.casework.uv_lamp.marks import read_marks
from heelstamp.casework.uv_lamp.pairs import UV, Pairing
from heelstamp.casework.uv_lamp.regions import drawn_polygon
from heelstamp.shop.photographs import keep_photograph, photo_plan, photograph_at
from heelstamp.shop.uv_lamp import (
    compare,
    draw_border,
    enter_compared,
    keep_marks,
    pair_at,
    proposed_masks,
    say_of_region,
)
from heelstamp.web.at_bench import AtBench, Bench
from heelstamp.web.screens.uv_lamp.forms import Border, Compare, Look, PairForm, Region, Shot
from heelstamp.web.screens.uv_lamp.view import lamp_view

router = APIRouter()
SCREEN = "uv-lamp"
Frame = Annotated[str, Query(max_length=64)]


@router.get("/dossier/{tag}/uv-lamp", response_class=HTMLResponse)
def uv_lamp(
    here: AtBench,
    visible: Frame = "",
    uv: Frame = "",
    take: Annotated[str, Query(max_length=8)] = "",
) -> HTMLResponse:
    """Show the clock, the faces, and of one pair its answer and what was drawn on it.

    With *take* the camera is shown for the visible frame, to take the UV-A frame again; with
    *take* ``moved`` that with the lamp on the opposite side.
    """
    view = lamp_view(here.shop, here.tag, visible, uv, take=take)
    return here.page("uv_lamp/uv_lamp.html", SCREEN, **view)


@router.get("/dossier/{tag}/uv-lamp/outline")
def outline(here: AtBench, visible: Frame) -> JSONResponse:
    """Send outline and parts that the program proposes; empty when it finds no body."""
    proposed = proposed_masks(here.shop, photograph_at(here.shop, here.tag, visible))
    return JSONResponse(proposed, headers={"cache-control": "no-store"})


@router.post("/dossier/{tag}/uv-lamp/compare")
def begin(here: AtBench, told: Annotated[Compare, Form()]) -> Response:
    """Keep what was drawn, or compare the pair with it."""
    pair = _pair(here, told)
    assert pair.visible is not None
    read = read_marks(told.marks, size=(pair.visible.width, pair.visible.height))
    read = msgspec.structs.replace(read, brushed=told.brushed)
    if told.act == "keep":
        keep_marks(here.shop, here.tag, pair, read, told.stamp("d"), by=here.hand)
    else:
        compare(here.shop, here.tag, pair, read)
    return _back(here, told)


@router.post("/dossier/{tag}/uv-lamp/look")
def look(here: AtBench, told: Annotated[Look, Form()]) -> Response:
    """Enter what a comparison came to."""
    enter_compared(
        here.shop,
        here.tag,
        _pair(here, told),
        told.stamp("o"),
        finding=told.finding,
        again=told.again,
        by=here.hand,
    )
    return _back(here, told)


@router.post("/dossier/{tag}/uv-lamp/region")
def region(here: AtBench, told: Annotated[Region, Form()]) -> Response:
    """Set a region aside, or let it stand again."""
    say_of_region(
        here.shop,
        here.tag,
        _pair(here, told),
        told.region,
        told.stamp("d"),
        aside=told.act == "aside",
        reason=told.other_reason.strip() or told.reason,
        by=here.hand,
    )
    return _back(here, told)


@router.post("/dossier/{tag}/uv-lamp/border")
def border(here: AtBench, told: Annotated[Border, Form()]) -> Response:
    """Keep a border drawn by hand, or with an empty one let the program's stand again."""
    draw_border(
        here.shop,
        here.tag,
        _pair(here, told),
        told.region,
        told.stamp("d"),
        polygon=drawn_polygon(told.polygon),
        reason=told.reason,
        by=here.hand,
    )
    return _back(here, told)


@router.post("/dossier/{tag}/uv-lamp/shot")
def shot(here: AtBench, told: Annotated[Shot, Form()]) -> Response:
    """Keep a frame under UV-A that was taken beside its frame in ordinary light."""
    details = details_of(
        photo_plan(),
        told.stamp("f"),
        name=told.photo.filename or "",
        slot=told.slot,
        part="finish",
        light=UV,
        private=False,
        note="",
    )
    keep_photograph(here.shop, here.tag, told.photo.file.read(), details, by=here.hand)
    return here.back(SCREEN, visible=told.visible, uv=told.uv or str(details["id"]))


def _pair(here: Bench, told: PairForm) -> Pairing:
    return pair_at(here.shop, here.tag, told.visible, told.uv)


def _back(here: Bench, told: PairForm) -> Response:
    return here.back(SCREEN, visible=told.visible, uv=told.uv)
