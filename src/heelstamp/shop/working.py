"""A worker: takes the work of a shop from its queue, does it, and says how far it is.

Each piece of work is begun at most twice: a worker that stops answering loses it to another, and if
that one stops too the work is said to have failed. What came of work that was lost meanwhile is not
kept: it is no longer this worker's.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import socket
import time
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heelstamp.errors import HeelstampError, InputError, StorageError
from heelstamp.shop.jobs import LANES, FaultError, StoppedError
from heelstamp.shop.queued_jobs import ANSWERS_S, TASK, QueuedJobs, queue_of
from heelstamp.shop.sealed_values import Seal
from heelstamp.shop.settings import read_settings

if TYPE_CHECKING:
    from procrastinate.jobs import Job as Asked

BEAT_S = 3.0
"""Seconds between two signs of life; `ANSWERS_S` is several of them."""
TOLD_S = 0.4
"""Seconds between two words on how far it is."""
MOST_TRIES = 2
LEFT_ONCE = "begun again: the worker that was at it stopped"


class _LostError(HeelstampError):
    """The work is another worker's by now."""


async def work_until_stopped(
    folder: Path, *, lanes: Collection[str] = (), at_once: int = 1, wait: bool = True
) -> None:
    """Take work until the process is told to stop (SIGINT, SIGTERM): what is at work is finished.

    Parameters
    ----------
    lanes
        Lanes to take from; all of them without.
    at_once
        How many pieces of work at a time.
    wait
        Without, it ends when nothing is left to do.

    Raises
    ------
    InputError
        The shop has no workers, or the packages for it are not installed.
    StorageError
        The database is away.
    """
    from heelstamp.shop.opened import OpenShop

    settings = read_settings(folder)
    with OpenShop(folder) as shop:
        queued = shop.jobs
        if not isinstance(queued, QueuedJobs):
            raise InputError(
                "this shop has no workers",
                where="shop.toml",
                remedy="Write workers = true in it, and start its servers again.",
            )
        seal = Seal(folder, shop)
        app = queue_of(settings, worker=True)

        @app.task(name=TASK)
        def _take(key: str) -> None:
            do_work(queued, seal, key)

        async with app.open_async():
            sweeping = asyncio.create_task(_sweep(app, queued))
            try:
                await app.run_worker_async(
                    queues=list(lanes) or list(LANES),
                    name=f"{socket.gethostname()}:{os.getpid()}",
                    concurrency=at_once,
                    wait=wait,
                    fetch_job_polling_interval=1.0,
                    delete_jobs="always",
                    update_heartbeat_interval=BEAT_S,
                    stalled_worker_timeout=ANSWERS_S,
                )
            finally:
                sweeping.cancel()
                with contextlib.suppress(asyncio.CancelledError):
                    await sweeping


def do_work(queued: QueuedJobs, seal: Seal, key: str) -> None:
    """Do what lies under a key, and keep what came of it; nothing where it was let go."""
    taken = queued.table.take(key)
    if taken is None:
        return
    act, tries = taken
    last = 0.0

    def progress(done: float, total: float, stage: str = "", preview: bytes | None = None) -> None:
        nonlocal last
        at = time.monotonic()
        if preview is None and at - last < TOLD_S:
            return
        last = at
        values: dict[str, Any] = {"done": done, "total": total, "stage": stage}
        if preview is not None:
            values["preview"] = preview
        if not queued.table.went_on(key, tries, values):
            raise _LostError("this work is another worker's now")

    result, error = None, None
    try:
        result = seal.opened(act)(progress)
    except (_LostError, StoppedError):
        return
    except HeelstampError as told:
        error = told
    except Exception as fault:  # noqa: BLE001 - a fault in a worker must reach a person
        error = FaultError(
            "the work ended in a fault of the program",
            where=key,
            received=f"{type(fault).__name__}: {fault}",
            remedy="Report it, with this line.",
        )
    ended: dict[str, Any] = {"standing": "failed", "stage": "not done"}
    if error is None:
        ended = {"standing": "done", "stage": "done", "done": 1.0, "total": 1.0}
    queued.table.went_on(key, tries, {**ended, "outcome": seal.sealed((result, error))})


async def _sweep(app: Any, queued: QueuedJobs) -> None:
    """Give away anew what a worker left, and what nobody was asked to do."""
    while True:
        await asyncio.sleep(BEAT_S)
        try:
            await sweep_once(app, queued)
        except (HeelstampError, OSError):  # the database is away: the next look will tell
            continue


async def sweep_once(app: Any, queued: QueuedJobs) -> None:
    """One look at what was left."""
    for asked in await app.job_manager.get_stalled_jobs(seconds_since_heartbeat=ANSWERS_S):
        await _give_away(app, queued, asked)
    for row in await asyncio.to_thread(queued.table.orphans):
        await asyncio.to_thread(queued.ask_for, row.lane, row.key)


async def _give_away(app: Any, queued: QueuedJobs, asked: Asked) -> None:
    from datetime import UTC, datetime

    from procrastinate.jobs import Status

    key = str(asked.task_kwargs.get("key", ""))
    row = await asyncio.to_thread(queued.table.find, key)
    if row is not None and row.tries < MOST_TRIES:
        await asyncio.to_thread(queued.table.waits_again, key, LEFT_ONCE)
        await app.job_manager.retry_job(asked, retry_at=datetime.now(UTC))
        return
    if row is not None:
        error = StorageError(
            "the workers that were at it stopped, twice",
            where=key,
            remedy="Look at their logs and memory, then begin it anew.",
        )
        told = {"standing": "failed", "stage": "not done", "outcome": queued.sealed((None, error))}
        await asyncio.to_thread(queued.table.went_on, key, row.tries, told)
    await app.job_manager.finish_job(asked, status=Status.FAILED, delete_job=True)
