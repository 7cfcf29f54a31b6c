"""Files kept by the SHA-256 of their content.

Written to a temporary name in the folder of their final place, flushed to the disk, renamed, and
the folder flushed: after a crash there is the whole file or none under its digest (POSIX rename
is atomic within one file system). A temporary file that a crash left behind is reported by
`verify_all` and never taken for a kept one. What is kept is never written again.
"""

from __future__ import annotations

import errno
import os
import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from heelstamp.archive import is_digest, sha256
from heelstamp.casework.ports import FileFault
from heelstamp.errors import HeelstampError, StorageError
from heelstamp.media.kept_content import held_to, kept_name, missing, missing_faults

PARTIAL = ".partial"


def write_whole(descriptor: int, data: bytes) -> None:
    """Write all of *data*, however little the system takes at once."""
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(descriptor, rest) :]


class ContentFiles:
    """A folder of files named by their content.

    Parameters
    ----------
    folder
        Made when missing, with its parents' permission.
    write
        Writes bytes to an open file descriptor; replaced in tests of a failing disk.
    """

    def __init__(self, folder: Path, *, write: Callable[[int, bytes], None] = write_whole) -> None:
        self._folder = folder
        self._write = write

    def path_of(self, digest: str) -> Path:
        """Where a file of this digest is, or would be.

        Raises
        ------
        InputError
            Not a SHA-256.
        """
        return self._folder / kept_name(digest)

    def put(self, data: bytes) -> str:
        """Keep *data* and give its digest; what is already kept whole is not written again.

        Raises
        ------
        StorageError
            The disk is full, or refuses; nothing is left behind.
        """
        digest = sha256(data)
        path = self.path_of(digest)
        with _refusals(path):
            if path.exists() and path.stat().st_size == len(data):
                return digest
            path.parent.mkdir(parents=True, exist_ok=True)
            self._write_beside(path, data)
            _flush_folder(path.parent)
            _flush_folder(self._folder)
        return digest

    def get(self, digest: str) -> bytes:
        """The file, verified.

        Raises
        ------
        IntegrityError
            It is missing, or no longer has this digest.
        """
        path = self.path_of(digest)
        try:
            with _refusals(path):
                data = path.read_bytes()
        except FileNotFoundError:
            raise missing(digest) from None
        return held_to(data, digest)

    def has(self, digest: str) -> bool:
        """Whether a file of this digest is kept; its content is not read."""
        return self.path_of(digest).exists()

    def verify_all(self, expected: Mapping[str, int]) -> tuple[FileFault, ...]:
        """Read every file, and report all faults.

        Parameters
        ----------
        expected
            Length in bytes by digest, of every file there should be.
        """
        faults: list[FileFault] = []
        kept: set[str] = set()
        for path in self._all():
            name = path.parent.name + path.name
            if path.name.endswith(PARTIAL):
                faults.append(FileFault(path.name, "left over", "an unfinished write"))
            elif not is_digest(name):
                faults.append(FileFault(path.name, "left over", "not a kept file"))
            else:
                kept.add(name)
                try:
                    self.get(name)
                except HeelstampError as error:
                    faults.append(FileFault(name, "changed", str(error)))
        return (*faults, *missing_faults(expected, kept))

    def _all(self) -> Iterator[Path]:
        return (path for path in sorted(self._folder.rglob("*")) if path.is_file())

    def _write_beside(self, path: Path, data: bytes) -> None:
        partial = path.with_name(f"{uuid.uuid4().hex}{PARTIAL}")
        descriptor = os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644)
        try:
            try:
                self._write(descriptor, data)
                os.fsync(descriptor)
            finally:
                os.close(descriptor)
            partial.replace(path)
        except BaseException:
            with suppress(OSError):
                partial.unlink()
            with suppress(OSError):
                path.parent.rmdir()  # only when this write made it, and it is empty
            raise


def _flush_folder(folder: Path) -> None:
    if os.name != "posix":  # other systems cannot open a folder
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextmanager
def _refusals(path: Path) -> Iterator[None]:
    """Turn what the file system raises inside into one clear error; a missing file passes."""
    try:
        yield
    except FileNotFoundError:
        raise
    except OSError as error:
        if error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}:
            what, remedy = "the disk is full", "Free some space, then repeat; nothing was written."
        elif error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
            what, remedy = "no permission", "Give this user write permission, then repeat."
        else:
            what, remedy = "the disk refused", "Check the disk, then repeat."
        raise StorageError(
            what,
            where=f"file {path.parent.name}{path.name[:10]}…",
            received=error.strerror or error,
            remedy=remedy,
        ) from error
