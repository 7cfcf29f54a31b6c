"""What an operator sees of a server: whether it is well, what it answered, what waits; no names."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.parser import text_string_to_metric_families
from starlette.testclient import TestClient

from fakes.commands import Run
from fakes.shared_shop import SharedShop
from fakes.web_shop import TAG
from heelstamp.web import create_app

PATIENCE_S = 60.0


def test_metrics_and_lines_name_no_dossier(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    registry = CollectorRegistry()
    app = create_app(shop, metrics=registry, log=True)
    with TestClient(app, base_url="http://localhost") as bench:
        for path in (f"/dossier/{TAG}/sale?note=secret", f"/dossier/{TAG}/nothing", "/health"):
            bench.get(path)
        told = generate_latest(registry).decode()
        read = {one.name: one for one in text_string_to_metric_families(told)}
    counted = {
        (one.labels["path"], one.labels["status"])
        for one in read["heelstamp_requests"].samples
        if one.name.endswith("_total")
    }
    assert ("/dossier/{tag}/sale", "200") in counted
    assert ("/health", "200") in counted
    assert read["heelstamp_database_up"].samples[0].value == 1
    assert read["heelstamp_webhooks_failing"].samples[0].value == 0
    lines = [json.loads(one) for one in capsys.readouterr().err.splitlines() if one]
    assert [one["status"] for one in lines if one["path"] == "/dossier/{tag}/sale"] == [200]
    for text in (told, json.dumps(lines)):
        assert TAG not in text
        assert "secret" not in text


def test_health_is_told_to_anybody_and_tells_nothing(shared: SharedShop) -> None:
    answer = shared.device().get("/health")
    assert (answer.status_code, answer.text) == (200, "well")
    assert shared.device().get("/").status_code == 303


def test_a_database_that_is_away_is_not_well(shop: Path) -> None:
    with TestClient(create_app(shop), base_url="http://localhost") as bench:
        (shop / "heelstamp.db").write_bytes(b"no database")
        for ending in ("-wal", "-shm"):
            (shop / f"heelstamp.db{ending}").unlink(missing_ok=True)
        bench.app.state.shop.journals._engine.dispose()  # type: ignore[attr-defined]
        assert bench.get("/health").status_code == 503


@pytest.mark.parametrize(
    "words",
    [
        ("--proxy", "everybody", "--name", "bench.example"),
        ("--proxy", "0.0.0.0/0", "--name", "bench.example"),
        ("--proxy", "10.0.0.1"),
        ("--proxy", "10.0.0.1", "--name", "bench.example", "--unencrypted"),
    ],
)
def test_a_proxy_that_cannot_be_meant(run: Run, shared: SharedShop, words: tuple[str, ...]) -> None:
    done = run("serve", "--share", "--shop", shared.folder, *words)
    assert done.code == 2
    assert "proxy" in done.err


def test_behind_a_proxy_who_asks_is_who_the_proxy_says(shared: SharedShop) -> None:
    with socket.socket() as probe, socket.socket() as other:
        probe.bind(("127.0.0.1", 0))
        other.bind(("127.0.0.1", 0))
        port, metrics = probe.getsockname()[1], other.getsockname()[1]
    words = ["serve", "--share", "--shop", str(shared.folder), "--host", "127.0.0.1"]
    words += ["--port", str(port), "--metrics", str(metrics), "--log"]
    words += ["--proxy", "127.0.0.1", "--name", "bench.example"]
    process = subprocess.Popen(
        [sys.executable, "-m", "heelstamp", *words],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        answer = _asked(port, "/health", {})
        assert answer[0] == 200
        told = {"x-forwarded-proto": "https", "x-forwarded-for": "192.0.2.9"}
        status, headers = _asked(port, "/", {**told, "accept": "text/html"})
        assert (status, headers["location"]) == (303, "/sign-in?to=%2F")
        own = {**told, "origin": "https://bench.example"}
        assert _asked(port, "/sign-in", own, b"name=x&password=y")[0] == 401
        assert _asked(port, "/sign-in", {"origin": "https://bench.example"}, b"name=x")[0] == 403
        with urllib.request.urlopen(f"http://127.0.0.1:{metrics}/metrics") as page:
            assert b'heelstamp_requests_total{method="POST",path="/sign-in"' in page.read()
    finally:
        process.terminate()
        process.wait(PATIENCE_S)


class _Stay(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_: object) -> None:  # type: ignore[override]
        return None


def _asked(
    port: int, path: str, headers: dict[str, str], data: bytes | None = None
) -> tuple[int, dict[str, str]]:
    opener = urllib.request.build_opener(_Stay)
    asked = urllib.request.Request(
        f"http://127.0.0.1:{port}{path}", data, {"host": "bench.example", **headers}
    )
    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            with opener.open(asked) as answer:
                return answer.status, dict(answer.headers)
        except urllib.error.HTTPError as refused:
            with refused:
                return refused.code, dict(refused.headers)
        except (urllib.error.URLError, ConnectionError):
            if time.monotonic() > until:
                raise
            time.sleep(0.1)
