"""Where a shop's files lie: the folder ``files`` within it, or the object store it names.

They go from one to the other and back (`move_files`): copied while the bench may still work, then,
while nobody writes, the rest is copied and every file that the database names is read where it
arrived and compared by its digest; only then does ``shop.toml`` say so, by one rename. What was
left stays as it was.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from heelstamp.errors import ConflictError, HeelstampError, InputError, IntegrityError
from heelstamp.shop.database import engine_of
from heelstamp.shop.files import write_whole
from heelstamp.shop.folder import open_shop
from heelstamp.shop.settings import (
    FILES_FOLDER,
    SHOP_FILE,
    ShopSettings,
    files_of,
    read_settings,
    settings_text,
)

if TYPE_CHECKING:
    from heelstamp.casework.ports import FileStore


@dataclass(frozen=True, slots=True)
class FilesMoved:
    """Files that went elsewhere.

    Attributes
    ----------
    place
        Where they are now.
    count, size
        How many, and how many bytes together.
    lacking
        Files that the database names and that were not whole before either.
    """

    place: str
    count: int
    size: int
    lacking: tuple[str, ...]


def move_files(folder: Path, to: str, endpoint: str = "") -> FilesMoved:
    """Bring the files of the shop in *folder* elsewhere, and let its ``shop.toml`` say so.

    Parameters
    ----------
    to
        ``s3://bucket/prefix``, or the shop's own folder.
    endpoint
        The object store's server, where the machine does not tell it.

    Raises
    ------
    InputError
        The folder is no shop, or *to* is neither.
    ConflictError
        They are there already.
    StorageError
        A machine refused; the shop's files are where they were.
    IntegrityError
        A file did not arrive as it was sent; they are where they were.
    """
    from heelstamp.store.backup import content_of
    from heelstamp.store.moving import held

    settings = read_settings(folder)
    wanted = _wanted(folder, settings, to, endpoint)
    open_shop(folder).close()
    source, target = files_of(folder, settings), files_of(folder, wanted)
    engine, _ = engine_of(folder, settings)
    try:
        _copy(source, target, content_of(engine).files)
        with held(engine):
            named = content_of(engine).files
            lacking = _copy(source, target, named)
            _compare(target, {key: size for key, size in named.items() if key not in lacking})
            write_whole(folder / SHOP_FILE, settings_text(wanted))
    finally:
        engine.dispose()
    return FilesMoved(
        wanted.files or str(folder / FILES_FOLDER),
        len(named) - len(lacking),
        sum(size for key, size in named.items() if key not in lacking),
        tuple(f"{one[:12]}… {why}" for one, why in lacking.items()),
    )


def _wanted(folder: Path, settings: ShopSettings, to: str, endpoint: str) -> ShopSettings:
    """The settings that name the new place."""
    if "://" in to:
        from heelstamp.media.stored import check_address

        check_address(to, endpoint)
        if (to, endpoint) == (settings.files, settings.files_endpoint):
            raise ConflictError(
                "the files are in this store already", where=str(folder), remedy="Name another."
            )
        return msgspec.structs.replace(settings, files=to, files_endpoint=endpoint)
    if Path(to).resolve() != folder.resolve():
        raise InputError(
            "files move to an object store, or back into the shop's own folder",
            where="move --files",
            received=to,
            remedy=f"Give s3://bucket/prefix, or {folder}.",
        )
    if not settings.files:
        raise ConflictError(
            "the files are in the shop's own folder already",
            where=str(folder),
            remedy="Give the address of an object store, as s3://bucket/prefix.",
        )
    return msgspec.structs.replace(settings, files="", files_endpoint="")


def _copy(source: FileStore, target: FileStore, named: Mapping[str, int]) -> dict[str, str]:
    """Copy what is not there yet; by digest what cannot be copied because it is not whole."""
    lacking = {}
    for digest in sorted(named):
        if target.has(digest):
            continue
        try:
            target.put(source.get(digest))
        except IntegrityError as error:
            lacking[digest] = error.what
    return lacking


def _compare(target: FileStore, named: Mapping[str, int]) -> None:
    """Read every file where it arrived, and hold it against its digest and its length."""
    for digest, size in named.items():
        try:
            length = len(target.get(digest))
        except HeelstampError as error:
            raise _arrived_otherwise(digest) from error
        if length != size:
            raise _arrived_otherwise(digest)


def _arrived_otherwise(digest: str) -> IntegrityError:
    return IntegrityError(
        "a file did not arrive as it was sent; the files are where they were",
        where=f"file {digest[:12]}…",
        remedy="Take it out of the store, check both machines, then repeat.",
    )
