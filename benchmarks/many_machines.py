"""Two servers and three workers killed at random under load: nothing acknowledged may be lost.

Usage: python benchmarks/many_machines.py [--kills 200] [--seed 1]. Starts PostgreSQL (Debian's), an
S3-compatible store (moto's server), two servers and three workers of one shop. Programs send
entries, photographs and census tables to either server, and again under the same id until one
acknowledges; meanwhile one of the five processes after another, drawn at random, is killed
(SIGKILL) and started anew. In the end every entry that was acknowledged must be in its journal
once, every photograph whole in the store, all work finished, every table in the census once, and
the shop sound. Ends with 1 otherwise, and where nothing was acknowledged.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
import uuid
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Self

import numpy as np

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from fakes.databases import starting_and_stopping
from fakes.object_store import BUCKET, KEYS, object_store
from fakes.web_shop import INSTRUMENT, jpeg
from heelstamp.archive import sha256
from heelstamp.casework.dossier import open_with
from heelstamp.errors import HeelstampError
from heelstamp.shop import create_shop, now
from heelstamp.shop.file_store import move_files
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.queued_jobs import QueuedJobs
from heelstamp.shop.soundness import shop_faults

TAGS = tuple(f"K-000{n}" for n in range(1, 5))
MAKER = "sallowby-wherry"
SERVERS, WORKERS = 2, 3
GIVE_UP_S = 300.0


class Machines:
    """The processes, each started anew when it was killed."""

    def __init__(self, shop: Path) -> None:
        self.ports = [_free_port() for _ in range(SERVERS)]
        told = [["serve", "--shop", str(shop), "--port", str(one)] for one in self.ports]
        self._words = [*told, *([["work", "--shop", str(shop)]] * WORKERS)]
        self._running = [self._start(one) for one in self._words]

    def kill(self, n: int) -> str:
        """Kill one and start it anew; what it was."""
        self._running[n].send_signal(signal.SIGKILL)
        self._running[n].wait()
        self._running[n] = self._start(self._words[n])
        if n < SERVERS:
            self.until_well(n)
        return self._words[n][0]

    def until_well(self, n: int) -> None:
        """Wait until a server answers: else both are away most of the time, and nothing is sent."""
        until = time.monotonic() + GIVE_UP_S
        while time.monotonic() < until:
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{self.ports[n]}/health", timeout=5):
                    return
            except OSError:
                time.sleep(0.1)

    def stop(self) -> None:
        """Stop all as one should."""
        for one in self._running:
            one.terminate()
        for one in self._running:
            one.wait(60)

    @property
    def memory_mb(self) -> dict[str, list[int]]:
        """Resident memory of each now, by what it is."""
        found: dict[str, list[int]] = {}
        for words, one in zip(self._words, self._running, strict=True):
            status = Path(f"/proc/{one.pid}/status").read_text("utf-8")
            line = next((line for line in status.splitlines() if line.startswith("VmRSS")), "")
            found.setdefault(words[0], []).append(int(line.split()[1]) // 1000 if line else 0)
        return found

    def _start(self, words: list[str]) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-m", "heelstamp", *words],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        )


class Load:
    """Programs that send until somebody acknowledges, and what was acknowledged."""

    def __init__(self, ports: list[int], seed: int) -> None:
        self._ports, self._seed = ports, seed
        self._ended = threading.Event()
        self.entries: dict[str, str] = {}
        self.files: dict[str, str] = {}
        self.tables: dict[str, str] = {}
        self.refused: list[str] = []
        self.tries: Counter[str] = Counter()
        acts = (self._enter, self._enter, self._photograph, self._table)
        self._threads = [
            threading.Thread(target=self._keep_at, args=(n, act)) for n, act in enumerate(acts)
        ]

    def __enter__(self) -> Self:
        for one in self._threads:
            one.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._ended.set()
        for one in self._threads:
            one.join()

    def _keep_at(self, n: int, act: object) -> None:
        random, count = np.random.default_rng((self._seed, n)), 0
        while not self._ended.is_set():
            count += 1
            act(f"x{n}-{count}", str(random.choice(TAGS)), random)  # type: ignore[operator]
            self._ended.wait(float(random.uniform(0.05, 0.3)))

    def _enter(self, id_: str, tag: str, random: np.random.Generator) -> None:
        body = {"id": id_, "part": "neck", "kind": "mark", "status": "absent"}
        told = {"by": "examiner A", "entries": [{"kind": "observation", "body": body}]}
        data, kind = json.dumps(told).encode(), "application/json"
        if self._until_acknowledged(f"/api/dossiers/{tag}/entries", data, kind, random):
            self.entries[id_] = tag

    def _photograph(self, id_: str, tag: str, random: np.random.Generator) -> None:
        picture = jpeg(320, 240, int(random.integers(1, 255)))
        data, kind = _parts({"by": "examiner A", "id": id_}, "photo", "a.jpg", picture)
        if self._until_acknowledged(f"/api/dossiers/{tag}/photographs", data, kind, random):
            self.entries[id_], self.files[id_] = tag, sha256(picture)

    def _table(self, id_: str, _tag: str, random: np.random.Generator) -> None:
        head, row = (ROOT / "examples/wherry-census.csv").read_text("utf-8").splitlines()[:2]
        table = f"{head}\n{id_},{row.partition(',')[2]}\n".encode()
        columns = (ROOT / "examples/wherry-census-columns.toml").read_bytes()
        data, kind = _parts({"by": "examiner A"}, "table", "t.csv", table, columns)
        told = self._until_acknowledged(f"/api/acts/maker/{MAKER}/census", data, kind, random)
        if told:
            self.tables[id_] = str(told["work"])

    def _until_acknowledged(
        self, path: str, data: bytes, kind: str, random: np.random.Generator
    ) -> dict | list | None:
        key = f'"{uuid.uuid4()}"'
        while not self._ended.is_set():
            port = int(random.choice(self._ports))
            asked = urllib.request.Request(
                f"http://127.0.0.1:{port}{path}",
                data,
                {"content-type": kind, "idempotency-key": key},
            )
            try:
                with urllib.request.urlopen(asked, timeout=30) as answer:
                    self.tries["acknowledged"] += 1
                    return json.loads(answer.read())
            except urllib.error.HTTPError as refused:
                said = refused.read().decode(errors="replace")
                self.tries[f"status {refused.code}"] += 1
                if refused.code == 409 and "still worked on" in said:
                    key = f'"{uuid.uuid4()}"'  # its server died; what is sent has an id of its own
                elif refused.code == 422:
                    self.refused.append(f"refused, though it can be read: {said}")
                    return None
            except (OSError, ValueError):
                self.tries["no answer"] += 1
            self._ended.wait(0.1)
        return None


def _parts(
    fields: dict[str, str], name: str, file: str, data: bytes, columns: bytes = b""
) -> tuple[bytes, str]:
    mark = uuid.uuid4().hex
    parts = [
        f'--{mark}\r\ncontent-disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'.encode()
        for key, value in fields.items()
    ]
    for key, called, content in ((name, file, data), ("columns", "columns.toml", columns)):
        if content:
            head = f'--{mark}\r\ncontent-disposition: form-data; name="{key}"; filename="{called}"'
            parts.append(f"{head}\r\n\r\n".encode() + content + b"\r\n")
    return b"".join((*parts, f"--{mark}--\r\n".encode())), f"multipart/form-data; boundary={mark}"


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _until_done(shop: OpenShop, load: Load) -> list[str]:
    """Wait for all work; what is wrong with it."""
    assert isinstance(shop.jobs, QueuedJobs)
    wrong = []
    until = time.monotonic() + GIVE_UP_S
    held = {one.id for one in shop.census.rows(MAKER)}
    for id_, key in load.tables.items():
        job = shop.jobs.find(key)
        while job is not None and not job.finished and time.monotonic() < until:
            time.sleep(0.1)
            job = shop.jobs.find(key)
        if id_ not in held:
            held = {one.id for one in shop.census.rows(MAKER)}
        if id_ not in held:
            told = "let go" if job is None else f"{job.standing}: {job.error}"
            wrong.append(f"table {id_} is not in the census; its work is {told}")
    return wrong


def _wrong(folder: Path, load: Load) -> list[str]:
    with OpenShop(folder) as shop:
        wrong = _until_done(shop, load)
        found: Counter[tuple[str, str]] = Counter()
        for tag in TAGS:
            lines = (json.loads(one) for one in shop.journals.lines(tag))
            found.update((tag, one["body"].get("id", "")) for one in lines)
        wrong += [
            f"entry {id_} of {tag} is there {found[tag, id_]} times"
            for id_, tag in load.entries.items()
            if found[tag, id_] != 1
        ]
        for id_, digest in load.files.items():
            try:
                shop.files.get(digest)
            except HeelstampError as error:
                wrong.append(f"photograph {id_}: {error}")
    return wrong + [str(one) for one in shop_faults(folder)]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    random, killed = np.random.default_rng(given.seed), Counter[str]()
    os.environ.update(KEYS, OPENBLAS_NUM_THREADS="1")
    with (
        TemporaryDirectory() as scratch,
        starting_and_stopping() as (address, _, _, _),
        object_store() as store,
    ):
        folder = Path(scratch) / "shop"
        with create_shop(folder, name="Many", currency="USD", database=address) as shop:
            for tag in TAGS:
                first = [("instrument", {**INSTRUMENT, "tag": tag})]
                open_with(shop, first, at=now(), by="examiner A")
        move_files(folder, f"s3://{BUCKET}/shop", store.endpoint)
        settings = folder / "shop.toml"
        settings.write_text(settings.read_text("utf-8") + "workers = true\n", "utf-8")
        machines = Machines(folder)
        for n in range(SERVERS):
            machines.until_well(n)
        began = time.perf_counter()
        try:
            with Load(machines.ports, given.seed) as load:
                for _ in range(given.kills):
                    time.sleep(float(random.uniform(0.3, 2.0)))
                    killed[machines.kill(int(random.integers(SERVERS + WORKERS)))] += 1
                time.sleep(10)
            memory = machines.memory_mb
            wrong = load.refused + _wrong(folder, load)
        finally:
            machines.stop()
    print(f"killed {dict(killed)} in {time.perf_counter() - began:.0f} s; seed {given.seed}")
    print(
        f"acknowledged: {len(load.entries)} entries, {len(load.files)} of them photographs; "
        f"{len(load.tables)} tables"
    )
    print(f"requests: {dict(load.tries)}; resident memory in the end, MB: {memory}")
    print("\n".join(wrong) or "nothing was lost, nothing is there twice, and the shop is sound")
    return 1 if wrong or not (load.entries and load.files and load.tables) else 0


if __name__ == "__main__":
    sys.exit(main())
