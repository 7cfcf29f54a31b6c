"""What ``shop.toml`` says, read with the line of what is wrong, and written."""

from __future__ import annotations

import errno
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import msgspec

from heelstamp.casework.persons import Purpose, Retention
from heelstamp.errors import InputError, StorageError

if TYPE_CHECKING:
    from heelstamp.casework.ports import FileStore

SHOP_FILE = "shop.toml"
DATABASE_FILE = "heelstamp.db"
FILES_FOLDER = "files"
PARTS_FOLDER = "parts"
CHRONOLOGIES_FOLDER = "chronologies"
SHOP_SCHEMA = "heelstamp/shop/1"


class ShopSettings(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What ``shop.toml`` says.

    Attributes
    ----------
    currency
        ISO 4217 code of three capitals.
    examiners
        Roles that may sign entries; empty allows any.
    database
        Address of a PostgreSQL database; empty for SQLite in the folder.
    files
        Object store in which photographs, recordings and papers lie, as ``s3://bucket/prefix``;
        empty for the folder ``files``.
    files_endpoint
        The object store's server; empty where the machine tells it (``AWS_ENDPOINT_URL``).
    workers
        Whether long work is left to workers (``heelstamp work``); on PostgreSQL alone.
    timezone
        Where the shop is, as ``Europe/Paris`` of the IANA time zone database, for days on papers;
        empty takes the machine's own.
    records
        Record of competence of each who examines, by role, as papers tell it.
    time_stamp_authority
        Address of an authority (RFC 3161) that is asked for a time stamp over each signature of a
        paper; empty asks none. It learns a digest and the time, nothing of the paper.
    retention
        How long names are kept and why, by purpose, where that is not common practice.
    """

    schema: str
    name: Annotated[str, msgspec.Meta(pattern=r"\S", max_length=200)]
    currency: Annotated[str, msgspec.Meta(pattern=r"^[A-Z]{3}$")]
    examiners: list[str] = []
    database: str = ""
    files: Annotated[str, msgspec.Meta(pattern=r"^(s3://\S+)?$")] = ""
    files_endpoint: Annotated[str, msgspec.Meta(pattern=r"^(https?://\S+)?$")] = ""
    workers: bool = False
    timezone: Annotated[str, msgspec.Meta(pattern=r"^([A-Za-z][\w+-]*(/[\w+-]+)*)?$")] = ""
    records: dict[str, Annotated[str, msgspec.Meta(max_length=400)]] = {}
    time_stamp_authority: Annotated[str, msgspec.Meta(pattern=r"^(https?://\S+)?$")] = ""
    retention: dict[Purpose, Retention] = {}


def is_shop(folder: Path) -> bool:
    """Whether *folder* is a shop."""
    with refusals(folder):
        return (folder / SHOP_FILE).is_file()


def read_settings(folder: Path) -> ShopSettings:
    """Read a shop's ``shop.toml``.

    Raises
    ------
    InputError
        The folder is no shop, or the file cannot be used; names line and field.
    StorageError
        The file may not be read.
    """
    from heelstamp.catalogue.conversion import convert
    from heelstamp.documents import decode_text, locate, parse_document

    path = folder / SHOP_FILE
    with refusals(folder):
        if not path.is_file():
            raise InputError(
                "this folder is not a shop",
                where=str(folder),
                received=_what_instead(folder),
                remedy="Name a shop's folder, or make one with: heelstamp new --shop FOLDER.",
            )
        text = decode_text(path.read_bytes(), SHOP_FILE)
    data = parse_document(text, SHOP_FILE, "toml")
    try:
        settings = convert(data, ShopSettings)
    except InputError as error:
        field = error.where.removeprefix("field ").split(".")[0]
        raise error.at(f"{SHOP_FILE}, line {locate(text, '', None, field)}") from None
    if settings.schema != SHOP_SCHEMA:
        raise InputError(
            "a shop this program does not read",
            where=f"{SHOP_FILE}, line {locate(text, '', None, 'schema')}",
            received=settings.schema,
            remedy=f'It reads schema = "{SHOP_SCHEMA}"; a newer Heelstamp may read this one.',
        )
    return settings


def files_of(folder: Path, settings: ShopSettings) -> FileStore:
    """Where the files of the shop in *folder* are kept.

    Raises
    ------
    InputError
        An object store that cannot be used, or its driver is not installed.
    """
    if settings.files:
        from heelstamp.media.stored import StoredFiles

        return StoredFiles(settings.files, settings.files_endpoint)
    from heelstamp.media.files import ContentFiles

    return ContentFiles(folder / FILES_FOLDER)


def _what_instead(folder: Path) -> str:
    from heelstamp.shop.whole_folder import is_unfinished

    if is_unfinished(folder):
        return "making or restoring one here was cut off; say it again"
    return "no shop.toml in it" if folder.is_dir() else "no such folder"


def write_settings(path: Path, settings: ShopSettings) -> None:
    """Write a ``shop.toml`` in a folder that nobody reads yet."""
    path.write_bytes(settings_text(settings))


def settings_text(settings: ShopSettings) -> bytes:
    """The text of a ``shop.toml``."""
    plain = msgspec.to_builtins(settings)
    lines = [f"{key} = {_toml(plain[key])}" for key in plain if plain[key]]
    return ("\n".join(lines) + "\n").encode()


def _toml(value: object) -> str:
    """A text, a number, a list of them or a table as TOML writes it."""
    if isinstance(value, dict):
        pairs = (f"{_toml(name)} = {_toml(one)}" for name, one in value.items())
        return f"{{ {', '.join(pairs)} }}"
    return json.dumps(value, ensure_ascii=False)


@contextmanager
def refusals(folder: Path) -> Iterator[None]:
    """Say what the machine refused in *folder*.

    Raises
    ------
    StorageError
        No permission, the disk is full, or the folder cannot be used.
    """
    try:
        yield
    except OSError as error:
        if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
            what, remedy = "no permission", "Give this user permission, or name another folder."
        elif error.errno in {errno.ENOSPC, errno.EDQUOT}:
            what, remedy = "the disk is full", "Free some space, then repeat."
        else:
            what, remedy = "the folder cannot be used", "Check its name and its disk."
        raise StorageError(
            what, where=str(folder), received=error.strerror or error, remedy=remedy
        ) from error
