"""Work that any machine does and any server answers for, on PostgreSQL."""

from __future__ import annotations

import asyncio
import os
import pickle
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy import text

from fakes.web_shop import INSTRUMENT, bench_of
from heelstamp.casework.dossier import open_with
from heelstamp.errors import ConflictError, InputError, IntegrityError
from heelstamp.shop import create_shop, now
from heelstamp.shop.jobs import Job, Progress
from heelstamp.shop.learning import begin_holding
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.queued_jobs import NOBODY, QueuedJobs
from heelstamp.shop.sealed_values import Seal
from heelstamp.shop.working import LEFT_ONCE, _give_away, work_until_stopped

pytestmark = pytest.mark.postgres
PATIENCE_S = 120.0


# what is to be done is a function of a module, which a worker imports too


def add(shop: OpenShop, one: int, other: int, tell: Progress) -> tuple[int, str]:
    tell(1, 2, "adding")
    return one + other, shop.name


def refuse(shop: OpenShop, tell: Progress) -> None:
    raise InputError("this cannot be done", where="there", remedy="Do not.")


def fail(shop: OpenShop, tell: Progress) -> None:
    raise ValueError("a fault")


def outlive(shop: OpenShop, mark: str, tell: Progress) -> int:
    """Stop the worker it runs in, the first time."""
    place = Path(mark)
    if not place.exists():
        place.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return 2


@pytest.fixture
def served(tmp_path: Path, postgres_address: str) -> Path:
    """A shop on PostgreSQL that leaves work to workers."""
    folder = tmp_path / "served"
    with create_shop(folder, name="Served", currency="USD", database=postgres_address) as shop:
        open_with(shop, [("instrument", INSTRUMENT)], at=now(), by="examiner A")
    settings = folder / "shop.toml"
    settings.write_text(settings.read_text() + "workers = true\n")
    return folder


@pytest.fixture
def two(served: Path) -> Iterator[tuple[OpenShop, OpenShop]]:
    """Two servers of it."""
    with OpenShop(served) as one, OpenShop(served) as other:
        yield one, other


def worker(folder: Path) -> subprocess.Popen[bytes]:
    paths = os.pathsep.join([*sys.path, str(Path(__file__).parents[1])])
    return subprocess.Popen(
        [sys.executable, "-m", "heelstamp", "work", "--shop", str(folder)],
        env={**os.environ, "PYTHONPATH": paths, "OPENBLAS_NUM_THREADS": "1"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def until_idle(folder: Path) -> None:
    """Work in this process until nothing is left to do."""
    asyncio.run(work_until_stopped(folder, wait=False))


def begin(shop: OpenShop, act: Any, on: str = "", **told: Any) -> Job:
    return shop.jobs.start("census", "test", "about", act, on=(on,), **told)


def test_done_by_a_worker_and_told_by_every_server(
    two: tuple[OpenShop, OpenShop], served: Path
) -> None:
    one, other = two
    assert isinstance(one.jobs, QueuedJobs)
    heard: list[Job] = []
    other.jobs.listen(heard.append)
    job = begin(one, partial(add, one, 2, 3))
    assert (job.standing, job.stage) == ("waiting", NOBODY)
    assert begin(other, partial(add, other, 2, 3)).key == job.key  # the same is not begun twice
    refused = begin(one, partial(refuse, one), on="r")
    faulty = begin(one, partial(fail, one), on="f")
    until_idle(served)
    for server in two:
        done = server.jobs.find(job.key)
        assert done is not None
        assert (done.standing, done.result, done.share) == ("done", (5, "Served"), 1.0)
        told = server.jobs.find(refused.key)
        assert told is not None
        assert isinstance(told.error, InputError)
        assert (told.error.what, told.error.remedy) == ("this cannot be done", "Do not.")
        broken = server.jobs.wait(faulty, 1)
        assert "ValueError: a fault" in str(broken.error)
        last = server.jobs.at("test", "about", ("r",))
        assert last is not None
        assert last.key == refused.key
    assert begin(one, partial(add, one, 2, 3)).standing == "done"
    until = time.monotonic() + PATIENCE_S
    while "done" not in {one.standing for one in heard} and time.monotonic() < until:
        time.sleep(0.05)
    assert {one.standing for one in heard} >= {"done"}


def test_one_at_a_place_where_it_is_to_be_alone(two: tuple[OpenShop, OpenShop]) -> None:
    one, other = two
    begin(one, partial(add, one, 1, 1), on="p", rests_on=1, alone=True)
    with pytest.raises(ConflictError):
        begin(other, partial(add, other, 1, 2), on="p", rests_on=2, alone=True)


def test_a_server_that_stopped_before_it_asked_loses_nothing(
    two: tuple[OpenShop, OpenShop], served: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, _ = two
    assert isinstance(one.jobs, QueuedJobs)
    monkeypatch.setattr(one.jobs, "ask_for", lambda *_: None)
    job = begin(one, partial(add, one, 2, 2))
    with one.jobs.table._writing() as connection:
        connection.execute(text("UPDATE heelstamp_work.work SET at = at - interval '1 minute'"))
    running = worker(served)
    try:
        assert one.jobs.wait(job, PATIENCE_S).result == (4, "Served")
    finally:
        running.terminate()
        assert running.wait(PATIENCE_S) == 0  # it ends as it is told to


def test_a_workers_death_is_tried_once_more_and_shown(
    two: tuple[OpenShop, OpenShop], served: Path, tmp_path: Path
) -> None:
    one, _ = two
    assert isinstance(one.jobs, QueuedJobs)
    mark = tmp_path / "times"
    job = begin(one, partial(outlive, one, str(mark)))
    seen: list[str] = []
    one.jobs.listen(lambda told: seen.append(told.stage))
    assert worker(served).wait(PATIENCE_S) == -signal.SIGKILL
    _said_nothing_for_long(one.jobs)
    last = worker(served)
    try:
        done = one.jobs.wait(job, PATIENCE_S)
    finally:
        last.terminate()
        last.wait(PATIENCE_S)
    assert (done.standing, done.result) == ("done", 2)
    assert LEFT_ONCE in seen


def test_what_two_workers_left_has_failed(two: tuple[OpenShop, OpenShop]) -> None:
    one, other = two
    assert isinstance(one.jobs, QueuedJobs)
    job = begin(one, partial(add, one, 1, 1))
    told: list[str] = []

    class Manager:
        async def retry_job(self, *_: object, **__: object) -> None:
            told.append("again")

        async def finish_job(self, *_: object, **__: object) -> None:
            told.append("ended")

    app = SimpleNamespace(job_manager=Manager())
    asked = SimpleNamespace(task_kwargs={"key": job.key})
    for tries in (1, 2):
        taken = one.jobs.table.take(job.key)
        assert taken is not None
        assert taken[1] == tries
        asyncio.run(_give_away(app, one.jobs, asked))  # type: ignore[arg-type]
    assert told == ["again", "ended"]
    # what the first would say now is not heard: it is no longer its work
    assert not one.jobs.table.went_on(job.key, 1, {"standing": "done"})
    failed = other.jobs.find(job.key)
    assert failed is not None
    assert failed.standing == "failed"
    assert "stopped, twice" in str(failed.error)


def _said_nothing_for_long(jobs: QueuedJobs) -> None:
    """Let the worker that was killed have said nothing for long: no test waits for that."""
    aged = "UPDATE heelstamp_work.procrastinate_workers SET last_heartbeat = now() - interval '1h'"
    with jobs.table._writing() as connection:
        connection.execute(text(aged))


# --- What is sealed ------------------------------------------------------------------------------


def test_what_another_wrote_into_the_database_is_not_run(
    two: tuple[OpenShop, OpenShop], served: Path, tmp_path: Path
) -> None:
    one, _ = two
    assert isinstance(one.jobs, QueuedJobs)
    job = begin(one, partial(add, one, 1, 1))
    ran = tmp_path / "ran"
    evil = bytes(32) + pickle.dumps(partial(Path.touch, ran))
    with one.jobs.table._writing() as connection:
        connection.execute(text("UPDATE heelstamp_work.work SET act = :act"), {"act": evil})
    until_idle(served)
    done = one.jobs.find(job.key)
    assert done is not None
    assert isinstance(done.error, IntegrityError)
    assert not ran.exists()


def test_a_seal_opens_what_it_sealed_alone(new_shop: Path, tmp_path: Path) -> None:
    shop = object()
    seal = Seal(new_shop, shop)
    sealed = seal.sealed((partial(add, shop, 1, 2), {"a": [1.5]}))
    act, plain = seal.opened(sealed)
    assert act.args[0] is shop
    assert plain == {"a": [1.5]}
    for changed in (sealed[:-1] + b"x", b"", sealed[32:]):
        with pytest.raises(IntegrityError):
            seal.opened(changed)


# --- The bench -----------------------------------------------------------------------------------


def test_the_bench_shows_work_that_another_server_began(served: Path) -> None:
    with OpenShop(served) as other, bench_of(served) as bench:
        job = begin_holding(other, "sallowby-wherry")
        page = bench.get(f"/maker/sallowby-wherry/work/{job.key}")
        assert page.status_code == 200
        assert NOBODY in page.text.lower()
        until_idle(served)
        assert other.jobs.find(job.key).finished  # type: ignore[union-attr]
        assert bench.get(f"/api/work/{job.key}").json()["standing"] in ("done", "failed")


def test_workers_without_postgres_are_refused(shop: Path, run: Any) -> None:
    settings = shop / "shop.toml"
    settings.write_text(settings.read_text() + "workers = true\n")
    with OpenShop(shop) as opened, pytest.raises(InputError, match="PostgreSQL"):
        begin(opened, partial(add, opened, 1, 1))
    assert run("work", "--shop", shop).code == 2
    settings.write_text(settings.read_text().replace("workers = true\n", ""))
    refused = run("work", "--shop", shop)
    assert refused.code == 2
    assert "workers" in refused.err
