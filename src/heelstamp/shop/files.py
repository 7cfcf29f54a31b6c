"""Files that a person names: on the disk, or kept in a dossier and written ``TAG:ID``.

What is named on the disk is only read. What is written is written beside its final name and
renamed, so that it is whole or not there, and stays when the power goes.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar
from uuid import uuid4

from heelstamp.casework.ports import FileRecord, NamedFile
from heelstamp.errors import InputError, NotFoundError, StorageError
from heelstamp.store.flushing import flush_folder, make_folder_kept

if TYPE_CHECKING:
    from heelstamp.casework.ports import Shop

T = TypeVar("T")
_KEPT = re.compile(r"([A-Za-z0-9][A-Za-z0-9_.-]{0,39}):([A-Za-z0-9][A-Za-z0-9_.:-]{0,63})")


@dataclass(frozen=True, slots=True)
class Source:
    """A file to examine, and where it came from: a dossier's entry, or a ``path``."""

    file: NamedFile
    tag: str | None = None
    entry: str | None = None
    path: Path | None = None


def read_file(path: Path) -> bytes:
    """Read a file that a person named.

    Raises
    ------
    InputError
        There is none, or it may not be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            "the file cannot be read",
            where=str(path),
            received=error.strerror,
            remedy="Check its name and your permission.",
        ) from None


def named(word: str) -> Source:
    """Read a file by its path."""
    path = Path(word)
    return Source(NamedFile(read_file(path), path.name), path=path)


def kept_id(word: str) -> tuple[str, str] | None:
    """Split ``TAG:ID``; None for the name of a file, and for one that is there."""
    found = None if Path(word).exists() else _KEPT.fullmatch(word)
    return None if found is None else (found[1], found[2])


def entry_named(known: Mapping[str, T], tag: str, id_: str, kind: str) -> T:
    """Return one of the *known* entries of a dossier; *kind* is what they are.

    Raises
    ------
    NotFoundError
        There is none of this id; the remedy names the likeliest one meant.
    """
    from heelstamp.catalogue.conversion import nearest

    if id_ not in known:
        raise NotFoundError(
            f"no such {kind} in the dossier",
            where=tag,
            received=id_,
            remedy=nearest(id_, known) if known else "Add it first.",
        )
    return known[id_]


def keep_file(shop: Shop, data: bytes, media_type: str) -> str:
    """Keep a file that the program made among the shop's; return its SHA-256."""
    digest = shop.files.put(data)
    shop.journals.record_file(FileRecord(digest, len(data), media_type))
    return digest


@contextmanager
def folder_refusals(folder: Path, things: str) -> Iterator[None]:
    """Say of a folder named with ``--out`` that *things* cannot be written there."""
    try:
        yield
    except OSError as error:
        raise StorageError(
            f"the folder for {things} cannot be written",
            where=str(folder),
            received=error.strerror or error,
            remedy="Name another folder with --out, or free some space.",
        ) from error


def clear_folder(folder: Path, names: Sequence[str], originals: Sequence[Path], whose: str) -> None:
    """Make a folder for pictures, and take away what an earlier run left under *names*.

    Raises
    ------
    InputError
        A picture would replace one of the *originals*, which *whose* names.
    StorageError
        The folder cannot be written.
    """
    taken = {path.resolve() for path in originals}
    if taken & {(folder / name).resolve() for name in names}:
        raise InputError(
            f"a picture would replace one of the {whose}",
            where="--out",
            received=str(folder),
            remedy="Name another folder.",
        )
    with folder_refusals(folder, "pictures"):
        folder.mkdir(parents=True, exist_ok=True)
        for name in names:
            (folder / name).unlink(missing_ok=True)


def make_folder(folder: Path) -> None:
    """Make a folder, and those it lies in, where it is not there yet.

    Raises
    ------
    StorageError
        The machine refused.
    """
    try:
        make_folder_kept(folder)
    except OSError as error:
        raise StorageError(
            "the folder cannot be made", where=str(folder), received=error.strerror
        ) from error


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is whole or not there; an existing regular file is replaced.

    Raises
    ------
    InputError
        The name is no file's, or something that is not a regular file has it.
    StorageError
        No permission, no such folder, or the disk is full; nothing is left behind.
    """
    partial = path.parent / f".{uuid4().hex}.partial"
    try:
        if not path.name or path.is_symlink() or (path.exists() and not path.is_file()):
            raise InputError(
                "not the name of a file that can be written",
                where=str(path),
                remedy="Name a new file, or an ordinary one that may be replaced.",
            )
        with partial.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)
        flush_folder(path.parent)
    except OSError as error:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
        raise StorageError(
            "the file could not be written",
            where=str(path),
            received=error.strerror,
            remedy="Check the folder, your permission and the space on the disk.",
        ) from error


def write_picture(path: Path, picture: str) -> None:
    """Write one picture, whole or not at all.

    Raises
    ------
    InputError
        Not a name that ends in ``.svg``.
    StorageError
        It cannot be written.
    """
    if path.suffix.lower() != ".svg":
        raise InputError(
            "the picture is an SVG", where="--out", received=str(path), remedy="Name a .svg file."
        )
    write_whole(path, picture.encode("utf-8"))
