"""The instrument's own page: where it stands, what is known of it, what is next."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from heelstamp.web.rendering import desk_of, page, partial, sees_sums
from heelstamp.web.screens.instrument.view import is_known, known_lines, standing

router = APIRouter()


@router.get("/dossier/{tag}", response_class=HTMLResponse)
def instrument(request: Request, tag: str, whole: bool = False) -> HTMLResponse:
    """Show where it stands at once; what has to be worked out first follows in its place."""
    shop, sums = desk_of(request), sees_sums(request)
    ready = whole or is_known(shop, tag)
    return page(
        request,
        "instrument/known.html" if whole and partial(request) else "instrument/instrument.html",
        tag=tag,
        screen="instrument",
        subject=shop.subject(tag),
        now=standing(shop, tag, sums=sums),
        known=known_lines(shop, tag, sums=sums) if ready else None,
    )
