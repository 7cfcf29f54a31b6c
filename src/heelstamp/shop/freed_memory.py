"""Memory that was freed, given back to the system.

Work on large photographs and papers takes and frees hundreds of megabytes; the C library keeps them
for the next such work, which may be tomorrow's.
"""

from __future__ import annotations

import ctypes
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread

EVERY_S = 60.0
"""Seconds between two times that a server gives freed memory back."""


def give_back() -> None:
    """Hand freed memory back where the C library can (malloc_trim(3) of glibc); else nothing."""
    if sys.platform != "linux":
        return
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)
    if trim is not None:
        trim(0)


@contextmanager
def given_back(every_s: float = EVERY_S) -> Iterator[None]:
    """Give freed memory back now and again while the block lasts."""
    over = Event()

    def now_and_again() -> None:
        while not over.wait(every_s):
            give_back()

    thread = Thread(target=now_and_again, name="freed memory", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()
