"""Whatever stands in a header, the answer is a page or a refusal, never a fault of the program."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from fakes.shared_shop import ADDRESS, SHARED, SharedShop, make_shared, opened, shared_quickly
from fakes.web_shop import TAG, bench_of, make_shop
from heelstamp.web import create_app

VALUES = (
    b"",
    b"[",
    b"]",
    b"[::1",
    b"[::1]:",
    b"[v1.x]",
    b"[]",
    b"localhost:99999999",
    b"localhost:abc",
    b"localhost/evil",
    b"user@localhost",
    b"http://[",
    b"//[",
    b"null",
    b"\xff\xfe",
    b"\x00",
    b"a" * 5000,
    b"-1",
    b"1e3",
    b"\xb2",
    b"9" * 300,
    b"bytes=9-1",
    b"bytes=" + b"9" * 400 + b"-",
    b"multipart/form-data",
    b"multipart/form-data; boundary=",
    b"multipart/form-data; boundary=\xff",
    b"application/x-www-form-urlencoded; charset=nonsense",
    b"application/json; charset=nonsense",
    b"text/html;q=abc",
    b"gzip;q=",
    b'"\\"; session=',
    b"%ff%fe",
)
NAMES = (
    b"host",
    b"origin",
    b"referer",
    b"sec-fetch-site",
    b"content-length",
    b"content-type",
    b"cookie",
    b"accept",
    b"accept-encoding",
    b"user-agent",
    b"range",
    b"if-none-match",
    b"if-modified-since",
    b"heelstamp-account",
    b"hx-request",
    b"x-forwarded-for",
)
PLACES = (
    ("GET", "/"),
    ("GET", f"/dossier/{TAG}/photographs"),
    ("GET", f"/api/dossiers/{TAG}"),
    ("GET", "/static/bench.css"),
    ("GET", "/sign-in"),
    ("POST", "/light"),
    ("POST", "/sign-in"),
    ("POST", f"/api/dossiers/{TAG}/entries"),
    ("POST", f"/dossier/{TAG}/photographs"),
)


@pytest.fixture(scope="module", params=["alone", "shared"])
def either_bench(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Any, bytes]]:
    """A bench that only its own machine can reach, and one that is shared, with its host."""
    folder: Path = tmp_path_factory.mktemp("headers")
    if request.param == "alone":
        with bench_of(make_shop(folder)) as client:
            yield client.app, b"localhost:8756"
        return
    shared: SharedShop = make_shared(folder)
    with opened(shared):
        yield shared.app, b"bench.test:8756"


def status(app: Any, method: str, path: str, headers: list[tuple[bytes, bytes]]) -> int:
    """Send one request as the server hands it over; a fault of the program is raised here."""
    sent: list[dict[str, Any]] = []
    body = [{"type": "http.request", "body": b"light=paper", "more_body": False}]

    async def receive() -> dict[str, Any]:
        if not body:
            await asyncio.Event().wait()  # the other end stays and says nothing more
        return body.pop()

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "scheme": "https",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "headers": headers,
        "client": ("192.0.2.7", 50_000),
        "server": ("192.0.2.1", 8756),
        "root_path": "",
    }
    asyncio.run(app(scope, receive, send))
    return int(next(one["status"] for one in sent if one["type"] == "http.response.start"))


def asked(app: Any, host: bytes, name: bytes, value: bytes) -> None:
    plain = {b"host": host, b"sec-fetch-site": b"same-origin"}
    for method, path in PLACES:
        headers = [*({**plain, name: value}).items()]
        assert status(app, method, path, headers) < 500, (method, path, name, value)


@pytest.mark.parametrize("name", NAMES)
def test_a_malformed_header_is_no_fault(either_bench: tuple[Any, bytes], name: bytes) -> None:
    for value in VALUES:
        asked(*either_bench, name, value)


@given(name=st.sampled_from(NAMES), value=st.binary(max_size=60))
def test_any_bytes_in_a_header_are_no_fault(
    either_bench: tuple[Any, bytes], name: bytes, value: bytes
) -> None:
    method, path = PLACES[len(value) % len(PLACES)]
    plain = {b"host": either_bench[1], b"sec-fetch-site": b"same-origin"}
    assert status(either_bench[0], method, path, [*({**plain, name: value}).items()]) < 500


def test_a_host_that_is_none_is_refused(tmp_path: Path) -> None:
    with bench_of(make_shop(tmp_path)) as client:
        for host in (b"[", b"[::1", b"localhost/evil", b"user@localhost", b"localhost:abc", b""):
            told = [(b"host", host)]
            assert status(client.app, "GET", "/", told) == 403, host
        for host in (b"localhost", b"LOCALHOST:1", b"127.0.0.1:8756", b"[::1]:8756"):
            assert status(client.app, "GET", "/", [(b"host", host)]) == 200, host


def test_where_to_go_after_signing_in_is_always_inside(tmp_path: Path) -> None:
    shared = make_shared(tmp_path)
    with opened(shared):
        device: TestClient = shared.device()
        for to in ("//[", "/\\[", "http://[", "[", "//evil.test"):
            assert device.get("/sign-in", params={"to": to}).status_code == 200


@pytest.mark.parametrize("only_encrypted", [False, True])
def test_browsers_are_bound_to_encryption_only_where_that_was_said(
    shop: Path, only_encrypted: bool
) -> None:
    shared = SHARED._replace(only_encrypted=only_encrypted)
    with TestClient(
        create_app(shop, hosts=("bench.test",), shared=shared, share=shared_quickly),
        base_url=ADDRESS,
    ) as device:
        told = device.get("/sign-in").headers.get("strict-transport-security")
    assert told == ("max-age=31536000" if only_encrypted else None)  # RFC 6797, 6.1
