"""Whose turn it is to have a file read: one at a time in a process, and among all of one user.

Within a process a lock does; among processes a file of this user's own that the system locks
(``flock``), and lets go of when a process ends, however it ends. Where a system has no such lock,
or the file cannot be made, only the turns of one process are kept.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import gettempdir
from threading import Lock

LOOK_S = 0.02
"""Seconds between two looks whether another process is done."""


class Turns:
    """Turns of all who name the same file.

    Parameters
    ----------
    place
        The file that is locked; None for turns within this process alone.
    """

    def __init__(self, place: Path | None = None) -> None:
        self._here = Lock()
        self._place = place

    @contextmanager
    def waited_for(self, patience_s: float) -> Iterator[None]:
        """Have a turn, after waiting for it.

        Raises
        ------
        TimeoutError
            It did not come within *patience_s* seconds.
        """
        until = time.monotonic() + patience_s
        if not self._here.acquire(timeout=patience_s):
            raise TimeoutError
        try:
            file = self._opened()
            try:
                while file is not None and not _locked(file):
                    if time.monotonic() > until:
                        raise TimeoutError
                    time.sleep(LOOK_S)
                yield
            finally:
                if file is not None:
                    os.close(file)  # lets go of the lock
        finally:
            self._here.release()

    def _opened(self) -> int | None:
        """Open the file, in a folder that this user alone may enter."""
        if self._place is None or sys.platform == "win32":
            return None
        with suppress(OSError):
            self._place.parent.mkdir(mode=0o700, exist_ok=True)
            told = self._place.parent.lstat()
            if told.st_uid == os.getuid() and not told.st_mode & 0o022:
                flags = os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW
                return os.open(self._place, flags, 0o600)
        return None


def turns_of_user() -> Turns:
    """Turns among all processes of this user on this machine, where the system can lock a file."""
    if sys.platform == "win32":
        return Turns()
    try:
        import fcntl  # noqa: F401, PLC0415 - not on every other system
    except ImportError:
        return Turns()
    return Turns(Path(gettempdir()) / f"heelstamp-{os.getuid()}" / "reading.lock")


def _locked(file: int) -> bool:
    if sys.platform == "win32":
        return True
    import fcntl  # noqa: PLC0415 - as above

    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
