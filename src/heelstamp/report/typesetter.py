"""Papers typeset in a process of their own, so that what it holds ends with it (`typesetting`)."""

from __future__ import annotations

import atexit
import json
import os
import subprocess
import sys
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from threading import Lock, Timer
from typing import IO

from heelstamp.errors import StorageError
from heelstamp.report.typesetting import HEAD

PAPERS = 8
"""Papers after which the process ends: it holds some 80 MB more with each."""

IDLE_S = 10.0
"""Seconds without a paper after which it ends."""

_PROGRAM = "from heelstamp.report.typesetting import main; main()"
_REMEDY = "Keep the dossier as it is and report this message."


class Typesetter:
    """A process that typesets, started when it is first needed; one paper at a time.

    Parameters
    ----------
    most
        Papers after which it ends.
    idle_s
        Seconds without a paper after which it ends.
    """

    def __init__(self, most: int = PAPERS, idle_s: float = IDLE_S) -> None:
        self._most, self._idle_s, self._left = most, idle_s, 0
        self._process: subprocess.Popen[bytes] | None = None
        self._owner = 0
        self._lock = Lock()
        self._clock: Timer | None = None

    @property
    def pid(self) -> int | None:
        """Number of the process at work; None while there is none."""
        return None if self._process is None else self._process.pid

    def pdf(self, folder: Path, at: datetime) -> bytes:
        """Typeset the paper in *folder*, made at a time.

        Raises
        ------
        StorageError
            The typesetter could not run, or refused the paper.
        """
        request = json.dumps({"folder": str(folder), "at": at.isoformat()}).encode() + b"\n"
        with self._lock:
            if self._clock is not None:
                self._clock.cancel()
            process = self._running()
            try:
                assert process.stdin is not None
                assert process.stdout is not None
                process.stdin.write(request)
                process.stdin.flush()
                done, size = HEAD.unpack(_exactly(process.stdout, HEAD.size))
                data = _exactly(process.stdout, size)
            except (OSError, EOFError):
                process.wait()
                told = f"its process ended with {process.returncode}"
                self._end()
                raise _failure(told) from None
            except BaseException:  # interrupted half-way: what comes next would be another's answer
                self._end()
                raise
            self._left -= 1
            if self._left <= 0:
                self._end()
            else:
                self._clock = Timer(self._idle_s, self.close)
                self._clock.daemon = True
                self._clock.start()
        if not done:
            raise _failure(data.decode("utf-8", "replace"))
        return data

    def close(self) -> None:
        """End the process; the next paper starts another."""
        with self._lock:
            self._end()

    def _running(self) -> subprocess.Popen[bytes]:
        if self._owner != os.getpid():  # a copy made by fork: its parent's process is not its own
            self._process = None
        if self._process is not None and self._process.poll() is not None:
            self._end()
        if self._process is None:
            path = os.pathsep.join(one for one in sys.path if one)
            try:
                self._process = subprocess.Popen(  # noqa: S603 - this very program
                    [sys.executable, "-P", "-B", "-c", _PROGRAM],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    env={**os.environ, "PYTHONPATH": path},
                )
            except OSError as error:
                raise _failure(error.strerror or str(error)) from error
            self._owner, self._left = os.getpid(), self._most
            atexit.unregister(self._end)
            atexit.register(self._end)
        return self._process

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is None or self._owner != os.getpid():
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                with suppress(OSError):  # what was not sent is let go
                    pipe.close()


def _exactly(pipe: IO[bytes], size: int) -> bytes:
    data = pipe.read(size)
    if len(data) < size:
        raise EOFError
    return data


def _failure(received: str) -> StorageError:
    return StorageError("the paper could not be typeset", received=received, remedy=_REMEDY)


typesetter = Typesetter()
"""That of this process."""
