"""Peel: the next layer, with its gain, its risk and the owner's word; or stop, and why."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from heelstamp.shop.planning import next_look, next_look_ready
from heelstamp.web.rendering import desk_of, page, partial

router = APIRouter()


@router.get("/dossier/{tag}/next-look", response_class=HTMLResponse)
def peel(request: Request, tag: str, whole: bool = False) -> HTMLResponse:
    """Show the front of inspections; it takes a second to work out, so the page comes before it."""
    desk = desk_of(request)
    ready = whole or next_look_ready(desk, tag)
    return page(
        request,
        "next_look/front.html" if whole and partial(request) else "next_look/next_look.html",
        tag=tag,
        screen="next-look",
        subject=desk.subject(tag),
        plan=next_look(desk, tag) if ready else None,
    )
