"""From a press to the next paint on the demonstration, and from a chosen photograph to its picture.

Chromium's Event Timing (W3C) reports for each press how long it took to the paint that follows, in
steps of 8 ms; the worst press of a screen is given. What a press asks of the server comes after
that paint and is in `bench_pages.py`. The picture is that of a photograph of 24 megapixels, from
the moment it is chosen to the moment its picture is decoded on the page. Usage: python
benchmarks/bench_paint.py
"""

from __future__ import annotations

import io
import shutil
import socket
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from PIL import Image

from heelstamp.shop.demonstration import make_demo_dossier
from results import Result

if TYPE_CHECKING:
    from playwright.sync_api import Page

TAG = "H-0001"
SIZE = (390, 844)
LISTEN = """() => { window.presses = [];
    new PerformanceObserver((list) => window.presses.push(
        ...list.getEntries().filter((one) => one.interactionId).map((one) => one.duration)))
        .observe({ type: "event", durationThreshold: 16, buffered: true }); }"""
PICTURE = """() => new Promise((done) => { const begun = performance.now();
    const look = () => { const one = document.querySelector(".sending img, .tiles.new img");
        one?.complete && one.naturalWidth
            ? requestAnimationFrame(() => done(performance.now() - begun)) : setTimeout(look, 4); };
    look(); })"""
PRESSES = {
    "First Look": (
        '.parts a[data-part="guard"]',
        "#part .choice >> nth=0",
        "#part .choice >> nth=1",
    ),
    "Marks": (".another summary",),
    "Weigh-up": (".scale button >> nth=0", "summary >> nth=0"),
    "Words": ("summary >> nth=2", "summary >> nth=3"),
    "Door": ("form.asking button >> nth=0", "form.asking button >> nth=1"),
}


@contextmanager
def served(shop: Path) -> Iterator[str]:
    """Serve a shop on a free port."""
    import uvicorn

    from heelstamp.web import create_app

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = uvicorn.Server(
        uvicorn.Config(create_app(shop), host="127.0.0.1", port=port, log_level="critical")
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = server.force_exit = True
    thread.join(10)


def measure() -> Iterator[Result]:
    """Press things on the demonstration, on a screen of a phone's size."""
    from playwright.sync_api import sync_playwright

    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        yield Result("press to paint", None, "ms", beside="Chromium is not installed")
        return
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        shop = Path(folder) / "shop"
        make_demo_dossier(shop, TAG, name="Demonstration shop (invented)")
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        with served(shop) as address:
            context = browser.new_context(
                viewport={"width": SIZE[0], "height": SIZE[1]}, has_touch=True
            )
            page = context.new_page()
            for name, marks in PRESSES.items():
                yield _pressed(page, f"{address}/dossier/{TAG}", name, marks)
            yield _picture(page, f"{address}/dossier/{TAG}/photographs")
        browser.close()


def _pressed(page: Page, home: str, name: str, marks: tuple[str, ...]) -> Result:
    page.goto(f"{home}/{name.lower().replace(' ', '-')}")
    page.wait_for_load_state("networkidle")
    page.evaluate(LISTEN)
    for mark in marks:
        page.locator(mark).first.click()
        page.wait_for_timeout(400)
    spent: list[float] = page.evaluate("window.presses")
    worst = max(spent, default=16.0)
    return Result(
        f"{name}: press to next paint, worst of {len(marks)}", worst, "ms", ("at most", 100.0)
    )


def _picture(page: Page, frames: str) -> Result:
    page.goto(frames)
    page.wait_for_load_state("networkidle")
    asked = page.locator(".files input")
    asked.set_input_files(
        {"name": "overall-front.jpg", "mimeType": "image/jpeg", "buffer": large()}
    )
    spent: Any = page.evaluate(PICTURE)
    page.locator(".tiles.new li").wait_for()
    return Result("24 megapixels: chosen to picture", float(spent), "ms", ("at most", 1000.0))


def large() -> bytes:
    """Make a photograph of 24 megapixels with grain in it."""
    draw = np.random.default_rng(24)
    grain = draw.integers(90, 160, (4000, 6000, 1), dtype=np.uint8)
    written = io.BytesIO()
    Image.fromarray(np.repeat(grain, 3, axis=2)).save(written, "JPEG", quality=80)
    return written.getvalue()


if __name__ == "__main__":
    for result in measure():
        print(result.what, result.figure, result.unit, result.verdict, result.beside)
