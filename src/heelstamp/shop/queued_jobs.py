"""Work beside the requests that any machine may do and any server answers for: on PostgreSQL.

The same interface as `heelstamp.shop.jobs.Jobs`. What is to be done is a partial of a function of
the program with its values, sealed (`heelstamp.shop.sealed_values`), in a row of the database;
workers (``heelstamp work``) are told of it by procrastinate, say there how far they are, and leave
there what came of it. A worker that stops answering loses its work to another, once; then it is
said to have failed.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from threading import Event, Thread
from typing import TYPE_CHECKING, Any

from heelstamp.archive import sha256
from heelstamp.errors import ConflictError, HeelstampError, InputError, IntegrityError
from heelstamp.shop.jobs import LANES, Job, Lane, Standing, Work
from heelstamp.shop.sealed_values import Seal
from heelstamp.shop.settings import ShopSettings

if TYPE_CHECKING:
    from procrastinate import App

    from heelstamp.store.work import WorkTable

REMEMBERED = 40
"""Finished work that is remembered in each lane."""
WAITING = 200
"""How much may wait in a lane."""
LOOKED_S = 0.5
"""Seconds between two looks at what went on elsewhere."""
ANSWERS_S = 15.0
"""A worker that said nothing for so long has stopped."""
TASK = "heelstamp.work"
NOBODY = "waits; no worker is running"


def queue_of(settings: ShopSettings, *, worker: bool = False) -> App:
    """The queue of a shop; procrastinate on its database.

    Raises
    ------
    InputError
        The shop is not on PostgreSQL, or procrastinate is not installed.
    """
    if not settings.database:
        raise InputError(
            "workers need a shop on PostgreSQL",
            where="shop.toml, workers",
            remedy="Move it: heelstamp move --to ADDRESS; or take the line workers out.",
        )
    try:
        from procrastinate import App, PsycopgConnector, SyncPsycopgConnector
    except ImportError as error:
        raise InputError(
            "a shop with workers needs the package procrastinate, which is not installed",
            received=error,
            remedy="Say make setup-server, or pip install 'heelstamp[server]'.",
        ) from None
    from heelstamp.store.work import SCHEMA

    kind = PsycopgConnector if worker else SyncPsycopgConnector
    place = {"options": f"-c search_path={SCHEMA}"}
    return App(connector=kind(conninfo=settings.database, kwargs=place))


def table_of(settings: ShopSettings) -> WorkTable:
    """The rows of work of a shop, whose schema is made where it is missing."""
    from importlib.metadata import version

    from procrastinate.schema import SchemaManager

    from heelstamp.store.engine import postgres_engine
    from heelstamp.store.work import WorkTable

    engine = postgres_engine(settings.database)
    try:
        return WorkTable(engine, SchemaManager.get_schema(), version("procrastinate"))
    except BaseException:
        engine.dispose()
        raise


class QueuedJobs:
    """The work of one shop, wherever it is done.

    Parameters
    ----------
    folder
        The shop's folder.
    settings
        What its ``shop.toml`` says.
    shop
        The open shop, in whose place a worker puts its own.
    """

    def __init__(
        self, folder: Path, settings: ShopSettings, shop: object, lanes: Mapping[str, Lane] = LANES
    ) -> None:
        self._queue = queue_of(settings)
        self._seal = Seal(folder, shop)
        self._lanes = lanes
        self.table = table_of(settings)
        self._queue.open()
        self._listeners: list[Callable[[Job], None]] = []
        self._ended = Event()
        self._looking: Thread | None = None

    def listen(self, told: Callable[[Job], None]) -> None:
        """Have *told* called with every piece of work whenever it went on, on any machine."""
        self._listeners.append(told)
        if self._looking is None:
            since = self._now()  # before anything can be begun that is to be heard of
            self._looking = Thread(
                target=self._look, args=(since,), name="work elsewhere", daemon=True
            )
            self._looking.start()

    def start(
        self,
        lane: str,
        what: str,
        about: str,
        act: Work,
        *,
        on: tuple[str, ...] = (),
        base: str = "",
        rests_on: object = None,
        alone: bool = False,
    ) -> Job:
        """Begin work, or return what was begun on the same ground and did not fail.

        See `heelstamp.shop.jobs.Jobs.start`; *act* is a partial of a function of a module.
        """
        if lane not in self._lanes:
            raise KeyError(lane)
        key = sha256(repr((what, about, on, base, rests_on)).encode())[:24]
        with self.table.lane(lane) as held:
            jobs = {one.key: one for one in map(self._job, held.rows())}
            known = jobs.get(key)
            if known is not None and known.standing != "failed":
                return known
            job = Job(key, what, about, on, base)
            others = [one for one in jobs.values() if alone and one.place == job.place]
            if any(not one.finished for one in others):
                raise ConflictError(
                    "this is at work already",
                    where=about,
                    received=" and ".join(on) or what,
                    remedy="Wait until it is done, then ask again.",
                )
            busy = sum(not one.finished for one in jobs.values())
            if busy >= WAITING or self._ended.is_set():
                raise ConflictError(
                    "the workers are busy with other work",
                    where=about,
                    received=f"{busy} at work",
                    remedy="Wait until some of it is done.",
                )
            finished = [one.key for one in jobs.values() if one.finished]
            held.forget([*finished[:-REMEMBERED], *(one.key for one in others)])
            held.put(
                {
                    "key": key,
                    "what": what,
                    "about": about,
                    "frames": json.dumps(list(on)),
                    "base": base,
                    "standing": job.standing,
                    "done": 0.0,
                    "total": 0.0,
                    "stage": job.stage if self.table.workers(ANSWERS_S) else NOBODY,
                    "act": self._seal.sealed(act),
                }
            )
        self.ask_for(lane, key)
        return self.find(key) or job

    def ask_for(self, lane: str, key: str) -> None:
        """Ask the workers to do what lies under a key."""
        from procrastinate.exceptions import AlreadyEnqueued

        try:
            self._queue.configure_task(TASK, queue=lane, queueing_lock=key).defer(key=key)
        except AlreadyEnqueued:
            return

    def find(self, key: str) -> Job | None:
        """Return work by its key; None when it was let go."""
        row = self.table.find(key)
        return None if row is None else self._job(row)

    def at(self, what: str, about: str, on: tuple[str, ...] = ()) -> Job | None:
        """Return the last work at a place; None when none is known."""
        row = self.table.at(what, about, on)
        return None if row is None else self._job(row)

    def wait(self, job: Job, seconds: float) -> Job:
        """Wait for work, but no longer than *seconds*; return where it stands then."""
        until, pause = time.monotonic() + seconds, 0.02
        while True:
            found = self.find(job.key) or job
            if found.finished or time.monotonic() >= until:
                return found
            self._ended.wait(min(pause, max(0.0, until - time.monotonic())))
            pause = min(2 * pause, LOOKED_S)

    def sealed(self, value: object) -> bytes:
        """What came of work, as it is kept."""
        return self._seal.sealed(value)

    def close(self) -> None:
        """Look no more at what goes on; the work itself goes on."""
        self._ended.set()
        if self._looking is not None:
            self._looking.join()
        self._queue.close()
        self.table.close()

    def _now(self) -> Any | None:
        """The time of the database; None while it is away."""
        try:
            return self.table.now()
        except HeelstampError:
            return None

    def _look(self, since: Any | None) -> None:
        while not self._ended.wait(LOOKED_S):
            since = since or self._now()
            try:
                rows = () if since is None else self.table.since(since)
            except HeelstampError:  # the database is away: the next look will tell
                continue
            for row in rows:
                since = row.at
                for told in self._listeners:
                    told(self._job(row))

    def _job(self, row: Any) -> Job:
        result, error = None, None
        if row.outcome is not None:
            try:
                result, error = self._seal.opened(bytes(row.outcome))
            except IntegrityError as told:
                error = told
        standing: Standing = (
            "failed" if error is not None and row.standing == "done" else row.standing
        )
        return Job(
            row.key,
            row.what,
            row.about,
            tuple(json.loads(row.frames)),
            row.base,
            standing,
            row.done,
            row.total,
            row.stage,
            None if row.preview is None else bytes(row.preview),
            result,
            error,
            time.monotonic() - row.age,
        )
