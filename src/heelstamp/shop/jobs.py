"""Work that takes seconds, done beside the requests: bounded, nothing twice, its progress told.

A job is known by a key that names all it rests on, so that asking twice does it once. What came of
it is remembered until newer ones need the room, and gone when the bench stops: it can be computed
again, and what was entered is in the journal. Jobs wait in lanes, for what they cost: a pair of
photographs takes up to a gigabyte of memory (``docs/methods/bench.md``), a census a core.
"""

from __future__ import annotations

import os
from collections import OrderedDict
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field, replace
from threading import Lock
from time import monotonic
from typing import Any, Literal, NamedTuple, Protocol

from heelstamp.archive import sha256
from heelstamp.errors import ConflictError, HeelstampError, NotFoundError
from heelstamp.shop.freed_memory import give_back

CORES = os.cpu_count() or 1
REMEMBERED = 8
"""Finished jobs that are remembered in each lane."""

Standing = Literal["waiting", "working", "done", "failed"]


class Lane(NamedTuple):
    """How many jobs run at a time, and how many more may wait."""

    at_once: int
    waiting: int


LANES: Mapping[str, Lane] = {
    "pairs": Lane(CORES, CORES),
    "census": Lane(1, 5),
    "demonstration": Lane(1, 0),
    "tables": Lane(1, 8),
}


class StoppedError(ConflictError):
    """The bench was closed; raised in a job where it next tells how far it is."""


class NoSuchJobError(NotFoundError):
    """A job was let go, or never begun."""


class FaultError(HeelstampError):
    """A fault of the program ended a job."""


class Progress(Protocol):
    """What a job calls to say how far it is.

    Raises
    ------
    StoppedError
        The bench closes; let it through.
    """

    def __call__(
        self, done: float, total: float, stage: str = "", preview: bytes | None = None
    ) -> None:
        """Tell that *done* of *total* is done; a total of nought where that cannot be told."""


Work = Callable[[Progress], Any]


@dataclass(frozen=True, slots=True)
class Job:
    """Where one job stands.

    Attributes
    ----------
    key
        Short digest of all it rests on.
    what, about
        ``compare``, ``learn``, …; and the dossier, chronology or folder it is about.
    on
        What of it is worked on, as the two frames of a pair.
    base
        Digest of what it began from, for whoever writes what came of it.
    done, total
        How far it is; a total of nought where that cannot be told.
    stage
        Words for what goes on.
    preview
        A small JPEG once there is one.
    result, error
        What came out, or why nothing did.
    """

    key: str
    what: str
    about: str
    on: tuple[str, ...] = ()
    base: str = ""
    standing: Standing = "waiting"
    done: float = 0
    total: float = 0
    stage: str = "waiting"
    preview: bytes | None = None
    result: Any = None
    error: HeelstampError | None = None
    began: float = field(default_factory=monotonic, compare=False)

    @property
    def finished(self) -> bool:
        """Whether it is done, well or not."""
        return self.standing in ("done", "failed")

    @property
    def share(self) -> float:
        """How much of it is done, 0 to 1."""
        return self.done / self.total if self.total else 0.0

    @property
    def seconds(self) -> int:
        """Whole seconds since it was asked for."""
        return int(monotonic() - self.began)

    @property
    def place(self) -> tuple[str, str, tuple[str, ...]]:
        """What is done, to what, and on what of it."""
        return self.what, self.about, self.on


class _Running:
    """The threads of one lane, and its jobs by key, the oldest first."""

    def __init__(self, name: str, lane: Lane) -> None:
        self.most = sum(lane)
        self.pool = ThreadPoolExecutor(lane.at_once, thread_name_prefix=name)
        self.jobs: OrderedDict[str, Job] = OrderedDict()


class Jobs:
    """The jobs of one shop.

    Parameters
    ----------
    lanes
        The lanes there are, by name.
    """

    def __init__(self, lanes: Mapping[str, Lane] = LANES) -> None:
        self._lanes = {name: _Running(name, lane) for name, lane in lanes.items()}
        self._futures: dict[str, Future[None]] = {}
        self._listeners: list[Callable[[Job], None]] = []
        self._lock = Lock()
        self._closing = False

    def listen(self, told: Callable[[Job], None]) -> None:
        """Have *told* called with every job whenever it went on, from the thread it runs in."""
        self._listeners.append(told)

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
        """Begin a job, or return the one that was begun on the same ground and did not fail.

        Parameters
        ----------
        rests_on
            All else that what comes of it hangs on.
        alone
            No other job may be open at the same place; a finished one is forgotten.

        Raises
        ------
        ConflictError
            The same is at work on another ground, too much waits already, or the bench closes.
        """
        key = sha256(repr((what, about, on, base, rests_on)).encode())[:24]
        running = self._lanes[lane]
        with self._lock:
            known = running.jobs.get(key)
            if known is not None and known.standing != "failed":
                return known
            job = Job(key, what, about, on, base)
            others = [one for one in running.jobs.values() if alone and one.place == job.place]
            if any(not one.finished for one in others):
                raise ConflictError(
                    "this is at work already",
                    where=about,
                    received=" and ".join(on) or what,
                    remedy="Wait until it is done, then ask again.",
                )
            busy = sum(not one.finished for one in running.jobs.values())
            if busy >= running.most or self._closing:
                raise ConflictError(
                    "the bench is busy with other work",
                    where=about,
                    received=f"{busy} at work",
                    remedy="Wait until some of it is done.",
                )
            for one in others:
                del running.jobs[one.key]
                self._futures.pop(one.key, None)
            self._keep(running, job)
            self._tell(job)
            self._futures[key] = running.pool.submit(self._run, running, job, act)
        return job

    def find(self, key: str) -> Job | None:
        """Return a job by its key; None when it was let go, or the bench was closed since."""
        with self._lock:
            return next((one.jobs[key] for one in self._lanes.values() if key in one.jobs), None)

    def at(self, what: str, about: str, on: tuple[str, ...] = ()) -> Job | None:
        """Return the last job at a place; None when none is known."""
        return next(
            (one for one in reversed(self._known()) if one.place == (what, about, on)), None
        )

    def wait(self, job: Job, seconds: float) -> Job:
        """Wait for a job, but no longer than *seconds*; return where it stands then."""
        future = self._futures.get(job.key)
        if future is not None:
            wait([future], timeout=seconds)
        return self.find(job.key) or job

    def close(self) -> None:
        """Let what waits go, and what is at work end where it next tells how far it is."""
        self._closing = True
        for one in self._lanes.values():
            one.pool.shutdown(wait=True, cancel_futures=True)

    def _known(self) -> list[Job]:
        with self._lock:
            return [job for one in self._lanes.values() for job in one.jobs.values()]

    def _run(self, running: _Running, job: Job, act: Work) -> None:
        def progress(
            done: float, total: float, stage: str = "", preview: bytes | None = None
        ) -> None:
            nonlocal job
            if self._closing:
                raise StoppedError("the bench was closed", remedy="Begin it anew.")
            job = replace(
                job,
                standing="working",
                done=done,
                total=total,
                stage=stage,
                preview=preview or job.preview,
            )
            self._went_on(running, job)

        try:
            progress(0, 0, "reading")
            result = act(progress)
        except HeelstampError as error:
            job = replace(job, standing="failed", stage="not done", error=error)
        except Exception as error:  # noqa: BLE001 - a fault in a worker must reach a person
            told = FaultError(
                "the work ended in a fault of the program",
                where=" ".join((job.what, job.about, *job.on)),
                received=f"{type(error).__name__}: {error}",
                remedy="Report it, with this line.",
            )
            told.__cause__ = error
            job = replace(job, standing="failed", stage="not done", error=told)
        else:
            job = replace(job, standing="done", stage="done", done=1, total=1, result=result)
        give_back()
        self._went_on(running, job)

    def _went_on(self, running: _Running, job: Job) -> None:
        with self._lock:
            self._keep(running, job)
        self._tell(job)

    def _tell(self, job: Job) -> None:
        for told in self._listeners:
            told(job)

    def _keep(self, running: _Running, job: Job) -> None:
        running.jobs[job.key] = job
        running.jobs.move_to_end(job.key)
        for key in [key for key, one in running.jobs.items() if one.finished][:-REMEMBERED]:
            del running.jobs[key]
            self._futures.pop(key, None)
