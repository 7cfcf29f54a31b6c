"""What every answer carries and what every request must be: one origin, one host, no inline code.

Content Security Policy Level 3 (W3C), Fetch Metadata (W3C) and the Origin header (RFC 6454). A
request that changes something must come from a page of this bench: a foreign page can send a form
to a loopback address, and it must not be able to write a dossier. The Host header is checked so
that a name which an outsider controls cannot be pointed here (DNS rebinding).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from urllib.parse import SplitResult, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from heelstamp.errors import InputError
from heelstamp.web.problems import problem

HOST = re.compile(r"(?P<name>\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9._-]+)(:[0-9]{0,5})?")
"""A Host header that can be meant: a name or an address, and a port (RFC 9110, 7.2)."""
LENGTH = re.compile("[0-9]{1,15}")
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
_POLICY = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "font-src": "'self'",
    "img-src": "'self' blob: data:",
    "media-src": "'self' blob:",
    "connect-src": "'self'",
    "manifest-src": "'self'",
    "worker-src": "'self'",
    "form-action": "'self'",
    "frame-ancestors": "'none'",
    "base-uri": "'none'",
}
LARGEST_FORM = 1_000_000
LARGEST_UPLOAD = 201_000_000
"""Bytes of a request: a form, and a photograph with its form (the store takes 200 MB)."""
UPLOADS = (
    "/photographs",
    "/shot",
    "/reports/check",
    "/note",
    "/take",
    "/voice",
    "/comparables",
    "/census",
    "/picture",
)
LARGEST_SENT = 31_000_000
"""Bytes of a request that nobody signed: a picture that an owner sends by a link."""
SENT = "/owner-sends/"


def policy(**changed: str) -> str:
    """Write the policy, with what one answer changes of it."""
    return "; ".join(f"{name} {value}" for name, value in {**_POLICY, **changed}.items())


HEADERS = {
    "content-security-policy": policy(),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(self), geolocation=()",
}


ONLY_ENCRYPTED = {"strict-transport-security": "max-age=31536000"}
"""A year, for this name alone (RFC 6797, 6.1)."""


class Guard:
    """ASGI middleware that refuses foreign requests and adds the headers.

    Parameters
    ----------
    hosts
        Names, without port, by which this bench may be called.
    shared
        Whether sessions stand behind it: a change must then say where it comes from. Every browser
        of today sends Origin with it; a program must too, unless it sends a token.
    only_encrypted
        Whether browsers are told to open this name encrypted alone from now on.
    """

    def __init__(
        self,
        app: ASGIApp,
        hosts: Iterable[str],
        *,
        shared: bool = False,
        only_encrypted: bool = False,
    ) -> None:
        self._app = app
        self._headers = HEADERS | (ONLY_ENCRYPTED if only_encrypted else {})
        self._hosts = frozenset(hosts)
        self._shared = shared

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope["method"], scope["scheme"], headers)
        most = LARGEST_UPLOAD if scope["path"].endswith(UPLOADS) else LARGEST_FORM
        if scope["path"].startswith(SENT):
            most = min(most, LARGEST_SENT)
        told = headers.get("content-length", "0")
        too_large = not LENGTH.fullmatch(told) or int(told) > most

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in self._headers.items():
                    headers.setdefault(name, value)
            await send(message)

        got = 0

        async def bounded() -> Message:
            nonlocal got
            message = await receive()
            got += len(message.get("body", b""))
            if got > most:
                raise HTTPException(413, f"more than {most // 1_000_000} MB in one request")
            return message

        if not scope["query_string"].isascii():  # RFC 3986, 2: other bytes stand as %XX
            await _refused(scope, "This address cannot be read.", 400)(scope, receive, with_headers)
        elif too_large:
            told = f"More than {most // 1_000_000} MB in one request."
            await _refused(scope, told, 413)(scope, receive, with_headers)
        elif refusal:
            await _refused(scope, refusal, 403)(scope, receive, with_headers)
        else:
            await self._app(scope, bounded, with_headers)

    def _refusal(self, method: str, scheme: str, headers: Headers) -> str:
        host = headers.get("host", "")
        called = HOST.fullmatch(host)
        if called is None or called["name"].strip("[]").lower() not in self._hosts:
            return "This bench does not answer to that name. Open it by the address it printed."
        if method in SAFE:
            return ""
        site = headers.get("sec-fetch-site")
        if site is not None and site not in {"same-origin", "none"}:
            return "Entries are taken from the bench's own pages only."
        origin = headers.get("origin")
        came = None if origin is None else split_address(origin)
        if came is not None and (came.netloc != host or (self._shared and came.scheme != scheme)):
            return "Entries are taken from the bench's own pages only."
        if self._shared and origin is None and site is None and not bearer_of(headers):
            return "Say where this comes from: send Origin with the bench's own address."
        return ""


def _refused(scope: Scope, told: str, status: int) -> Response:
    """Refuse in a form that the caller reads: a page in plain words, a program in a problem."""
    if not scope["path"].startswith("/api/"):
        return PlainTextResponse(told, status)
    what, _, remedy = told.partition(". ")
    return problem(InputError(what.rstrip(".").lower(), remedy=remedy), status)


def bearer_of(headers: Mapping[str, str]) -> str:
    """The token that a program sent (RFC 6750, 2.1); no browser sends one by itself."""
    scheme, _, token = headers.get("authorization", "").partition(" ")
    return token.strip() if scheme.lower() == "bearer" else ""


def split_address(address: str) -> SplitResult:
    """Take an address apart; one that is none has no host, and is nobody's origin."""
    try:
        return urlsplit(address)
    except ValueError:
        return SplitResult("", "", "", "", "")
