"""A server with an open stream stops when it is told to, and does not wait for the browser."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.request import urlopen

from fakes.web_shop import TAG, make_shop


def test_a_signal_ends_the_streams_and_then_the_server(tmp_path: Path) -> None:
    shop = make_shop(tmp_path)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [sys.executable, "-m", "heelstamp", "serve", "--shop", str(shop), "--port", str(port)]
    server = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    try:
        for _ in range(300):
            try:
                stream = urlopen(f"http://127.0.0.1:{port}/dossier/{TAG}/live", timeout=10)
                break
            except OSError:
                time.sleep(0.1)
        else:
            raise AssertionError("the bench did not open")
        assert stream.readline().startswith(b"retry:")
        server.send_signal(signal.SIGTERM)
        assert server.wait(10) in (0, -signal.SIGTERM)
        rest = stream.read()  # the stream came to an end by itself
        assert b"event: standing" in rest
        stream.close()
    finally:
        server.kill()
        server.wait()
        assert server.stdout is not None
        server.stdout.close()
