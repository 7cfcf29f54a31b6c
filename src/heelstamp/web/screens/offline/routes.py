"""What the browser keeps so that the bench goes on without a connection."""

from __future__ import annotations

from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse, Response

from heelstamp import __version__
from heelstamp.web.rendering import page

router = APIRouter()
STATIC = Path(__file__).resolve().parents[2] / "static"
VERSIONED = (
    "bench.css",
    "instrument.css",
    "rack.css",
    "help.css",
    "tune.css",
    "htmx.min.js",
    "js/bench.js",
    "js/frames.js",
    "js/live.js",
    "js/wheel.js",
    "js/recorder.js",
    "js/voice.js",
    "js/door.js",
)
PLAIN = (
    "js/outbox.js",
    "sans-regular.woff2",
    "sans-semibold.woff2",
    "stamp.svg",
    "js/capture.js",
    "js/capture-worklet.js",
    "js/show.js",
    "js/upload.js",
)


@router.get("/worker.js", include_in_schema=False)
def worker() -> Response:
    """Give the service worker from the root, so that it serves every page."""
    return FileResponse(
        STATIC / "js" / "worker.js",
        media_type="text/javascript",
        headers={"cache-control": "no-cache"},
    )


@router.get("/shell.json", include_in_schema=False)
def shell() -> JSONResponse:
    """List what every page needs."""
    files = [f"/static/{name}?v={__version__}" for name in VERSIONED]
    files += [f"/static/{name}" for name in PLAIN]
    return JSONResponse([*files, "/unreachable"], headers={"cache-control": "no-cache"})


@router.get("/unreachable", response_class=HTMLResponse, include_in_schema=False)
def unreachable(request: Request) -> HTMLResponse:
    """Say that this page was not seen on this device before."""
    return page(request, "offline/unreachable.html")
