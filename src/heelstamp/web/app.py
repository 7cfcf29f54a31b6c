"""The application: one shop, its screens, and how every error leaves as a page.

Status codes are decided here and nowhere below. The desk is opened when the server starts and
closed when it stops.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Iterable, Mapping
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

from heelstamp import __version__
from heelstamp.casework.spreadsheet.sheet import TableError
from heelstamp.errors import HeelstampError, InputError
from heelstamp.shop.answers import KeptAnswers
from heelstamp.shop.freed_memory import given_back
from heelstamp.shop.jobs import Job
from heelstamp.shop.live import News
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.record_forms import fill_forms
from heelstamp.shop.sharing import Sharing
from heelstamp.shop.uv_lamp import job_told
from heelstamp.shop.webhooks import Webhooks
from heelstamp.web import watching
from heelstamp.web.api import ROUTERS
from heelstamp.web.api.acts import acts_of
from heelstamp.web.api.described import describe
from heelstamp.web.files import serve_files
from heelstamp.web.gate import Gate, Shared
from heelstamp.web.guard import Guard
from heelstamp.web.problems import problem, status_of
from heelstamp.web.rendering import page
from heelstamp.web.screens import (
    accounts,
    condition,
    cover,
    device,
    due,
    enquiries,
    findings,
    first_calls,
    first_look,
    first_run,
    instrument,
    intake,
    learning,
    listing,
    live,
    makers,
    marks,
    money,
    new_dossier,
    next_look,
    offline,
    other_shops,
    own_record,
    owner_sends,
    pairing,
    persons,
    photographs,
    programs,
    questions,
    rack,
    recordings,
    reports,
    return_check,
    sale,
    screws,
    setup,
    shipping,
    spreadsheet,
    taking_back,
    terms,
    uv_lamp,
    webhooks,
    wording,
    work,
    work_plan,
)
from heelstamp.web.stopping import ended_first

if TYPE_CHECKING:
    from prometheus_client import CollectorRegistry

LOOPBACK = ("localhost", "127.0.0.1", "::1")
SCREENS = (
    rack,
    instrument,
    intake,
    photographs,
    condition,
    first_look,
    next_look,
    screws,
    marks,
    work,
    work_plan,
    findings,
    wording,
    reports,
    questions,
    return_check,
    taking_back,
    device,
    offline,
    terms,
    new_dossier,
    uv_lamp,
    live,
    setup,
    recordings,
    money,
    sale,
    listing,
    enquiries,
    shipping,
    persons,
    cover,
    due,
    own_record,
    spreadsheet,
    makers,
    learning,
    other_shops,
    first_calls,
    programs,
    webhooks,
)
OPENING_SCREENS = (first_run,)
"""What a new shop begins with; no dossier is known to it."""
SHARED_SCREENS = (accounts, pairing, owner_sends)
"""Screens that there are only where the shop's network is let in."""


def create_app(
    folder: Path,
    *,
    hosts: Iterable[str] = LOOPBACK,
    shared: Shared | None = None,
    share: Callable[[Path], Sharing] = Sharing,
    metrics: CollectorRegistry | None = None,
    log: bool = False,
) -> FastAPI:
    """Make the bench of one shop.

    Parameters
    ----------
    folder
        The shop's folder.
    hosts
        Names by which browsers may call it; loopback unless the shop's network is let in.
    shared
        How the shop's network is let in; None asks nobody to sign in.
    share
        Opens the accounts of a shop that is shared.
    metrics, log
        Where requests are counted, and whether each is told in a line; see `watching`.

    Raises
    ------
    HeelstampError
        When the server starts: the folder is no shop, or it cannot be opened.
    """

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        fill_forms()
        app.state.sharing = None if shared is None else share(folder)
        app.state.answers = KeptAnswers(folder)
        app.state.webhooks = Webhooks(folder)
        with OpenShop(folder) as shop:
            app.state.shop = shop

            def went_on(job: Job) -> None:
                if job.what == "compare":
                    shop.live.tell(job.about, News("work", job_told(job)))

            shop.jobs.listen(went_on)
            app.state.webhooks.start()
            try:
                with ended_first(shop.live.close), given_back():
                    yield
            finally:
                shop.live.close()
                app.state.webhooks.close()
                app.state.answers.close()
                if app.state.sharing is not None:
                    app.state.sharing.close()

    app = FastAPI(
        title="Heelstamp",
        version=__version__,
        lifespan=life,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api.json",
        generate_unique_id_function=lambda route: route.name,
    )
    app.state.shared, app.state.sharing = shared, None
    if shared is not None:
        app.add_middleware(Gate)
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    app.add_middleware(
        Guard,
        hosts=tuple(hosts),
        shared=shared is not None,
        only_encrypted=shared is not None and shared.only_encrypted,
    )
    if metrics is not None:
        metrics.register(watching.Standing(app))
    if metrics is not None or log:
        app.add_middleware(watching.Watch, registry=metrics, log=log)
    app.include_router(watching.router, include_in_schema=False)
    serve_files(app)
    for router in (*ROUTERS, acts_of(screen.router for screen in SCREENS)):
        app.include_router(router)
    describe(app)
    own = SHARED_SCREENS if shared is not None else ()
    for screen in (*SCREENS, *OPENING_SCREENS, *own):
        app.include_router(screen.router, include_in_schema=False)
    app.add_exception_handler(HeelstampError, _refused)
    app.add_exception_handler(HTTPException, _lost)
    app.add_exception_handler(RequestValidationError, _misread)
    return app


def _told(request: Request, error: HeelstampError, status: int) -> Response:
    if request.url.path.startswith("/api/"):
        return problem(error, status)
    if isinstance(error, TableError):
        return page(request, "learning/table_refused.html", status=status, error=error)
    tag, subject = "", None
    if request.url.path.startswith("/dossier/"):
        tag = request.url.path.split("/")[2]
        with suppress(HeelstampError):
            subject = request.app.state.shop.subject(tag)
    return page(request, "refusal.html", status=status, error=error, tag=tag, subject=subject)


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HeelstampError)
    return _told(request, error, status_of(error))


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
