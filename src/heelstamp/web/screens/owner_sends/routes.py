"""The page of an owner who opened a link: it shows what they sent and asks for the rest.

Nobody is signed in here. A secret in the device's own cookie leads to one call; with it pictures
and answers may be sent to that call, and its own pictures seen again. No range, no sum and no
other page of the shop is told. The secret is looked at before the body of a request is read.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from heelstamp.casework.first_call.describe import frames_said
from heelstamp.casework.first_call.record import FirstCall, frames_of
from heelstamp.errors import HeelstampError, InputError, LimitError
from heelstamp.shop import first_call, now
from heelstamp.shop.first_call_weighing import call_questions
from heelstamp.web.gate import shared_of
from heelstamp.web.rendering import page, shop_of

router = APIRouter()
HOME = "/owner-sends"


@router.get("/owner/{token}", response_class=HTMLResponse)
def invited(request: Request, token: str) -> Response:
    """Say what the link is for; a look alone does not use it up."""
    good = first_call.is_good(shop_of(request), token, now())
    if not good and _known(request) is not None:
        return RedirectResponse(HOME, 303)  # the same link again, on the device that opened it
    return page(
        request, "owner_sends/invited.html", status=200 if good else 410, token=token, good=good
    )


@router.post("/owner/{token}")
def begin(request: Request, token: str) -> Response:
    """Open the link, once: this device may send from now on."""
    shop, at = shop_of(request), now()
    call, secret = first_call.open_link(shop, token, at)
    assert call.device is not None
    lasts = datetime.fromisoformat(call.device.until) - datetime.fromisoformat(at)
    answer = RedirectResponse(HOME, 303)
    answer.set_cookie(
        _cookie(request),
        secret,
        max_age=int(lasts.total_seconds()),
        path="/",
        secure=shared_of(request).secure,
        httponly=True,
        samesite="lax",  # the owner comes back to it from a mail
    )
    return answer


@router.get(HOME, response_class=HTMLResponse)
def sends(request: Request) -> HTMLResponse:
    """Show what is asked for, what came, and what to take again."""
    return _page(request, _call(request))


@router.get(HOME + "/seen/{picture}")
def seen(request: Request, picture: str) -> Response:
    """Send a small copy of one of the owner's own pictures back."""
    data = first_call.picture_copy(shop_of(request), _call(request).id, picture, 320)
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, no-cache"})


@router.post(HOME + "/picture")
async def take(request: Request) -> Response:
    """Keep a picture for a frame."""
    call = await run_in_threadpool(_call, request)
    async with request.form(max_files=1, max_fields=4) as form:
        slot, photo = str(form.get("slot", "")), form.get("photo")
        if not isinstance(photo, UploadFile):
            raise InputError("no picture was chosen", remedy="Choose one, then send it.")
        data = await photo.read(first_call.MOST_PICTURE + 1)
        name = photo.filename or ""
    try:
        first_call.asked_of().frame(slot)
        await run_in_threadpool(_take, request, call, data, name, slot)
    except (InputError, LimitError) as error:
        return await run_in_threadpool(_page, request, call, error=error, failed=slot)
    return RedirectResponse(f"{HOME}#{slot}", 303)


@router.post(HOME + "/answers")
async def answers(request: Request) -> Response:
    """Keep what the owner tells."""
    call = await run_in_threadpool(_call, request)
    async with request.form(max_files=0, max_fields=100) as form:
        told = {key: str(value) for key, value in form.items()}
    try:
        await run_in_threadpool(first_call.take_answers, shop_of(request), call.id, told)
    except InputError as error:
        return await run_in_threadpool(_page, request, call, error=error)
    return RedirectResponse(f"{HOME}?kept=1#answers", 303)


@router.post(HOME + "/done")
def done(request: Request) -> Response:
    """Note that all is sent; this device may send no more."""
    call = _call(request)
    first_call.finish_call(shop_of(request), call.id, now())
    answer = page(request, "owner_sends/thanks.html", leave=first_call.asked_of().leave)
    answer.delete_cookie(_cookie(request), path="/", secure=shared_of(request).secure)
    return answer


def _cookie(request: Request) -> str:
    return "__Host-owner" if shared_of(request).secure else "owner"


def _call(request: Request) -> FirstCall:
    secret = request.cookies.get(_cookie(request), "")
    return first_call.call_of_device(shop_of(request), secret, now())


def _known(request: Request) -> FirstCall | None:
    try:
        return _call(request)
    except HeelstampError:
        return None


def _take(request: Request, call: FirstCall, data: bytes, name: str, slot: str) -> None:
    first_call.take_picture(
        shop_of(request), call.id, data, name=name, slot=slot, way="link", at=now()
    )


def _page(
    request: Request, call: FirstCall, *, error: HeelstampError | None = None, failed: str = ""
) -> HTMLResponse:
    shop, asked = shop_of(request), first_call.asked_of()
    frames = frames_of(call, asked)
    told: dict[str, Any] = {"questions": call_questions(shop, call)}
    return page(
        request,
        "owner_sends/owner_sends.html",
        status=200 if error is None else 422,
        call=call,
        asked=asked,
        frames=frames,
        said=frames_said(frames),
        weighed=told,
        error=error,
        failed=failed,
        kept=bool(request.query_params.get("kept")),
    )
