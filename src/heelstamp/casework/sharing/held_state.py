"""What several requests change in turn: held in this process, or wherever an adapter keeps it.

A shop that one process serves keeps counts and offers in it; where several serve one shop they are
kept in its database, so that a try counts whichever of them is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from threading import Lock
from typing import TypeVar

T = TypeVar("T")
Held = Callable[[], AbstractContextManager[T]]
"""Gives the state to be looked at and changed; nobody else has it meanwhile."""


def in_process(state: T) -> Held[T]:
    """Hold a state in this process; safe for several threads, forgotten with it."""
    lock = Lock()

    @contextmanager
    def held() -> Iterator[T]:
        with lock:
            yield state

    return held
