"""What a whole run needs once, however many processes run it."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


def folder_of_run(factory: pytest.TempPathFactory) -> Path:
    """Return the folder that all processes of this run of the tests share."""
    own = factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the lock at *path*; a process that ends in whatever way lets go of it."""
    with path.open("a") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


def once(folder: Path, name: str, make: Callable[[Path], None]) -> Path:
    """Return *folder*/*name*, made by the first that asks while all others wait.

    Parameters
    ----------
    make
        Fills the empty folder it is given; what fails is left to the next that asks.
    """
    made = folder / name
    with locked(folder / f"{name}.lock"):
        if not made.exists():
            building = Path(f"{made}-{os.getpid()}")
            building.mkdir()
            make(building)
            building.rename(made)
    return made
