"""Who is at this device, in which light, in which unit of length: choices kept in the browser."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from heelstamp.errors import ConflictError, InputError
from heelstamp.units import LENGTH_UNITS
from heelstamp.web.guard import split_address
from heelstamp.web.rendering import HAND_COOKIE, LENGTHS_COOKIE, LIGHT_COOKIE, LIGHTS, shop_of

router = APIRouter()
YEAR_S = 365 * 24 * 3600


@router.post("/light")
def light(request: Request, light: Annotated[str, Form(max_length=10)]) -> Response:
    """Choose paper, dusk, or red for work under the lamp; the one that is on goes off again.

    With none chosen the bench is light or dark as the device is.
    """
    if light not in LIGHTS:
        raise InputError("no such light", received=light, remedy=f"Choose {', '.join(LIGHTS)}.")
    if light == request.cookies.get(LIGHT_COOKIE):
        answer = RedirectResponse(came_from(request), 303)
        answer.delete_cookie(LIGHT_COOKIE, httponly=True, samesite="strict")
        return answer
    return _kept(request, LIGHT_COOKIE, light)


@router.post("/lengths")
def lengths(request: Request, lengths: Annotated[str, Form(max_length=10)]) -> Response:
    """Choose millimetres or inches for what is shown and typed; records keep millimetres."""
    if lengths not in LENGTH_UNITS:
        raise InputError(
            "no such unit of length", received=lengths, remedy=f"Choose {', '.join(LENGTH_UNITS)}."
        )
    return _kept(request, LENGTHS_COOKIE, lengths)


@router.post("/hand")
def hand(request: Request, hand: Annotated[str, Form(max_length=60)]) -> Response:
    """Choose the role that signs entries from this device, where nobody need sign in."""
    if request.app.state.shared is not None:
        raise ConflictError(
            "entries are signed by who is signed in", remedy="Sign out, then in as another."
        )
    known = shop_of(request).examiners
    if known and hand not in known:
        raise InputError(
            "not one of the shop's examiners", received=hand, remedy=f"Use {', '.join(known)}."
        )
    if not hand.isprintable() or not hand.strip():
        raise InputError("a role is plain text", where="hand", received=ascii(hand))
    return _kept(request, HAND_COOKIE, hand)


def came_from(request: Request) -> str:
    """The page of this bench that a form was sent from."""
    came = split_address(request.headers.get("referer", "/"))
    path = "/" + came.path.lstrip("/\\")
    return path + (f"?{came.query}" if came.query else "")


def _kept(request: Request, name: str, value: str) -> Response:
    answer = RedirectResponse(came_from(request), 303)
    answer.set_cookie(name, value, max_age=YEAR_S, httponly=True, samesite="strict")
    return answer
