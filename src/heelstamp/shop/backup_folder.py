"""A folder of backups: files shared by their content, and one folder for each date.

``files/ab/cdef…`` holds every file and document once, by the SHA-256 of its content, however many
backups name it. ``20261130T231512Z/`` holds one backup: ``heelstamp.db`` and ``manifest.json``,
which says what belongs to it. A date's folder appears by one renaming, after everything that it
names is on the disk; nothing that is there is ever written again.
"""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath
from tempfile import gettempdir
from typing import Annotated, BinaryIO, Literal, Protocol, cast
from uuid import uuid4

import msgspec

from heelstamp.errors import InputError, IntegrityError, StorageError
from heelstamp.store.flushing import flush_file, flush_folder, make_folder_kept

SCHEMA: Literal["heelstamp/backup/1"] = "heelstamp/backup/1"
FILES, DATABASE, MANIFEST = "files", "heelstamp.db", "manifest.json"
PIECE = 1 << 20
"""Bytes read and written together."""
LEFT_OVER_S = 86_400
"""Age in seconds after which what a killed backup left is cleared."""

Digest = Annotated[str, msgspec.Meta(pattern=r"^[0-9a-f]{64}$")]


class KeptEnd(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Number of entries of a dossier, and digest of the last."""

    length: Annotated[int, msgspec.Meta(ge=1)]
    digest: Digest


class KeptFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """SHA-256 and length in bytes."""

    digest: Digest
    size: Annotated[int, msgspec.Meta(ge=0)]


class Manifest(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What one backup holds.

    Attributes
    ----------
    at
        When the database was copied, UTC.
    program
        Version that made it.
    engine
        Of the database that was copied; the copy is an SQLite file either way.
    ledger
        Digest of the last line of the ledger; None where there is none.
    dossiers
        By tag.
    files
        Length in bytes of each file of the shop, by SHA-256.
    documents
        By path within the shop.
    lacking
        SHA-256 of files that were missing or changed in the shop, and are in no earlier backup.
    faults
        What was wrong with the database.
    """

    schema: Literal["heelstamp/backup/1"]
    at: str
    program: str
    shop: str
    engine: Literal["sqlite", "postgresql"]
    database: KeptFile
    ledger: Digest | None
    dossiers: dict[str, KeptEnd]
    files: dict[Digest, int]
    documents: dict[str, KeptFile]
    lacking: list[Digest] = []
    faults: list[str] = []

    @property
    def whole(self) -> bool:
        """Whether the shop was whole when it was copied."""
        return not self.lacking and not self.faults


class Wrapping(Protocol):
    """How files lie in the folder: as they are, or encrypted."""

    ending: str

    def name_of(self, digest: str) -> str:
        """Name of a file of this SHA-256: 64 hexadecimal digits."""
        ...

    def wrap(self, reader: BinaryIO, writer: BinaryIO) -> None:
        """Write what is kept of all that *reader* gives."""
        ...

    def unwrap(self, reader: BinaryIO, writer: BinaryIO) -> None:
        """Write what was wrapped; raises ValueError where it was changed."""
        ...


class Plain:
    """Files as they are."""

    ending = ""

    def name_of(self, digest: str) -> str:
        """Return the digest itself."""
        return digest

    def wrap(self, reader: BinaryIO, writer: BinaryIO) -> None:
        """Copy."""
        shutil.copyfileobj(reader, writer, PIECE)

    unwrap = wrap


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


class BackupFolder:
    """Backups of one shop in one folder.

    Parameters
    ----------
    folder
        Made with the first backup.
    """

    def __init__(self, folder: Path, wrapping: Wrapping, disk: Disk) -> None:
        self.folder = folder
        self._wrapping = wrapping
        self._disk = disk

    def names(self) -> tuple[str, ...]:
        """Names of the backups, the oldest first."""
        manifest = MANIFEST + self._wrapping.ending
        if not self.folder.is_dir():
            return ()
        found = (one for one in self.folder.iterdir() if not one.name.startswith("."))
        return tuple(sorted(one.name for one in found if (one / manifest).is_file()))

    def manifest(self, name: str) -> Manifest:
        """Read what a backup says it holds.

        Raises
        ------
        IntegrityError
            It was changed, or is not one.
        """
        path = self._dated(name, MANIFEST)
        with machine(path):
            try:
                read = msgspec.json.decode(self._unwrapped(path), type=Manifest)
            except (ValueError, msgspec.MsgspecError) as error:
                raise IntegrityError(
                    "the manifest of this backup is damaged",
                    where=f"{name}/{MANIFEST}",
                    received=error,
                    remedy="Take another date with --date.",
                ) from None
        for one in read.documents:
            parts = PurePosixPath(one).parts
            if not parts or PurePosixPath(one).is_absolute() or ".." in parts or "\\" in one:
                raise IntegrityError(
                    "the manifest names a file outside of the shop", where=name, received=one
                )
        return read

    def keep(self, digest: str, source: Path) -> bool:
        """Keep a file, verified as it is read; False where it is kept already.

        Raises
        ------
        IntegrityError
            The source no longer has this digest.
        StorageError
            The machine refused; nothing is left behind.
        """
        path = self._path_of(digest)
        with machine(path):
            if self._seems_kept(path, source):
                return False
            make_folder_kept(path.parent)
            partial = path.with_name(f".{uuid4().hex}.partial")
            with _removed_on_failure(partial):
                found = self._wrapped(source, partial)
                if found != digest:
                    raise IntegrityError(
                        "a kept file has changed",
                        where=f"file {digest[:12]}…",
                        received=f"SHA-256 {found}",
                    )
                self._disk.flush(partial)
                self._disk.rename(partial, path)
        return True

    def has(self, digest: str) -> bool:
        """Whether a file of this digest is there; its content is not read."""
        return self._path_of(digest).is_file()

    def holds(self, digest: str) -> bool:
        """Whether a file of this digest is there and whole; it is read."""
        try:
            self._brought(self._path_of(digest), digest, None, digest)
        except (IntegrityError, StorageError):
            return False
        return True

    def add(self, at: str, database: Path, manifest: Manifest) -> str:
        """Let a backup appear, and return its name.

        Parameters
        ----------
        at
            UTC, ``2026-11-30T23:15:12Z``.
        database
            Its copy, in a folder for this purpose; moved from there where it can be.

        Raises
        ------
        StorageError
            The machine refused; nothing is left behind.
        """
        plain = at.replace("-", "").replace(":", "")
        name, number = plain, 2
        while (self.folder / name).exists():
            name, number = f"{plain}-{number}", number + 1
        partial = self.folder / f".{uuid4().hex}.partial"
        with machine(self.folder), _removed_on_failure(partial):
            partial.mkdir()
            self._taken(database, partial / (DATABASE + self._wrapping.ending))
            text = database.with_name(MANIFEST)
            text.write_bytes(msgspec.json.format(msgspec.json.encode(manifest), indent=1))
            self._wrapped(text, partial / (MANIFEST + self._wrapping.ending))
            for one in partial.iterdir():
                self._disk.flush(one)
            flush_folder(partial)
            self._disk.rename(partial, self.folder / name)
        return name

    def bring(self, digest: str, target: Path) -> None:
        """Write a kept file to *target*, verified as it is read.

        Raises
        ------
        IntegrityError
            It is missing, or no longer has this digest; nothing is left behind.
        """
        self._brought(self._path_of(digest), digest, target, f"file {digest[:12]}…")

    def bring_database(self, name: str, target: Path) -> None:
        """Write the database of a backup to *target*, verified as it is read.

        Raises
        ------
        IntegrityError
            It is missing, or not the one that the manifest names; nothing is left behind.
        """
        digest = self.manifest(name).database.digest
        self._brought(self._dated(name, DATABASE), digest, target, f"{name}/{DATABASE}")

    def faults(self, name: str) -> tuple[str, ...]:
        """Read everything that belongs to a backup, and say what is no longer whole."""
        told: list[str] = []
        try:
            manifest = self.manifest(name)
        except IntegrityError as error:
            return (str(error),)
        wanted = {**manifest.files, **{one.digest: 0 for one in manifest.documents.values()}}
        looks = [(self._path_of(one), one, f"file {one[:12]}…") for one in sorted(wanted)]
        looks.append((self._dated(name, DATABASE), manifest.database.digest, DATABASE))
        for path, digest, where in looks:
            if digest not in manifest.lacking:
                try:
                    self._brought(path, digest, None, where)
                except IntegrityError as error:
                    told.append(str(error))
        return tuple(told)

    def prune(self, keep: int) -> tuple[tuple[str, ...], int]:
        """Take away backups that are older than the newest *keep* whole ones.

        A backup counts as whole where its shop was and everything of it can still be read; the
        newest of those is never taken away. Files that no backup names any more go last, and only
        where every manifest that is left can be read.

        Returns
        -------
            Names taken away, and number of files.

        Raises
        ------
        InputError
            *keep* is less than 1.
        StorageError
            The machine refused; it can be said again.
        """
        if keep < 1:
            raise InputError("the last whole backup is never taken away", received=keep)
        whole: list[str] = []
        for name in reversed(self.names()):
            if len(whole) < keep and not self.faults(name) and self.manifest(name).whole:
                whole.append(name)
        if len(whole) < keep:
            return (), 0
        gone = tuple(one for one in self.names() if one < whole[-1])
        with machine(self.folder):
            for name in gone:
                aside = self.folder / f".{name}.partial"
                self._disk.rename(self.folder / name, aside)
                shutil.rmtree(aside)
        return gone, self._take_unnamed()

    def _take_unnamed(self) -> int:
        """Take away files that no backup names; how many."""
        named: set[Path] = set()
        try:
            for name in self.names():
                manifest = self.manifest(name)
                named |= {self._path_of(one) for one in manifest.files}
                named |= {self._path_of(one.digest) for one in manifest.documents.values()}
        except IntegrityError:
            return 0
        count = 0
        with machine(self.folder):
            for path in sorted((self.folder / FILES).glob("*/*")):
                if path not in named and not path.name.startswith("."):
                    path.unlink()
                    count += 1
        return count

    @contextmanager
    def staging(self, shop: Path) -> Iterator[Path]:
        """Make a folder for what is not wrapped yet, and take it away again.

        It lies in the backup folder, or in the shop where plain text must not reach the backup's
        disk; where the shop cannot be written, among the system's temporary files.
        """
        plain = not self._wrapping.ending
        place = self.folder if plain else shop if os.access(shop, os.W_OK) else Path(gettempdir())
        for one in (self.folder, shop):
            clear_leftovers(one)
        stage = place / f".{uuid4().hex}.partial"
        with machine(stage):
            stage.mkdir(mode=0o700)
        try:
            yield stage
        finally:
            shutil.rmtree(stage, ignore_errors=True)

    def _path_of(self, digest: str) -> Path:
        name = self._wrapping.name_of(digest)
        return self.folder / FILES / name[:2] / f"{name[2:]}{self._wrapping.ending}"

    def _dated(self, name: str, member: str) -> Path:
        return self.folder / name / (member + self._wrapping.ending)

    def _seems_kept(self, path: Path, source: Path) -> bool:
        if not path.is_file():
            return False
        return bool(self._wrapping.ending) or path.stat().st_size == source.stat().st_size

    def _wrapped(self, source: Path, target: Path) -> str:
        with source.open("rb") as reading, target.open("wb") as writing:
            digesting = Passing(reading, self._disk)
            self._wrapping.wrap(
                cast("BinaryIO", digesting), cast("BinaryIO", Passing(writing, self._disk))
            )
            return digesting.digest

    def _taken(self, source: Path, target: Path) -> None:
        """Wrap *source*, which nobody needs again; as it is, it need not be written twice."""
        if self._wrapping.ending or source.parent.parent != self.folder:
            self._wrapped(source, target)
        else:
            self._disk.rename(source, target)

    def _unwrapped(self, path: Path) -> bytes:
        import io

        whole = io.BytesIO()
        with path.open("rb") as reading:
            self._wrapping.unwrap(reading, whole)
        return whole.getvalue()

    def _brought(self, path: Path, digest: str, target: Path | None, where: str) -> None:
        """Unwrap *path* into *target*, or into nothing, and compare the digest."""
        with machine(path):
            try:
                with path.open("rb") as reading, _opened(target) as writing:
                    passing = Passing(writing, self._disk)
                    self._wrapping.unwrap(reading, cast("BinaryIO", passing))
                found = passing.digest
            except FileNotFoundError:
                found = "no such file"
            except ValueError as error:  # what is encrypted does not open
                found = str(error)
            if found != digest:
                if target is not None:
                    target.unlink(missing_ok=True)
                raise IntegrityError(
                    "this backup no longer holds a file whole",
                    where=where,
                    received=found,
                    remedy="Take another backup, or restore the rest with --incomplete.",
                )


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
def _opened(target: Path | None) -> Iterator[BinaryIO | None]:
    if target is None:
        yield None
        return
    with target.open("wb") as writing:
        yield writing


@contextmanager
def _removed_on_failure(path: Path) -> Iterator[None]:
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


def clear_leftovers(folder: Path) -> None:
    """Take away what backups left in *folder* that were killed more than a day ago."""
    with suppress(OSError):
        for one in [*folder.glob(".*.partial"), *folder.glob("files/*/.*.partial")]:
            if time.time() - one.stat().st_mtime > LEFT_OVER_S:
                shutil.rmtree(one) if one.is_dir() else one.unlink()


def require_folder(folder: Path) -> None:
    """Refuse what is there and not a folder.

    Raises
    ------
    InputError
        It is a file.
    """
    if folder.exists() and not folder.is_dir():
        raise InputError("backups go into a folder", where=str(folder), received="a file")
