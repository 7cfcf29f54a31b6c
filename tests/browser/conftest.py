"""A bench served on a free port of this machine, and Chromium to use it with."""

from __future__ import annotations

import shutil
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Playwright, expect, sync_playwright

from fakes.screen_sizes import SIZES
from heelstamp.web import create_app

PATIENCE_MS = 120_000
"""A busy machine computes and typesets slowly; no test is about how long it takes."""
expect.set_options(timeout=PATIENCE_MS)


@dataclass
class Served:
    """A shop being served; `cut` takes it off the air and `back` puts it on again."""

    shop: Path
    port: int
    server: uvicorn.Server | None = None
    thread: threading.Thread | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def back(self) -> None:
        config = uvicorn.Config(
            create_app(self.shop), host="127.0.0.1", port=self.port, log_level="error"
        )
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        for _ in range(200):
            if self.server.started:
                return
            time.sleep(0.02)
        raise RuntimeError("the bench did not start")

    def cut(self) -> None:
        assert self.server is not None
        assert self.thread is not None
        self.server.config.app.state.shop.live.close()  # type: ignore[union-attr]
        self.server.should_exit = True
        self.server.force_exit = True
        self.thread.join(10)


@pytest.fixture
def served(shop: Path) -> Iterator[Served]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    bench = Served(shop, port)
    bench.back()
    yield bench
    bench.cut()


@pytest.fixture(scope="module")
def driver() -> Iterator[Playwright]:
    """Playwright, of which there may be one in a process; it holds the main thread's event loop.

    It ends with each file, so that tests after it find no loop that runs.
    """
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def browser_path() -> str:
    names = ("chromium", "chromium-browser", "google-chrome")
    return next(found for name in names if (found := shutil.which(name)))


@pytest.fixture(scope="module")
def chromium(driver: Playwright, browser_path: str) -> Iterator[Browser]:
    browser = driver.chromium.launch(executable_path=browser_path, args=["--no-sandbox"])
    browser.on("context", lambda made: made.set_default_timeout(PATIENCE_MS))
    yield browser
    browser.close()


@pytest.fixture(params=sorted(SIZES))
def device(request: pytest.FixtureRequest, chromium: Browser) -> Iterator[BrowserContext]:
    wide, tall = SIZES[request.param]
    context = chromium.new_context(
        viewport={"width": wide, "height": tall}, has_touch=request.param != "desk"
    )
    yield context
    context.close()
