"""First calls: noted by the shop, sent to by a link, weighed, and opened as dossiers."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from heelstamp.casework.first_call.record import stands, unnamed
from heelstamp.report.address_code import address_code_svg
from heelstamp.shop import first_call, now
from heelstamp.shop.first_call_weighing import message_of, narrowing, weigh_call
from heelstamp.shop.new_dossier import free_tag, known_chronologies
from heelstamp.web.rendering import drawn, hand_of, page, shop_of
from heelstamp.web.screens.first_calls.forms import Arrived, Begun, Brought, Chosen, Linked, Named

router = APIRouter()


@router.get("/calls", response_class=HTMLResponse)
def calls(request: Request) -> HTMLResponse:
    """Show every call, the newest first."""
    shop, at = shop_of(request), now()
    asked = first_call.asked_of()
    rows = [
        (one, len({each.slot for each in one.sent}), stands(one.device or one.link, at))
        for one in first_call.calls(shop)
    ]
    return page(
        request,
        "first_calls/first_calls.html",
        screen="calls",
        rows=rows,
        frames=len(asked.frames),
        known=known_chronologies(shop)[0],
    )


@router.post("/calls")
def begin(request: Request, told: Annotated[Begun, Form()]) -> Response:
    """Note a call."""
    call = first_call.begin_call(
        shop_of(request),
        about=told.about,
        chronology=told.chronology,
        by=hand_of(request),
        at=now(),
    )
    return _back(call.id)


@router.get("/calls/{call}", response_class=HTMLResponse)
def one_call(request: Request, call: str, narrow: Annotated[bool, Query()] = False) -> HTMLResponse:
    """Show a call; what would narrow its ranges where that is asked for, since it takes seconds."""
    return _shown(request, call, narrow=narrow)


@router.get("/calls/{call}/picture/{picture}")
def picture(
    request: Request, call: str, picture: str, wide: Annotated[int, Query(ge=64, le=4000)] = 480
) -> Response:
    """Send a copy of a picture with nothing in it but the picture."""
    data = first_call.picture_copy(shop_of(request), call, picture, wide)
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, no-cache"})


@router.post("/calls/{call}/chronology")
def choose(request: Request, call: str, told: Annotated[Chosen, Form()]) -> Response:
    """Choose which chronology is asked."""
    first_call.ask_chronology(shop_of(request), call, told.chronology)
    return _back(call)


@router.post("/calls/{call}/link", response_class=HTMLResponse)
def link(request: Request, call: str, told: Annotated[Linked, Form()]) -> HTMLResponse:
    """Make a link and show it this once: only its digest is kept."""
    token = first_call.make_link(shop_of(request), call, told.days, now())
    return _shown(request, call, token=token)


@router.post("/calls/{call}/end-link")
def end_link(request: Request, call: str) -> Response:
    """End the link, and what the device that opened it may do."""
    first_call.end_link(shop_of(request), call)
    return _back(call)


@router.post("/calls/{call}/picture")
def bring(request: Request, call: str, told: Annotated[Brought, Form()]) -> Response:
    """Keep a picture that reached the shop by another way."""
    first_call.take_picture(
        shop_of(request),
        call,
        told.photo.file.read(first_call.MOST_PICTURE + 1),
        name=told.photo.filename or "",
        slot=told.slot,
        way="folder",
        at=now(),
    )
    return _back(call)


@router.post("/calls/{call}/name")
def name(request: Request, call: str, told: Annotated[Named, Form()]) -> Response:
    """Say which frame a picture shows."""
    first_call.name_picture(shop_of(request), call, told.picture, told.slot)
    return _back(call)


@router.post("/calls/{call}/answers")
async def answers(request: Request, call: str) -> Response:
    """Keep what an owner told the shop by word of mouth."""
    async with request.form(max_files=0, max_fields=100) as form:
        told = {key: str(value) for key, value in form.items()}
    await run_in_threadpool(first_call.take_answers, shop_of(request), call, told)
    return _back(call)


@router.post("/calls/{call}/arrive")
def arrive(request: Request, call: str, told: Annotated[Arrived, Form()]) -> Response:
    """Open the dossier of an instrument that has come in."""
    done = first_call.arrive(
        shop_of(request),
        call,
        tag=told.tag,
        by=hand_of(request),
        at=now(),
        chronology=told.chronology,
    )
    return RedirectResponse(f"/dossier/{quote(done.dossier)}/intake", 303)


@router.post("/calls/{call}/let-go")
def let_go(request: Request, call: str) -> Response:
    """Take a call away for good, with all that was sent."""
    first_call.let_go(shop_of(request), call)
    return RedirectResponse("/calls", 303)


def _back(call: str) -> RedirectResponse:
    return RedirectResponse(f"/calls/{quote(call)}", 303)


def _shown(request: Request, id_: str, *, token: str = "", narrow: bool = False) -> HTMLResponse:
    shop, at = shop_of(request), now()
    call, asked = first_call.call_at(shop, id_), first_call.asked_of()
    weighed = weigh_call(shop, call, at)
    shared = request.app.state.shared
    address = f"{shared.address}/owner/{quote(token)}" if shared is not None and token else ""
    until = "" if call.link is None else call.link.until[:10]
    message = message_of(weighed, link=address, until=until)
    return page(
        request,
        "first_calls/first_call.html",
        screen="calls",
        call=call,
        weighed=weighed,
        asked=asked,
        unnamed=unnamed(call, asked),
        message=message,
        address=address,
        code=drawn(address_code_svg(address, "The link, as a QR code")) if address else None,
        standing=stands(call.device or call.link, at),
        narrow=narrowing(shop, call) if narrow else None,
        known=known_chronologies(shop)[0],
        next=free_tag(shop),
    )
