"""A folder of backups: files shared by their content, and one folder for each date.

``files/ab/cdef…`` holds every file and document once, by the SHA-256 of its content, however many
backups name it. ``20261130T231512Z/`` holds one backup: ``heelstamp.db`` and ``manifest.json``,
which says what belongs to it. A date's folder appears by one renaming, after everything that it
names is on the disk; nothing that is there is ever written again.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath
from tempfile import gettempdir
from typing import BinaryIO, Protocol, cast
from uuid import uuid4

import msgspec

from heelstamp.errors import InputError, IntegrityError, StorageError
from heelstamp.shop.backup_manifest import Manifest
from heelstamp.shop.disk import Disk, Passing, machine, opened_or_none, removed_on_failure
from heelstamp.store.flushing import flush_folder, make_folder_kept

FILES, DATABASE, MANIFEST = "files", "heelstamp.db", "manifest.json"
PIECE = 1 << 20
"""Bytes read and written together."""
LEFT_OVER_S = 86_400
"""Age in seconds after which what a killed backup left is cleared."""


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
            with removed_on_failure(partial):
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
        with machine(self.folder), removed_on_failure(partial):
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
                with path.open("rb") as reading, opened_or_none(target) as writing:
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
