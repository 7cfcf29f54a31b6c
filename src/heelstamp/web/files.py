"""Style and script for the browser: those of all screens, and those in the folder of each.

``/static/`` holds what is shared, ``/static/screens/NAME/`` what lies in the folder of one screen.
Addresses are the same for ever: a browser asks each time whether a file changed (RFC 9111, 5.2.2.4)
and is told by its entity tag.
"""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from fastapi import FastAPI
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

SHARED = Path(__file__).parent / "static"
SCREENS = Path(__file__).parent / "screens"
OF_SCREENS = (".css", ".js")
"""What is served of a screen's folder; its templates and its Python stay where they are."""


class _Files(StaticFiles):
    def __init__(self, folder: Path, kinds: tuple[str, ...] = ()) -> None:
        super().__init__(directory=folder)
        self._kinds = kinds

    def lookup_path(self, path: str) -> tuple[str, os.stat_result | None]:
        """Find a file of a kind that is served."""
        return super().lookup_path(path) if path.endswith(self._kinds or "") else ("", None)

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Send a file, to be asked for again each time."""
        answer = await super().get_response(path, scope)
        answer.headers["cache-control"] = "no-cache"
        return answer


def serve_files(app: FastAPI) -> None:
    """Serve style, script, fonts and the stamp."""
    app.mount("/static/screens", _Files(SCREENS, OF_SCREENS), name="screens")
    app.mount("/static", _Files(SHARED), name="static")


def every_file() -> dict[str, Path]:
    """Name all files that a browser may keep, by address."""
    shared = {f"/static/{one.relative_to(SHARED).as_posix()}": one for one in SHARED.rglob("*.*")}
    own = {
        f"/static/screens/{one.relative_to(SCREENS).as_posix()}": one
        for one in SCREENS.rglob("*.*")
        if one.suffix in OF_SCREENS
    }
    return dict(sorted((shared | own).items()))


def edition(files: dict[str, Path]) -> str:
    """Tell one state of the files from another, by their SHA-256."""
    digest = hashlib.sha256()
    for address, path in files.items():
        digest.update(address.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:16]
