"""A request as it comes off the wire, given to the bench without a server between."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from fakes.carried_parsers import Parser
from fakes.every_kind import BODIES, body_of
from fakes.web_shop import TAG, make_shop
from heelstamp.web import create_app

HOST = b"Host: localhost:8756"
FORM = b"Content-Type: application/x-www-form-urlencoded"
PARTS = b"Content-Type: multipart/form-data; boundary=x"


def seeds() -> list[bytes]:
    """Whole requests: each kind of entry by the API, forms, an upload, addresses, odd headers."""
    api = f"POST /api/dossiers/{TAG}/entries".encode()
    told = [
        json.dumps({"by": "examiner A", "entries": [{"kind": kind, "body": body_of(kind, "e1")}]})
        for kind in BODIES
    ]
    entered = [b"\n".join((api, HOST, b"Content-Type: application/json", b"", one.encode()))
               for one in told]  # fmt: skip
    part = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\nabc\r\n'
    other = (
        (f"GET /dossier/{TAG}/marks", HOST, b"Cookie: a=b; hand=examiner%20A", b""),
        (f"GET /api/dossiers/{TAG}/journal", HOST, b"Range: bytes=0-10", b""),
        ("GET /api/dossiers?find=H&skip=0&count=5", HOST, b"Accept-Language: de;q=0.8", b""),
        ("GET /?find=wherry&page=2", b"Host: [::1]:8756", b"If-None-Match: W/\"a\"", b""),
        (f"POST /dossier/{TAG}/undo", HOST, b"Origin: http://localhost:8756", b""),
        (f"POST /dossier/{TAG}/question", HOST, FORM, b"question=q1&asked=Is+it%3F&id=q-1&base=1"),
        (f"POST /dossier/{TAG}/photographs", HOST, PARTS, part + b"--x--\r\n"),
        ("POST /glossary", HOST, b"Content-Length: 12", b"x=1"),
    )  # fmt: skip
    return [
        *entered,
        *(b"\n".join((line.encode(), *rest[:-1], b"", rest[-1])) for line, *rest in other),
    ]


@contextmanager
def request_parser() -> Iterator[Parser]:
    """The bench of a shop of its own; whatever comes is answered, and never by a fault."""
    loop = asyncio.new_event_loop()
    with TemporaryDirectory() as made, closing(loop):
        app: Any = create_app(make_shop(Path(made)))
        opened = app.router.lifespan_context(app)
        loop.run_until_complete(opened.__aenter__())
        yield Parser(_answering(app, loop), seeds())
        loop.run_until_complete(opened.__aexit__(None, None, None))
        loop.run_until_complete(loop.shutdown_default_executor())


def _answering(app: Any, loop: asyncio.AbstractEventLoop) -> Callable[[bytes], None]:
    async def answered(data: bytes) -> int:
        head, _, body = data.partition(b"\n\n")
        line, *headers = head.split(b"\n")
        method, _, target = line.partition(b" ")
        path, _, query = target.partition(b"?")
        pairs = [one.partition(b":") for one in headers]
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "scheme": "http",
            "method": method.decode("latin-1").upper(), "path": path.decode("utf-8", "replace"),
            "raw_path": path, "query_string": query, "root_path": "",
            "headers": [(name.strip().lower(), told.strip()) for name, _, told in pairs],
            "client": ("127.0.0.1", 50_000), "server": ("localhost", 8756), "state": {},
        }  # fmt: skip
        status, sent = 0, False

        async def receive() -> dict[str, Any]:
            nonlocal sent
            if sent:
                return {"type": "http.disconnect"}
            sent = True
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message: Any) -> None:
            nonlocal status
            status = message.get("status", status)

        await app(scope, receive, send)
        return status

    def parse(data: bytes) -> None:
        if b"/live" in data.partition(b"\n")[0]:
            return  # an answer that never ends
        status = loop.run_until_complete(asyncio.wait_for(answered(data), 30))
        if status >= 500 or not status:
            raise AssertionError(f"answered {status}")

    return parse
