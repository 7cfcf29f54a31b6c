"""Cover: what lies where tonight, against the limit of its cover."""

from __future__ import annotations

from itertools import zip_longest
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.shop import now
from heelstamp.shop.premises import keep_cover, nights
from heelstamp.web.rendering import page, shop_of
from heelstamp.web.screens.cover.forms import Covers

router = APIRouter()
NIGHTS = 7


@router.get("/cover", response_class=HTMLResponse)
def cover(request: Request) -> HTMLResponse:
    """Show what lies where tonight and on the nights before, and the cover as declared."""
    shop = shop_of(request)
    seen = nights(shop, now()[:10], NIGHTS)
    return page(
        request,
        "cover/cover.html",
        screen="cover",
        tonight=seen[0],
        before=seen[1:],
        currency=shop.currency,
    )


@router.post("/cover")
def keep(request: Request, told: Annotated[Covers, Form()]) -> Response:
    """Keep the cover as declared."""
    rows = zip_longest(told.name, told.limit, told.until, fillvalue="")
    keep_cover(shop_of(request), list(rows))
    return RedirectResponse("/cover", 303)
