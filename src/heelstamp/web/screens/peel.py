"""Peel: the next layer, with its gain, its risk and the owner's word; or stop, and why."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from heelstamp.web.rendering import desk_of, page

router = APIRouter()


@router.get("/dossier/{tag}/peel", response_class=HTMLResponse)
def peel(request: Request, tag: str) -> HTMLResponse:
    """Show the front of inspections."""
    desk = desk_of(request)
    subject = desk.subject(tag)
    return page(
        request, "peel.html", tag=tag, screen="peel", subject=subject, plan=desk.plan(tag),
        labels={one.key: one.label for one in subject.tree},
    )  # fmt: skip
