"""Work that takes seconds: done one piece after the other beside the pages that wait for it.

A piece is known by a key that names all it rests on, so that asking twice does it once. What is
done is kept until newer pieces need the room; nothing of it is written before a person says so.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from threading import Event, Lock
from time import monotonic
from typing import Any

from heelstamp.archive import sha256
from heelstamp.errors import ConflictError, HeelstampError

KEPT = 8
WAITING = 6
"""Pieces that may wait at a time."""

Progress = Callable[[int, int], None]


@dataclass
class Piece:
    """One piece of work.

    Attributes
    ----------
    key
        Short digest of all it rests on.
    what
        ``learn``, ``redate``, ``hold`` or ``import``.
    about
        Id of the chronology.
    base
        Digest of the chronology it began from.
    done, total
        How far it is; no total where that cannot be told.
    """

    key: str
    what: str
    about: str
    base: str
    done: int = 0
    total: int = 0
    began: float = field(default_factory=monotonic)
    future: Future[Any] | None = None

    @property
    def finished(self) -> bool:
        """Whether it is done, well or not."""
        return self.future is not None and self.future.done()

    @property
    def error(self) -> HeelstampError | None:
        """Why it was not done; None while it runs, or when it was.

        Raises
        ------
        Exception
            A fault of the program.
        """
        assert self.future is not None
        found = self.future.exception() if self.finished else None
        if found is not None and not isinstance(found, HeelstampError):
            raise found
        return found

    @property
    def result(self) -> Any:
        """What came of it; only when it is done well."""
        assert self.future is not None
        return self.future.result(timeout=0)

    @property
    def seconds(self) -> int:
        """Whole seconds since it was asked for."""
        return int(monotonic() - self.began)


class PieceWork:
    """Pieces of work of one shop, done by one thread."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="bench-work")
        self._pieces: OrderedDict[str, Piece] = OrderedDict()
        self._lock = Lock()
        self._closing = Event()

    def start(
        self, what: str, about: str, base: str, rests_on: object, act: Callable[[Progress], Any]
    ) -> Piece:
        """Begin a piece, or give the one that was begun on the same ground.

        Raises
        ------
        ConflictError
            Too much waits already.
        """
        key = sha256(repr((what, about, base, rests_on)).encode())[:24]
        with self._lock:
            standing = self._pieces.get(key)
            if standing is not None and not _failed(standing):
                return standing
            if sum(not one.finished for one in self._pieces.values()) >= WAITING:
                raise ConflictError(
                    "too much work waits already", remedy="Wait until some of it is done."
                )
            piece = Piece(key, what, about, base)

            def told(done: int, total: int) -> None:
                piece.done, piece.total = done, total
                if self._closing.is_set():
                    raise ConflictError("the bench was closed", remedy="Begin it anew.")

            piece.future = self._pool.submit(act, told)
            self._pieces[key] = piece
            for old in [one for one in self._pieces.values() if one.finished]:
                if len(self._pieces) <= KEPT:
                    break
                del self._pieces[old.key]
        return piece

    def find(self, key: str) -> Piece | None:
        """Give a piece by its key; None when it was let go, or the bench was closed since."""
        with self._lock:
            return self._pieces.get(key)

    def close(self) -> None:
        """Stop the piece that runs where it next tells how far it is, and begin no other."""
        self._closing.set()
        self._pool.shutdown(wait=True, cancel_futures=True)


def settle(piece: Piece, seconds: float) -> None:
    """Wait for a piece, but no longer than *seconds*."""
    assert piece.future is not None
    wait([piece.future], timeout=seconds)


def _failed(piece: Piece) -> bool:
    assert piece.future is not None
    return piece.finished and (piece.future.cancelled() or piece.future.exception() is not None)
