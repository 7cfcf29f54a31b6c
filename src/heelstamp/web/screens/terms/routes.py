"""All terms on one page, and the lines of screens that a device has hidden."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.casework.glossary import put_away
from heelstamp.errors import InputError
from heelstamp.reference.glossary import load_glossary, load_screen_lines
from heelstamp.web.rendering import AWAY_COOKIE, page
from heelstamp.web.screens.device.routes import YEAR_S, came_from

router = APIRouter()


@router.get("/terms", response_class=HTMLResponse)
def terms(request: Request) -> HTMLResponse:
    """Show every term with its meaning and source."""
    told = sorted(load_glossary().values(), key=lambda one: one.key)
    away = put_away(request.cookies.get(AWAY_COOKIE, ""), load_screen_lines())
    return page(request, "terms/terms.html", screen="terms", terms=told, away=len(away))


@router.post("/hide")
def hide(request: Request, line: Annotated[str, Form(max_length=40)] = "") -> Response:
    """Hide the line of a screen on this device; without one, show all of them again."""
    lines = load_screen_lines()
    if line and line not in lines:
        raise InputError("no such screen", where="line", received=line)
    kept = put_away(request.cookies.get(AWAY_COOKIE, ""), lines) | {line} if line else set()
    answer = RedirectResponse(came_from(request), 303)
    answer.set_cookie(
        AWAY_COOKIE, ".".join(sorted(kept)), max_age=YEAR_S, httponly=True, samesite="strict"
    )
    return answer
