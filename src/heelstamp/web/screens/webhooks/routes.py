"""Webhooks: which programs are told that a dossier grew, and whether it arrives.

A private network is not allowed here: whoever got hold of an owner's session could have this
machine knock on doors behind it. It is allowed on the machine itself, by the command.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from heelstamp.shop.webhooks import Webhooks
from heelstamp.web.rendering import KEEP_NOTHING, page

router = APIRouter()
Id = Annotated[str, Form(alias="id", pattern=r"^[0-9a-f]{1,40}$")]


def webhooks_of(request: Request) -> Webhooks:
    """The webhooks of the shop."""
    found: Webhooks = request.app.state.webhooks
    return found


@router.get("/webhooks", response_class=HTMLResponse)
def webhooks(request: Request) -> HTMLResponse:
    """Show where messages go, and whether they arrive."""
    return page(request, "webhooks/webhooks.html", webhooks=webhooks_of(request).all())


@router.post("/webhooks/add", response_class=HTMLResponse)
def add(
    request: Request,
    name: Annotated[str, Form(max_length=200)],
    url: Annotated[str, Form(max_length=1000)],
) -> HTMLResponse:
    """Make a webhook, and show its secret once."""
    made = webhooks_of(request).add(name, url)
    answer = page(request, "webhooks/made.html", made=made)
    answer.headers.update(KEEP_NOTHING)
    return answer


@router.post("/webhooks/again")
def again(request: Request, id_: Id) -> Response:
    """Send anew to a webhook that failed or was stopped."""
    webhooks_of(request).again(id_)
    return RedirectResponse("/webhooks", 303)


@router.post("/webhooks/end")
def end(request: Request, id_: Id) -> Response:
    """Take a webhook out."""
    webhooks_of(request).end(id_)
    return RedirectResponse("/webhooks", 303)
