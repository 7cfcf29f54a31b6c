"""A client that a general tool makes from the description of the API, and a way into a bench.

openapi-python-client (an outside program, of general use) reads ``/api.json`` and writes a package;
nothing of it is ours. Its requests go to a bench in this process.
"""

from __future__ import annotations

import importlib
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
from starlette.testclient import TestClient

CONFIG = """post_hooks: []
content_type_overrides:
  image/jpeg: application/octet-stream
  application/pdf: application/octet-stream
  application/zip: application/octet-stream
  audio/*: application/octet-stream
"""


class ToBench(httpx.BaseTransport):
    """Carries the client's requests to a bench."""

    def __init__(self, bench: TestClient) -> None:
        self._bench = bench

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        answer = self._bench.request(
            request.method, str(request.url), content=request.read(), headers=dict(request.headers)
        )
        headers = {name: one for name, one in answer.headers.items() if name != "content-encoding"}
        return httpx.Response(answer.status_code, headers=headers, content=answer.content)


def make_client(description: str, folder: Path) -> str:
    """Have the client made; what the tool said."""
    (folder / "api.json").write_text(description, "utf-8")
    (folder / "config.yaml").write_text(CONFIG)
    words = ["generate", "--path", "api.json", "--config", "config.yaml", "--meta", "none"]
    tool = Path(sys.executable).with_name("openapi-python-client")
    done = subprocess.run(
        [tool, *words, "--output-path", "shop_client"],
        cwd=folder,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout + done.stderr


@contextmanager
def imported(folder: Path) -> Iterator[Any]:
    """The package that was made, to be imported from."""
    sys.path.insert(0, str(folder))
    try:
        yield importlib.import_module
    finally:
        sys.path.remove(str(folder))
        for name in [one for one in sys.modules if one.partition(".")[0] == "shop_client"]:
            del sys.modules[name]
