"""What is costly to make and never changes, remembered within a bound, the least asked for let go.

Keys name the content (a file's digest and a width, the digest of a journal's last entry), so that
what is kept never grows stale. Safe for several threads.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from contextlib import nullcontext
from threading import Lock
from typing import Any, TypeVar, cast

from cachetools import LRUCache

T = TypeVar("T")


class Memo:
    """What was made, up to *most* together.

    Parameters
    ----------
    most
        Bound of the sizes together.
    size_of
        Size of one thing that was made; None counts each as one.
    one_at_a_time
        While one thing is made everyone else waits, for what is large while it is made; otherwise
        two that ask at once for the same may both make it.
    """

    def __init__(
        self, most: int, size_of: Callable[[Any], int] | None = None, *, one_at_a_time: bool = False
    ) -> None:
        self._kept: LRUCache[Hashable, Any] = LRUCache(most, size_of)
        self._size_of = size_of or (lambda _: 1)
        self._lock = Lock()
        self._making = Lock() if one_at_a_time else nullcontext()

    def __contains__(self, key: Hashable) -> bool:
        """Whether what *key* names is remembered."""
        with self._lock:
            return key in self._kept

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """Return what *key* names, which is all that it rests on, or make it now."""
        with self._making:
            with self._lock:
                if key in self._kept:
                    return cast("T", self._kept[key])
            made = make()
            if self._size_of(made) <= self._kept.maxsize:
                with self._lock:
                    self._kept[key] = made
            return made
