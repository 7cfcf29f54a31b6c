"""News of a dossier to every screen that shows it: its journal grew, image work went on.

One watcher a dossier, and only while somebody listens: it asks for the head of the journal once a
second, so that entries of other devices, of the command line and of another server are seen alike.
A listener costs a queue, no thread. Work tells its news from any thread.

Nothing is guaranteed to arrive: who falls behind loses the oldest news. News only says that there
is something to fetch; what stands is always in the journal. Every connection begins with what
stands, so that nothing that happened in between is missed.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator, Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from heelstamp.errors import HeelstampError

if TYPE_CHECKING:
    from heelstamp.casework.ports import Head

EVERY_S = 1.0
"""Seconds between two looks at the head of a journal."""
QUIET_S = 15.0
"""Seconds after which a listener that hears nothing is told that the shop is still there."""
REMEMBERED = 64
"""News that wait for one listener."""


@dataclass(frozen=True, slots=True)
class News:
    """One message: ``standing``, ``entered`` or ``work``, and what it carries."""

    what: str
    told: Mapping[str, Any] = field(default_factory=dict)


QUIET = News("quiet")
_END = News("end")


class Live:
    """News of all dossiers of one shop.

    Parameters
    ----------
    head_of
        Gives the end of a dossier's journal; called in a thread.
    every, quiet
        Seconds between two looks, and of silence before `QUIET` is given.
    """

    def __init__(
        self,
        head_of: Callable[[str], Head | None],
        *,
        every: float = EVERY_S,
        quiet: float = QUIET_S,
    ) -> None:
        self._head_of, self._every, self._quiet = head_of, every, quiet
        self._listeners: dict[str, set[asyncio.Queue[News]]] = {}
        self._watchers: dict[str, asyncio.Task[None]] = {}
        self._loop: asyncio.AbstractEventLoop | None = None
        self._closed = False

    async def listen(self, tag: str, standing: News, *, known: str) -> AsyncGenerator[News]:
        """Yield *standing*, then news of *tag* as they come, until the shop closes.

        *known* is the digest of the last entry that *standing* tells of. No digest is news: who
        listens may have to be kept from what it confirms. Must be closed by whoever stops reading;
        the last listener of a dossier ends its watcher.
        """
        self._loop = asyncio.get_running_loop()
        queue: asyncio.Queue[News] = asyncio.Queue(REMEMBERED)
        self._listeners.setdefault(tag, set()).add(queue)
        if tag not in self._watchers:
            self._watchers[tag] = asyncio.create_task(self._watch(tag, known))
        try:
            yield standing
            while not self._closed:
                try:
                    news = await asyncio.wait_for(queue.get(), self._quiet)
                except TimeoutError:
                    news = QUIET
                if news is _END:
                    return
                yield news
        finally:
            self._leave(tag, queue)

    def tell(self, tag: str, news: News) -> None:
        """Tell news to all who listen to *tag*; from any thread."""
        loop = self._loop
        if loop is None or loop.is_closed():
            return
        try:
            loop.call_soon_threadsafe(self._give, tag, news)
        except RuntimeError:  # the loop closed in between: nobody listens any more
            return

    def close(self) -> None:
        """End every stream; from any thread, or from a handler of a signal."""
        self._closed = True
        for tag in tuple(self._listeners):
            self.tell(tag, _END)

    def listening(self, tag: str) -> int:
        """How many listen to *tag*."""
        return len(self._listeners.get(tag, ()))

    def _give(self, tag: str, news: News) -> None:
        for queue in self._listeners.get(tag, ()):
            if queue.full():
                queue.get_nowait()
            queue.put_nowait(news)

    def _leave(self, tag: str, queue: asyncio.Queue[News]) -> None:
        listeners = self._listeners.get(tag, set())
        listeners.discard(queue)
        if not listeners:
            self._listeners.pop(tag, None)
            watcher = self._watchers.pop(tag, None)
            if watcher is not None:
                watcher.cancel()

    async def _watch(self, tag: str, known: str) -> None:
        while True:
            await asyncio.sleep(self._every)
            try:
                head = await asyncio.to_thread(self._head_of, tag)
            except HeelstampError:  # the database is busy: the next look will tell
                continue
            if head is not None and head.digest != known:
                known = head.digest
                self._give(tag, News("entered", {"length": head.seq}))
