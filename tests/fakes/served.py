"""A bench served on a free port of this machine, for a browser."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from heelstamp.web import create_app


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


@contextmanager
def serving(shop: Path) -> Iterator[Served]:
    """Serve *shop* on a port that was free."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    bench = Served(shop, port)
    bench.back()
    yield bench
    bench.cut()
