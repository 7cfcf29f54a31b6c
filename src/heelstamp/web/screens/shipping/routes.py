"""Shipping: how it is packed, what to ask about the route, when the parcel may be opened."""

from __future__ import annotations

from pathlib import PurePosixPath
from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, Response

from heelstamp.errors import InputError
from heelstamp.shop import now
from heelstamp.shop.shipping import LOG_MAX, enter_log, enter_packing, shipping_view
from heelstamp.web.at_bench import AtBench
from heelstamp.web.screens.shipping.forms import Log, Packed

router = APIRouter()
SCREEN = "shipping"
SHOTS = 20
"""Newest photographs that a packing can name."""


@router.get("/dossier/{tag}/shipping", response_class=HTMLResponse)
def shipping(here: AtBench, to: Annotated[str, Query(max_length=10)] = "") -> HTMLResponse:
    """Show what is known of the way, and what to ask about a route."""
    refused = None
    try:
        view = shipping_view(here.shop, here.tag, to=to)
    except InputError as error:
        view, refused = shipping_view(here.shop, here.tag, to="EU"), error
    frames = list(here.state.photographs.values())[-SHOTS:]
    return here.page(
        "shipping/shipping.html",
        SCREEN,
        view=view,
        refused=refused,
        today=now()[:10],
        currency=here.shop.currency,
        frames=tuple(reversed(frames)),
        by_plan=frozenset(one.frames[0] for one in view.shots if one.frames),
    )


@router.post("/dossier/{tag}/shipping/packed")
def packed(here: AtBench, told: Annotated[Packed, Form()]) -> Response:
    """Enter how it was packed."""
    enter_packing(here.shop, here.tag, told.stamp("k"), told.fields(), by=here.hand)
    return here.back(SCREEN)


@router.post("/dossier/{tag}/shipping/log")
def log(here: AtBench, told: Annotated[Log, Form()]) -> Response:
    """Keep a logger's file."""
    name = PurePosixPath((told.file.filename or "log.csv").replace("\\", "/")).name
    enter_log(
        here.shop,
        here.tag,
        told.stamp("l"),
        told.file.file.read(LOG_MAX + 1),
        name,
        room_c=told.room_c,
        room_rh=told.room_rh,
        order=told.order,
        by=here.hand,
    )
    return here.back(SCREEN)
