"""What the browser keeps so that the bench goes on without a connection."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from heelstamp.web.files import edition, every_file
from heelstamp.web.rendering import page

router = APIRouter()
WORKER = Path(__file__).parent / "worker.js"
UNREACHABLE = "/unreachable"


@lru_cache(1)
def _script() -> str:
    """Write the worker with the list of files that are there, and their state.

    A browser takes a worker anew when a byte of it changed (Service Workers, W3C, "Update"): so it
    does when any of the files did.
    """
    files = every_file()
    kept = {"edition": edition(files), "files": [*files, UNREACHABLE]}
    return f"const KEPT = {json.dumps(kept)};\n{WORKER.read_text('utf-8')}"


@router.get("/worker.js", include_in_schema=False)
def worker() -> Response:
    """Send the service worker from the root, so that it serves every page."""
    return Response(_script(), media_type="text/javascript", headers={"cache-control": "no-cache"})


@router.get(UNREACHABLE, response_class=HTMLResponse, include_in_schema=False)
def unreachable(request: Request) -> HTMLResponse:
    """Say that this page was not seen on this device before."""
    return page(request, "offline/unreachable.html")
