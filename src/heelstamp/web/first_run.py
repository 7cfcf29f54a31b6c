"""The threshold: a bench that has no shop yet asks three questions, then is that shop's bench.

Reached from this machine alone, like every bench that is not shared. The shop is made whole or not
at all; only then does its bench take over, at the same address.
"""

from __future__ import annotations

import asyncio
from contextlib import AbstractAsyncContextManager
from pathlib import Path
from typing import Annotated

from fastapi import FastAPI, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.types import Receive, Scope, Send

from heelstamp.errors import HeelstampError, InputError
from heelstamp.shop import create_shop, is_shop
from heelstamp.web.app import LOOPBACK, create_app
from heelstamp.web.files import serve_files
from heelstamp.web.guard import Guard
from heelstamp.web.problems import status_of
from heelstamp.web.rendering import DEFAULT_HAND, first_page

FIRST = {"name": "", "first": DEFAULT_HAND, "second": "examiner B", "currency": "USD"}
Answer = Annotated[str, Form(max_length=200)]


class Threshold:
    """ASGI application: three questions, then the bench.

    Parameters
    ----------
    folder
        Where the shop is to be made; empty, or not there yet.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._asking = self._questions()
        self._bench: FastAPI | None = None
        self._life: AbstractAsyncContextManager[object] | None = None
        self._opening = asyncio.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer by the bench once there is one."""
        if scope["type"] == "lifespan":
            await self._live(receive, send)
        else:
            await (self._bench or self._asking)(scope, receive, send)

    async def _live(self, receive: Receive, send: Send) -> None:
        await receive()
        await send({"type": "lifespan.startup.complete"})
        await receive()
        if self._life is not None:
            await self._life.__aexit__(None, None, None)
        await send({"type": "lifespan.shutdown.complete"})

    async def _open(self) -> None:
        bench = create_app(self.folder)
        life = bench.router.lifespan_context(bench)
        await life.__aenter__()
        self._bench, self._life = bench, life

    def _questions(self) -> FastAPI:
        app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)
        app.add_middleware(Guard, hosts=LOOPBACK)
        serve_files(app)
        folder = str(self.folder.absolute())

        @app.get("/", response_class=HTMLResponse)
        def ask(request: Request) -> HTMLResponse:
            return first_page(
                request, "first_run/first_run.html", given=FIRST, error=None, folder=folder
            )

        @app.post("/", response_class=HTMLResponse)
        async def made(
            request: Request, name: Answer, first: Answer, currency: Answer, second: Answer = ""
        ) -> Response:
            given = {"name": name, "first": first, "second": second, "currency": currency}
            async with self._opening:
                try:
                    if self._bench is None:
                        await run_in_threadpool(make_shop, self.folder, **given)
                        await self._open()
                except HeelstampError as error:
                    return first_page(
                        request,
                        "first_run/first_run.html",
                        status=status_of(error),
                        given=given,
                        error=error,
                        folder=folder,
                    )
            return RedirectResponse("/begin", 303)

        @app.get("/{path:path}")
        def elsewhere(path: str) -> Response:  # noqa: ARG001
            return RedirectResponse("/", 303)

        return app


def make_shop(folder: Path, *, name: str, first: str, second: str, currency: str) -> None:
    """Make the shop that was described.

    Raises
    ------
    InputError
        An answer cannot be used.
    ConflictError
        The folder is no longer empty.
    StorageError
        No permission, or the disk is full.
    """
    hands = list(dict.fromkeys(one.strip() for one in (first, second) if one.strip()))
    if not hands or not all(one.isprintable() for one in hands):
        raise InputError(
            "a role is plain text, and there is at least one",
            where="who examines",
            received=ascii(first),
            remedy="Write one, as examiner A.",
        )
    if is_shop(folder):
        return  # made in between, by the command or another page
    create_shop(
        folder, name=name.strip(), currency=currency.strip().upper(), examiners=hands
    ).close()
