"""Writing to a disk that may refuse: what is asked of it, and what it says in one clear error."""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from heelstamp.errors import StorageError
from heelstamp.store.flushing import flush_file, flush_folder


class Disk:
    """What backups ask of the disk; in tests one that fails stands in for it."""

    def write(self, file: BinaryIO, data: bytes) -> None:
        """Write all of *data*."""
        file.write(data)

    def flush(self, path: Path) -> None:
        """Wait until a file is on the disk."""
        flush_file(path)

    def rename(self, source: Path, target: Path) -> None:
        """Rename a file or folder, and wait until the name is on the disk."""
        source.rename(target)
        flush_folder(target.parent)


class Passing:
    """A file read or written through, its SHA-256 taken on the way; None keeps nothing."""

    def __init__(self, file: BinaryIO | None, disk: Disk) -> None:
        self._file = file
        self._disk = disk
        self._hash = hashlib.sha256()

    def read(self, size: int = -1) -> bytes:
        """Read on."""
        assert self._file is not None
        data = self._file.read(size)
        self._hash.update(data)
        return data

    def write(self, data: bytes) -> int:
        """Write on."""
        self._hash.update(data)
        if self._file is not None:
            self._disk.write(self._file, data)
        return len(data)

    def flush(self) -> None:
        """Hand on what is held back."""
        if self._file is not None:
            self._file.flush()

    @property
    def digest(self) -> str:
        """SHA-256 of what went through."""
        return self._hash.hexdigest()


@contextmanager
def opened_or_none(target: Path | None) -> Iterator[BinaryIO | None]:
    """Open a file to be written; None opens nothing."""
    if target is None:
        yield None
        return
    with target.open("wb") as writing:
        yield writing


@contextmanager
def removed_on_failure(path: Path) -> Iterator[None]:
    """Take a file or folder away when what writes it does not come to its end."""
    try:
        yield
    except BaseException:
        with suppress(OSError):
            shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
        raise


@contextmanager
def machine(path: Path) -> Iterator[None]:
    """Turn what the file system raises inside into one clear error.

    Raises
    ------
    StorageError
        The disk is full or refuses, or there is no permission.
    """
    told: Mapping[int, tuple[str, str]] = {
        errno.ENOSPC: ("the disk is full", "Free some space there, then repeat."),
        errno.EDQUOT: ("the disk is full", "Free some space there, then repeat."),
        errno.EACCES: ("no permission", "Give this user permission there, then repeat."),
        errno.EPERM: ("no permission", "Give this user permission there, then repeat."),
        errno.EROFS: ("no permission", "The disk is read-only; name another."),
    }
    try:
        yield
    except OSError as error:
        other = ("the disk refused", "Check the disk and its cable, then repeat.")
        what, remedy = told.get(error.errno or 0, other)
        where = f"{path.parent.name}{os.sep}{path.name}"
        raise StorageError(
            what, where=where, received=error.strerror or error, remedy=remedy
        ) from error
