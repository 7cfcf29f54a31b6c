"""New: opening the dossier of an instrument that was just handed over."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.opening import instrument_body
from heelstamp.shop.new_dossier import free_tag, kinds, known_chronologies, open_dossier
from heelstamp.web.rendering import hand_of, page, shop_of
from heelstamp.web.screens.new_dossier.forms import Opening

router = APIRouter()


@router.get("/new", response_class=HTMLResponse)
def new(request: Request, opened: Annotated[str, Query(max_length=40)] = "") -> HTMLResponse:
    """Ask what is known before anything is looked at; tell which dossier was opened."""
    shop = shop_of(request)
    known, faults = known_chronologies(shop)
    return page(
        request,
        "new_dossier/new_dossier.html",
        known=known,
        faults=faults,
        kinds=kinds(shop),
        next=free_tag(shop),
        opened=opened,
        standing=shop.subject(opened).state.instrument if opened else None,
    )


@router.post("/new")
def open_new(request: Request, told: Annotated[Opening, Form()]) -> Response:
    """Open the dossier, which is known by its tag."""
    shop = shop_of(request)
    body = instrument_body(known_chronologies(shop)[0], **told.fields())
    open_dossier(shop, body, by=hand_of(request))
    return RedirectResponse(f"/new?opened={body['tag']}", 303)
