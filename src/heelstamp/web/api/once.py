"""What is sent twice under one key is done once, and answered alike.

The header ``Idempotency-Key`` (draft-ietf-httpapi-idempotency-key-header-06; from memory): the same
key with the same content gives the first answer again, with other content it is refused (422), and
while the first is still worked on it is told to wait (409). A refusal changed nothing, so the key
is free again. Keys are an account's own, and are kept for a day.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import Request, Response
from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool

from heelstamp.errors import InputError
from heelstamp.shop.answers import KeptAnswers
from heelstamp.web.permits import changes
from heelstamp.web.rendering import who_of

HEADER = "idempotency-key"
KEY = re.compile(r'"?([!#-~]{1,253})"?')
KEPT_HEADERS = ("content-type", "location")


class Once(APIRoute):
    """A route whose answers are kept by the key that came with the request."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Answer a request, or give the answer again that it had before."""
        handler = super().get_route_handler()

        async def once(request: Request) -> Response:
            given = request.headers.get(HEADER)
            if given is None or not changes(request.url.path, request.method):
                return await handler(request)
            asked, key = await _digest(request), _key(given)
            who = who_of(request)
            account = "" if who is None else who.account
            answers: KeptAnswers = request.app.state.answers
            before = await run_in_threadpool(answers.begin, account, key, asked)
            if before is not None:
                return Response(before.body, before.status, dict(before.headers))
            try:
                answer = await handler(request)
            except BaseException:
                await run_in_threadpool(answers.let_go, account, key)
                raise
            headers = {
                name: answer.headers[name] for name in KEPT_HEADERS if name in answer.headers
            }
            body = bytes(answer.body).decode("utf-8")
            await run_in_threadpool(
                answers.keep, account, key, answer.status_code, json.dumps(headers), body
            )
            return answer

        return once


def _key(given: str) -> str:
    found = KEY.fullmatch(given)
    if found is None:
        raise InputError(
            "a key that cannot be used",
            where="Idempotency-Key",
            received=ascii(given),
            remedy="Send a text of 1 to 253 printable characters in double quotes, as a UUID.",
        )
    return found[1]


async def _digest(request: Request) -> str:
    """Digest of what is asked for; the boundary between parts is none of it (RFC 2046, 5.1.1)."""
    body, kind = await request.body(), request.headers.get("content-type", "")
    _, _, boundary = kind.partition("boundary=")
    if boundary:
        body = body.replace(boundary.strip('"').encode("latin-1"), b"")
    told = f"{request.method} {request.url.path}?{request.url.query} {kind.partition(';')[0]}\n"
    return hashlib.sha256(told.encode() + body).hexdigest()
