"""The application: one shop, its screens, and the door through which every error leaves as a page.

Status codes are decided here and nowhere below. The desk is opened when the server starts and
closed when it stops.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable, Mapping
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

from heelstamp import __version__
from heelstamp.casework.sharing import NotPermittedError
from heelstamp.errors import ConflictError, HeelstampError, InputError
from heelstamp.shop.demonstration import DemoWork
from heelstamp.shop.desk_frames import COPIES_MAX
from heelstamp.shop.desk_lamp import work_told
from heelstamp.shop.desk_papers import PREVIEWS_MAX
from heelstamp.shop.image_work import ImageWork, Work
from heelstamp.shop.kept_bytes import KeptBytes
from heelstamp.shop.lamp_pictures import LampPictures
from heelstamp.shop.live import Live, News
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.piece_work import PieceWork
from heelstamp.shop.sharing import Sharing, SignInRefusedError, WaitError
from heelstamp.web import api
from heelstamp.web.gate import Gate, Shared
from heelstamp.web.guard import Guard
from heelstamp.web.rendering import page
from heelstamp.web.screens import (
    accounts,
    entering,
    findings,
    first_look,
    first_run,
    instrument,
    intake,
    learning,
    live,
    makers,
    marks,
    money,
    new_dossier,
    next_look,
    offline,
    pairing,
    photographs,
    questions,
    rack,
    recordings,
    reports,
    return_check,
    rooms,
    screws,
    setup,
    terms,
    uv_lamp,
    wording,
    work,
)
from heelstamp.web.stopping import ended_first

STATIC = Path(__file__).parent / "static"
LOOPBACK = ("localhost", "127.0.0.1", "::1")
_STATUS: tuple[tuple[type[HeelstampError], int], ...] = (
    (WaitError, 429),
    (SignInRefusedError, 401),
    (NotPermittedError, 403),
    (ConflictError, 409),
    (InputError, 422),
)

LOST = frozenset({"no such dossier", "no such chronology", "no such work"})
"""What an address can name that is not there."""

SCREENS = (
    rack,
    instrument,
    intake,
    photographs,
    first_look,
    next_look,
    screws,
    marks,
    work,
    findings,
    wording,
    reports,
    questions,
    return_check,
    entering,
    rooms,
    offline,
    terms,
    new_dossier,
    uv_lamp,
    live,
    setup,
    recordings,
    money,
    makers,
    learning,
)
OPENING_SCREENS = (first_run,)
"""What a new shop begins with; no dossier is known to it."""
SHARED_SCREENS = (accounts, pairing)
"""Screens that there are only where the shop's network is let in."""


def create_app(
    shop: Path, *, hosts: Iterable[str] = LOOPBACK, shared: Shared | None = None
) -> FastAPI:
    """Make the bench of one shop.

    Parameters
    ----------
    shop
        The shop's folder.
    hosts
        Names by which browsers may call it; loopback unless the shop's network is let in.
    shared
        How the shop's network is let in; None asks nobody to sign in.

    Raises
    ------
    HeelstampError
        When the server starts: the folder is no shop, or it cannot be opened.
    """

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        app.state.desk = OpenShop(shop)
        app.state.copies = KeptBytes(COPIES_MAX)
        app.state.previews = KeptBytes(PREVIEWS_MAX)
        channel = app.state.live = Live(app.state.desk.shop.journals.head)

        def went_on(work: Work) -> None:
            channel.tell(work.tag, News("work", work_told(work.tag, work)))

        app.state.works = ImageWork(went_on)
        app.state.lamp_pictures = LampPictures()
        app.state.work = PieceWork()
        app.state.demo = DemoWork()
        app.state.sharing = None if shared is None else Sharing(shop)
        try:
            with ended_first(channel.close):
                yield
        finally:
            channel.close()
            app.state.works.close()
            if app.state.sharing is not None:
                app.state.sharing.close()
            app.state.work.close()
            app.state.desk.close()

    app = FastAPI(
        title="Heelstamp",
        version=__version__,
        lifespan=life,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api.json",
    )
    app.state.shared, app.state.sharing = shared, None
    if shared is not None:
        app.add_middleware(Gate)
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    app.add_middleware(Guard, hosts=tuple(hosts), shared=shared is not None)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.include_router(api.router)
    own = SHARED_SCREENS if shared is not None else ()
    for screen in (*SCREENS, *OPENING_SCREENS, *own):
        app.include_router(screen.router, include_in_schema=False)
    app.add_exception_handler(HeelstampError, _refused)
    app.add_exception_handler(HTTPException, _lost)
    app.add_exception_handler(RequestValidationError, _misread)
    return app


def status_of(error: HeelstampError) -> int:
    """Give the status of an error: 422 what was sent, 409 what stands against it, 500 the rest."""
    return next((status for kind, status in _STATUS if isinstance(error, kind)), 500)


def _told(request: Request, error: HeelstampError, status: int) -> Response:
    if request.url.path.startswith("/api/"):
        return api.problem(error, status)
    tag, subject = "", None
    if request.url.path.startswith("/dossier/"):
        tag = request.url.path.split("/")[2]
        with suppress(HeelstampError):
            subject = request.app.state.desk.subject(tag)
    return page(request, "refusal.html", status=status, error=error, tag=tag, subject=subject)


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HeelstampError)
    named = error.received in request.url.path.split("/")
    status = 404 if named and error.what in LOST else status_of(error)
    return _told(request, error, status)


def _lost(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    told = InputError(
        "there is no such page" if error.status_code == 404 else str(error.detail).lower(),
        where=request.url.path,
        remedy="Go back to the rack.",
    )
    return _told(request, told, error.status_code)


def _meant(fault: Mapping[str, Any]) -> str:
    """Say in plain words what a field wants."""
    bounds = fault.get("ctx", {})
    if str(fault["type"]).endswith("_parsing"):
        return "Give a number, as 21.5."
    for key, bound in (("le", "at most"), ("ge", "at least"), ("lt", "under"), ("gt", "over")):
        if key in bounds:
            return f"Give {bound} {bounds[key]:g}."
    return f"{fault['msg']}."


def _misread(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    told = InputError(
        "a field that cannot be read",
        where=str(first["loc"][-1]).replace("_", " "),
        received=first.get("input"),
        remedy=f"{_meant(first)} Correct it and send it again.",
    )
    return _told(request, told, 422)
