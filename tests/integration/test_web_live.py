"""The live channel over the application itself, as a server speaks to it."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from fakes.lamp_shop import LAMP, PAIR, UV, VISIBLE, lamp_shop
from fakes.own_loop import in_own_loop
from fakes.shared_shop import make_shared, opened
from fakes.web_shop import TAG, make_shop
from heelstamp.casework.dossier import append
from heelstamp.shop import now, open_shop
from heelstamp.web import create_app

Scene = Callable[[Any], Awaitable[None]]


class Listener:
    """One browser that holds a stream open."""

    def __init__(self, app: Any, path: str) -> None:
        self.status, self.headers = 0, {}
        self.lines: asyncio.Queue[str] = asyncio.Queue()
        self.gone = asyncio.Event()
        scope = {
            "type": "http",
            "http_version": "1.1",
            "method": "GET",
            "path": path,
            "query_string": b"",
            "headers": [(b"host", b"localhost"), (b"accept-encoding", b"gzip")],
            "scheme": "http",
            "server": ("localhost", 80),
            "client": ("127.0.0.1", 1),
            "root_path": "",
            "asgi": {"version": "3.0", "spec_version": "2.3"},
            "raw_path": path.encode(),
        }
        self.task = asyncio.create_task(app(scope, self._receive, self._send))
        self._asked = False

    async def _receive(self) -> dict[str, Any]:
        if not self._asked:
            self._asked = True
            return {"type": "http.request", "body": b"", "more_body": False}
        await self.gone.wait()
        return {"type": "http.disconnect"}

    async def _send(self, message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            self.status = message["status"]
            self.headers = {k.decode(): v.decode() for k, v in message["headers"]}
        else:
            await self.lines.put(message.get("body", b"").decode(errors="replace"))

    async def heard(self, what: str) -> dict[str, Any]:
        """Wait for an event of a kind; others are passed over."""
        while True:
            text = await asyncio.wait_for(self.lines.get(), 20)
            if text.startswith(f"event: {what}\n"):
                told: dict[str, Any] = json.loads(text.split("data: ")[1])
                return told

    async def leave(self) -> None:
        self.gone.set()
        await asyncio.wait_for(self.task, 5)


def played(shop: Path, scene: Scene) -> None:
    async def run() -> None:
        app = create_app(shop)
        async with app.router.lifespan_context(app):
            await scene(app)

    in_own_loop(run)


def test_an_entry_from_anywhere_reaches_every_listener(tmp_path: Path) -> None:
    shop = make_shop(tmp_path)

    async def scene(app: Any) -> None:
        before = threading.active_count()
        many = []
        for _ in range(30):
            many.append(Listener(app, f"/dossier/{TAG}/live"))
            assert (await many[-1].heard("standing"))["length"] == 1
        assert many[0].headers["content-type"].startswith("text/event-stream")
        assert many[0].headers["cache-control"] == "no-store"
        assert "content-encoding" not in many[0].headers
        assert threading.active_count() - before < 6  # thirty listeners, no thread each
        body = {"id": "c1", "act": "lift guard", "granted": True, "by": "a consignor"}
        with open_shop(shop) as other:  # another process, or the command line
            await asyncio.to_thread(append, other, TAG, "consent", body, at=now(), by="examiner B")
        for one in many:
            assert (await one.heard("entered"))["length"] == 2
        for one in many:
            await one.leave()
        assert app.state.shop.live.listening(TAG) == 0

    played(shop, scene)


def test_no_such_dossier_has_no_stream(tmp_path: Path) -> None:
    async def scene(app: Any) -> None:
        lost = Listener(app, "/dossier/X-9/live")
        await asyncio.wait_for(lost.task, 5)
        assert lost.status == 404

    played(make_shop(tmp_path), scene)


def test_progress_is_streamed_until_the_comparison_is_done(tmp_path: Path) -> None:
    async def scene(app: Any) -> None:
        from starlette.testclient import TestClient

        listener = Listener(app, f"/dossier/{TAG}/live")
        await listener.heard("standing")
        client = TestClient(app, base_url="http://localhost", follow_redirects=False)
        answer = await asyncio.to_thread(client.post, f"{LAMP}/compare", data=PAIR)
        assert answer.status_code == 303
        told = []
        while not told or told[-1]["open"]:
            told.append(await listener.heard("work"))
        assert {one["pair"] for one in told} == {f"{VISIBLE}+{UV}"}
        shares = [one["share"] for one in told]
        assert shares == sorted(shares)
        assert shares[-1] == 1.0
        assert len(told) >= 6
        assert any(one["preview"] for one in told[:-1])  # a rough picture before the end
        assert any("position" in one["words"] for one in told)
        await listener.leave()

    played(lamp_shop(tmp_path), scene)


def test_closing_the_bench_ends_the_streams(tmp_path: Path) -> None:
    async def scene(app: Any) -> None:
        listener = Listener(app, f"/dossier/{TAG}/live")
        await listener.heard("standing")
        threading.Thread(target=app.state.shop.live.close).start()
        await asyncio.wait_for(listener.task, 5)  # by itself, without the browser leaving

    played(make_shop(tmp_path), scene)


def test_a_shared_bench_streams_to_nobody_who_is_not_signed_in(tmp_path: Path) -> None:
    shared = make_shared(tmp_path)
    with opened(shared):
        stranger, reader = shared.device(), shared.signed_in("a reader")
        assert stranger.get(f"/dossier/{TAG}/live").status_code in (303, 401)
        assert stranger.get(f"{LAMP}/tile/none/0/0/0", params=PAIR).status_code in (303, 401)
        assert reader.get(LAMP).status_code == 200
        for path in ("switch", "compare", "look", "region", "border", "irradiance", "shot"):
            assert reader.post(f"{LAMP}/{path}").status_code == 403
