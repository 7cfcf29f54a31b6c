"""A bench served on a free port of this machine, and Chromium to use it with."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Playwright, expect, sync_playwright

from fakes.screen_sizes import SIZES
from fakes.served import Served, serving

PATIENCE_MS = 120_000
"""A busy machine computes and typesets slowly; no test is about how long it takes."""
expect.set_options(timeout=PATIENCE_MS)


@pytest.fixture
def served(shop: Path) -> Iterator[Served]:
    with serving(shop) as bench:
        yield bench


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
