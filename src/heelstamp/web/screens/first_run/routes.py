"""Begin: a new shop's first page, which offers the invented demonstration or a first dossier."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.shop.demonstration import DEMO_TAG, begin_demonstration, demonstration_job
from heelstamp.web.rendering import page, shop_of

router = APIRouter()


@router.get("/begin", response_class=HTMLResponse)
def begin(request: Request) -> HTMLResponse:
    """Offer what to do first; tell how far the demonstration is."""
    shop = shop_of(request)
    here = shop.journals.head(DEMO_TAG) is not None
    return page(
        request, "first_run/begin.html", work=demonstration_job(shop), demo=DEMO_TAG if here else ""
    )


@router.post("/begin/demonstration")
def demonstration(request: Request) -> Response:
    """Begin to bring the demonstration in; the page tells when it is there."""
    begin_demonstration(shop_of(request))
    return RedirectResponse("/begin", 303)
