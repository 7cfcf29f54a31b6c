"""Work on photographs beside the requests: as much as there are cores, a little waiting, no more.

A pair costs some seconds of a core and up to a gigabyte of memory (see ``docs/methods/bench.md``),
so the bound protects the machine: as many at work as there are cores, and as many again waiting.
What is asked for while it waits or is at work is not begun a second time. Results are remembered
for the last few only and are gone when the bench stops; they can be computed again from what the
shop keeps, and what was entered is in the journal.
"""

from __future__ import annotations

import os
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from threading import Lock
from typing import Any, Literal

from heelstamp.errors import ConflictError, HeelstampError, StorageError

CORES = os.cpu_count() or 1
RESULTS = 8
"""Finished works that are remembered."""

Standing = Literal["waiting", "working", "done", "failed"]
Key = tuple[str, ...]


class StoppedError(Exception):
    """The bench closes: work ends at its next stage."""


@dataclass(frozen=True, slots=True)
class Work:
    """Where one work stands.

    Attributes
    ----------
    tag, key, asks
        Dossier, what is worked on, and the digest of what was asked of it.
    stage, share
        Words for what goes on, and how much of it is done, 0 to 1.
    preview
        A small JPEG once there is one.
    result, error
        What came out, or why nothing did.
    """

    tag: str
    key: Key
    asks: str
    standing: Standing = "waiting"
    stage: str = "waiting"
    share: float = 0.0
    preview: bytes | None = None
    result: Any = None
    error: HeelstampError | None = None

    @property
    def open(self) -> bool:
        """Whether it waits or is at work."""
        return self.standing in ("waiting", "working")


Tell = Callable[[str, float, bytes | None], None]
Do = Callable[[Tell], Any]


class ImageWork:
    """The works of one shop.

    Parameters
    ----------
    told
        Called with a work whenever it went on, from the thread it runs in.
    at_once, waiting
        How many run at a time, and how many more may wait.
    """

    def __init__(
        self, told: Callable[[Work], None], *, at_once: int = CORES, waiting: int = CORES
    ) -> None:
        self._told, self._most = told, at_once + waiting
        self._pool = ThreadPoolExecutor(at_once, thread_name_prefix="image-work")
        self._works: OrderedDict[tuple[str, Key], Work] = OrderedDict()
        self._lock = Lock()
        self._closing = False

    def start(self, tag: str, key: Key, asks: str, do: Do) -> Work:
        """Begin a work, or give the one that is open or done with the same *key* and *asks*.

        Raises
        ------
        ConflictError
            The same photographs are at work with something else asked, or too much waits already.
        """
        with self._lock:
            known = self._works.get((tag, key))
            if known is not None and known.asks == asks and known.standing != "failed":
                return known
            if known is not None and known.open:
                raise ConflictError(
                    "this pair is at work already",
                    where=tag,
                    received=" and ".join(key),
                    remedy="Wait until it is done, then ask again.",
                )
            busy = sum(one.open for one in self._works.values())
            if busy >= self._most or self._closing:
                raise ConflictError(
                    "the bench is busy with other pairs",
                    where=tag,
                    received=f"{busy} at work",
                    remedy="Wait for one of them to be done.",
                )
            work = Work(tag, key, asks)
            self._keep(work)
            self._told(work)
            self._pool.submit(self._run, work, do)
        return work

    def of(self, tag: str, key: Key) -> Work | None:
        """Give where the work on *key* stands; None when none was begun or it is forgotten."""
        with self._lock:
            return self._works.get((tag, key))

    def open_works(self, tag: str) -> tuple[Work, ...]:
        """Give the works of a dossier that wait or go on."""
        with self._lock:
            return tuple(one for one in self._works.values() if one.tag == tag and one.open)

    def close(self) -> None:
        """Let what waits go, and what is at work end at its next stage."""
        self._closing = True
        self._pool.shutdown(wait=True, cancel_futures=True)

    def _run(self, work: Work, do: Do) -> None:
        def tell(stage: str, share: float, preview: bytes | None) -> None:
            nonlocal work
            if self._closing:
                raise StoppedError
            seen = preview or work.preview
            work = replace(work, standing="working", stage=stage, share=share, preview=seen)
            self._went_on(work)

        try:
            tell("reading", 0.0, None)
            result = do(tell)
        except StoppedError:
            return
        except HeelstampError as error:
            work = replace(work, standing="failed", stage="not done", error=error)
        except Exception as error:  # noqa: BLE001 - a fault in a worker must reach a person
            told = StorageError(
                "the work ended in a fault of the program",
                where=f"{work.tag}, {work.key}",
                received=f"{type(error).__name__}: {error}",
                remedy="Report it, with this line.",
            )
            work = replace(work, standing="failed", stage="not done", error=told)
        else:
            work = replace(work, standing="done", stage="done", share=1.0, result=result)
        self._went_on(work)

    def _went_on(self, work: Work) -> None:
        with self._lock:
            self._keep(work)
        self._told(work)

    def _keep(self, work: Work) -> None:
        place = (work.tag, work.key)
        self._works[place] = work
        self._works.move_to_end(place)
        over = [at for at, one in self._works.items() if not one.open][:-RESULTS]
        for at in over:
            del self._works[at]
