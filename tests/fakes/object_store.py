"""An S3-compatible object store here: the server of moto, an outside program, as a process."""

from __future__ import annotations

import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from urllib.error import URLError

import obstore
from obstore.store import S3Store

BUCKET = "shop-files"
KEYS = {
    "AWS_ACCESS_KEY_ID": "a-test",
    "AWS_SECRET_ACCESS_KEY": "nothing secret",
    "AWS_REGION": "us-east-1",
}
PATIENCE_S = 60.0


@dataclass(frozen=True)
class Store:
    """The store's address, and the process it is."""

    endpoint: str
    process: subprocess.Popen[bytes]

    def stop(self) -> None:
        self.process.kill()
        self.process.wait()

    def overwrite(self, name: str, data: bytes) -> None:
        """Put other content under a name, as nobody should."""
        where = S3Store(BUCKET, endpoint=self.endpoint, client_options={"allow_http": True})
        obstore.put(where, name, data)

    def _ask(self, method: str, path: str, data: bytes | None = None) -> None:
        with urllib.request.urlopen(
            urllib.request.Request(self.endpoint + path, data, method=method)
        ):
            pass


@contextmanager
def object_store() -> Iterator[Store]:
    """A store with one empty bucket."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    words = [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)]
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    made = Store(f"http://127.0.0.1:{port}", process)
    try:
        until = time.monotonic() + PATIENCE_S
        while True:
            try:
                made._ask("PUT", f"/{BUCKET}")
                break
            except (URLError, ConnectionError):
                if time.monotonic() > until or process.poll() is not None:
                    raise
                time.sleep(0.05)
        yield made
    finally:
        made.stop()
