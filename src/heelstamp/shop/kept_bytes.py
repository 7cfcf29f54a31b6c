"""Bytes that are costly to make and never change, remembered within a bound, the oldest let go.

Keys name the content (a file's digest and a width, a journal's head and a reader), so that what is
kept never grows stale. Safe for several threads; two that ask at once may both make it.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock


class KeptBytes:
    """What was made, up to *most* bytes together."""

    def __init__(self, most: int) -> None:
        self._most, self._held = most, 0
        self._kept: OrderedDict[Hashable, bytes] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable, make: Callable[[], bytes]) -> bytes:
        """Give what *key* names, or make it now."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        made = make()
        with self._lock:
            if key not in self._kept:
                self._kept[key] = made
                self._held += len(made)
            while self._held > self._most and len(self._kept) > 1:
                self._held -= len(self._kept.popitem(last=False)[1])
        return made
