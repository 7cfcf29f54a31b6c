"""The gate of a shared shop: who is signed in, and whether that is enough.

It stands before every screen and before the JSON API, and asks one table (`heelstamp.web.permits`).
A program sends a token (RFC 6750) in the place of a session, to the JSON API alone.
A stream of events ends with its session: it is asked for again before each event.
A bench that only its own machine can reach has no gate and looks up no session.
"""

from __future__ import annotations

from typing import NamedTuple
from urllib.parse import unquote, urlencode

from fastapi import Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from heelstamp.casework.sharing import Role, Session
from heelstamp.casework.sharing.sessions import LASTS
from heelstamp.casework.sharing.tokens import ENTER
from heelstamp.errors import ConflictError, HeelstampError, StorageError
from heelstamp.shop.programs import program_of
from heelstamp.shop.sharing import Sharing
from heelstamp.web.guard import SAFE, bearer_of
from heelstamp.web.permits import changes, least_role
from heelstamp.web.problems import problem
from heelstamp.web.rendering import page, who_of

CLAIM_COOKIE = "pairing"
MEANT_FOR = "heelstamp-account"
"""Header of the page's own script: the account under which the entry was made."""


class Shared(NamedTuple):
    """How a shop is shared.

    Attributes
    ----------
    address
        The address that other devices open.
    secure
        Whether it is encrypted.
    authority
        Certificate (DER) of the shop's own authority, which devices are asked to trust; empty
        without one.
    only_encrypted
        Whether browsers are told to open this name encrypted alone, for a year (RFC 6797).
    """

    address: str
    secure: bool
    authority: bytes = b""
    only_encrypted: bool = False

    @property
    def cookie(self) -> str:
        """Name of the session's cookie; the prefix binds it to this host (RFC 6265bis, 4.1.3)."""
        return "__Host-session" if self.secure else "session"


def sharing_of(request: Request) -> Sharing:
    """The accounts of the shop."""
    sharing: Sharing = request.app.state.sharing
    return sharing


def shared_of(request: Request) -> Shared:
    """How the shop is shared."""
    shared: Shared = request.app.state.shared
    return shared


def signed_in(request: Request) -> Session:
    """Who is signed in, on a page that the gate lets nobody else see."""
    who = who_of(request)
    if who is None:
        raise ConflictError("nobody is signed in", remedy="Sign in first.")
    return who


def let_in(answer: Response, token: str, shared: Shared) -> Response:
    """Hand a device its token: out of reach of scripts and of other sites (RFC 6265bis)."""
    answer.set_cookie(
        shared.cookie,
        token,
        max_age=int(LASTS.total_seconds()),
        path="/",
        secure=shared.secure,
        httponly=True,
        samesite="strict",
    )
    return answer


def let_out(answer: Response, shared: Shared) -> Response:
    """Take the token from a device."""
    answer.delete_cookie(
        shared.cookie, path="/", secure=shared.secure, httponly=True, samesite="strict"
    )
    return answer


class Gate:
    """ASGI middleware that lets through who is signed in and may."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] == "http" and not _carries_no_record(scope):
            request = Request(scope)
            answer = await run_in_threadpool(_answer, request)
            if answer is not None:
                await answer(scope, receive, send)
                return
            who = who_of(request)
            if who is not None:
                send = _while_signed_in(send, sharing_of(request), who.digest)
        elif scope["type"] == "websocket":  # no screen speaks so
            await send({"type": "websocket.close", "code": 1008})
            return
        await self._app(scope, receive, send)


def _while_signed_in(send: Send, sharing: Sharing, digest: str) -> Send:
    """A way to send that ends a stream of events when its session has ended."""
    stream = ended = False

    async def watched(message: Message) -> None:
        nonlocal stream, ended
        if ended:
            return
        if message["type"] == "http.response.start":
            kind = Headers(raw=message["headers"]).get("content-type", "")
            stream = kind.startswith("text/event-stream")
        elif stream and not await run_in_threadpool(sharing.holds, digest):
            ended = True
            message = {"type": "http.response.body", "body": b"", "more_body": False}
        await send(message)

    return watched


def _carries_no_record(scope: Scope) -> bool:
    return (
        scope["path"].startswith("/static/") and least_role(scope["path"], scope["method"]) is None
    )


def _answer(request: Request) -> Response | None:
    path = str(request.scope["path"])  # the one that the router looks at
    least = least_role(path, request.method)
    bearer = bearer_of(request.headers)
    scopes: tuple[str, ...] | None = None
    who: Session | None
    try:
        if bearer and path.startswith(("/api/", "/api.json")):
            found = program_of(sharing_of(request), bearer)
            if found is None:
                return _unknown_token(request, path)
            who, scopes = found
        else:
            who = sharing_of(request).who(request.cookies.get(shared_of(request).cookie, ""))
    except HeelstampError as error:
        return _told(request, error, 503 if isinstance(error, StorageError) else 500)
    request.state.who = who
    if least is None:
        return None
    if scopes is not None and ENTER not in scopes and changes(path, request.method):
        return _out_of_scope(request, path)
    return _sign_in_first(request, path) if who is None else _held(request, path, who, least)


def _unknown_token(request: Request, path: str) -> Response:
    error = ConflictError(
        "this token opens nothing",
        where=path,
        remedy="It has ended, or is none of this shop: ask for another on the accounts page.",
    )
    answer = _told(request, error, 401)
    answer.headers["www-authenticate"] = 'Bearer error="invalid_token"'
    return answer


def _out_of_scope(request: Request, path: str) -> Response:
    error = ConflictError(
        "this token may only look", where=path, remedy=f"It takes a token with the scope {ENTER}."
    )
    answer = _told(request, error, 403)
    answer.headers["www-authenticate"] = f'Bearer error="insufficient_scope", scope="{ENTER}"'
    return answer


def _held(request: Request, path: str, who: Session, least: Role) -> Response | None:
    meant = unquote(request.headers.get(MEANT_FOR, ""))
    if meant and meant != who.account and request.method not in SAFE:
        other = ConflictError(
            "another account is signed in now",
            received=who.account,
            remedy=f"This was made by {meant}: sign in as {meant}, then send it again.",
        )
        return _told(request, other, 401)
    if who.role.may(least):
        return None
    refused = ConflictError(
        "this account may not do that",
        where=path,
        received=f"{who.account}, {who.role.value}",
        remedy=f"It takes the role {least.value}.",
    )
    return _told(request, refused, 403)


def _sign_in_first(request: Request, path: str) -> Response:
    shown = request.method in SAFE and "text/html" in request.headers.get("accept", "")
    if shown and not path.startswith(
        ("/api/", "/api.json")
    ):  # a script of the page accepts anything
        to = path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"/sign-in?{urlencode({'to': to})}", 303)
    error = ConflictError(
        "nobody is signed in", where=path, remedy="Sign in, then do it again: /sign-in."
    )
    return _told(request, error, 401)


def _told(request: Request, error: HeelstampError, status: int) -> Response:
    if request.url.path.startswith(("/api/", "/api.json")):
        return problem(error, status)
    return page(request, "refusal.html", status=status, error=error)
