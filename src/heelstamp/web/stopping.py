"""Streams end when the server is told to stop: without this it would wait for them for ever.

A server waits for open answers before it lets the application close, and a stream of events has no
end of its own. So the handlers of SIGINT and SIGTERM that are in place when the application starts
are put behind one that ends the streams first. Off the main thread there are no handlers to put
behind, and nothing is done.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

STOPS = (signal.SIGINT, signal.SIGTERM)


@contextmanager
def ended_first(end: Callable[[], None]) -> Iterator[None]:
    """Call *end* as soon as a signal to stop arrives, then do what the signal did before."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {one: signal.getsignal(one) for one in STOPS}

    def ended_by(number: int, frame: FrameType | None) -> None:
        end()
        handler: Any = before[signal.Signals(number)]
        if callable(handler):
            handler(number, frame)
        elif handler is signal.SIG_DFL:
            signal.signal(number, signal.SIG_DFL)
            signal.raise_signal(number)

    for one in STOPS:
        signal.signal(one, ended_by)
    try:
        yield
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)
