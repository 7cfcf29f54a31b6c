"""A shop folder opened, or made: ports joined to adapters.

A shop folder holds ``shop.toml`` (name, currency, optionally examiners and the address of a
PostgreSQL database), ``heelstamp.db`` unless another database is named, ``files/``, ``key/``
(`heelstamp.shop.shop_key`), and whatever the shop adds: ``parts/`` and ``chronologies/``. Adapters
are imported only when a shop is opened, because the database library alone takes a third of a
second.
"""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import msgspec

from heelstamp.errors import RESTORE, ConflictError, InputError, IntegrityError, StorageError

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from heelstamp.casework.ports import PhotographFacts, Shop
    from heelstamp.store.ledger import Stamp

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
    timezone
        Where the shop is, as ``Europe/Paris`` of the IANA time zone database, for days on papers;
        empty takes the machine's own.
    records
        Record of competence of each who examines, by role, as papers tell it.
    time_stamp_authority
        Address of an authority (RFC 3161) that is asked for a time stamp over each signature of a
        paper; empty asks none. It learns a digest and the time, nothing of the paper.
    """

    schema: str
    name: Annotated[str, msgspec.Meta(pattern=r"\S", max_length=200)]
    currency: Annotated[str, msgspec.Meta(pattern=r"^[A-Z]{3}$")]
    examiners: list[str] = []
    database: str = ""
    timezone: Annotated[str, msgspec.Meta(pattern=r"^([A-Za-z][\w+-]*(/[\w+-]+)*)?$")] = ""
    records: dict[str, Annotated[str, msgspec.Meta(max_length=400)]] = {}
    time_stamp_authority: Annotated[str, msgspec.Meta(pattern=r"^(https?://\S+)?$")] = ""


def now() -> str:
    """The time of the machine's clock in UTC, as entries write it, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def is_shop(folder: Path) -> bool:
    """Whether *folder* is a shop."""
    with _refusals(folder):
        return (folder / SHOP_FILE).is_file()


def is_free(folder: Path) -> bool:
    """Whether a shop can be made in *folder*: it is empty, not there yet, or was cut off."""
    from heelstamp.shop.whole_folder import is_vacant

    with _refusals(folder):
        return is_vacant(folder)


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
    with _refusals(folder):
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


def _what_instead(folder: Path) -> str:
    from heelstamp.shop.whole_folder import is_unfinished

    if is_unfinished(folder):
        return "making or restoring one here was cut off; say it again"
    return "no shop.toml in it" if folder.is_dir() else "no such folder"


def open_shop(folder: Path) -> Shop:
    """Open the shop in *folder*; close it, or use it as a context.

    Raises
    ------
    InputError
        The folder is no shop, or ``shop.toml`` cannot be used.
    ConflictError
        The database was made by a newer Heelstamp.
    IntegrityError
        The database file is missing or damaged.
    StorageError
        No permission, no server, or another process holds the database.
    """
    from heelstamp.shop.noted_documents import note_new

    settings = read_settings(folder)
    database = folder / DATABASE_FILE
    if not settings.database and (not database.is_file() or not database.stat().st_size):
        raise IntegrityError(
            "the shop's database is missing or empty",
            where=str(folder),
            received=f"no content of {DATABASE_FILE}",
            remedy=RESTORE,
        )
    shop = _joined(folder, settings)
    try:
        note_new(shop, folder)
    except BaseException:
        shop.close()
        raise
    return shop


def create_shop(
    folder: Path, *, name: str, currency: str, examiners: Sequence[str] = (), database: str = ""
) -> Shop:
    """Make a shop in *folder*, which must be empty or not exist, and open it.

    It appears whole or not at all, also when the process is killed or the power fails; see
    `heelstamp.shop.whole_folder`. On PostgreSQL the tables are made before and stay.

    Raises
    ------
    ConflictError
        The folder is a shop already, or not empty.
    InputError
        Name or currency cannot be used.
    StorageError
        No permission, or the disk is full.
    """
    from heelstamp.catalogue.conversion import convert
    from heelstamp.shop.shop_key import make_key
    from heelstamp.shop.whole_folder import appearing

    plain = {
        "schema": SHOP_SCHEMA,
        "name": name,
        "currency": currency,
        "examiners": list(examiners),
        "database": database,
    }
    settings = convert(plain, ShopSettings, where="shop")
    if not settings.name.isprintable():
        raise InputError(
            "a shop's name is plain text", where="shop, field name", received=ascii(settings.name)
        )
    with _refusals(folder):
        refuse_taken(folder)
        with appearing(folder, last=(SHOP_FILE,)) as building:
            (building / FILES_FOLDER).mkdir()
            _joined(building, settings).close()
            make_key(building, settings.name)
            write_settings(building / SHOP_FILE, settings)
    return _joined(folder, settings)


def _joined(folder: Path, settings: ShopSettings) -> Shop:
    from secrets import token_bytes

    from heelstamp.archive import SEED_BYTES
    from heelstamp.casework.ports import Shop
    from heelstamp.media.files import ContentFiles
    from heelstamp.reference.parts_trees import tree_loader
    from heelstamp.store.census import DatabaseCensus
    from heelstamp.store.comparables import DatabaseComparables
    from heelstamp.store.documents import DatabaseDocuments
    from heelstamp.store.journals import DatabaseJournals
    from heelstamp.store.ledger import DatabaseLedger
    from heelstamp.store.rack import DatabaseRack

    engine, read_only = engine_of(folder, settings)
    try:
        ledger = DatabaseLedger(engine, ledger_stamp)
        journals = DatabaseJournals(engine, ledger, read_only=read_only)
    except BaseException:
        engine.dispose()
        raise
    return Shop(
        name=settings.name,
        currency=settings.currency,
        examiners=tuple(settings.examiners),
        journals=journals,
        files=ContentFiles(folder / FILES_FOLDER),
        photographs=_Photographs(),
        tree_for=tree_loader(folder / PARTS_FOLDER),
        census=DatabaseCensus(engine, ledger),
        comparables=DatabaseComparables(engine, ledger),
        rack=DatabaseRack(engine, read_only=read_only),
        documents=DatabaseDocuments(engine, ledger, read_only=read_only),
        draw_seed=lambda: token_bytes(SEED_BYTES),
    )


def engine_of(folder: Path, settings: ShopSettings) -> tuple[Engine, bool]:
    """Engine on the database of a shop, and whether it can only be read."""
    from heelstamp.store.engine import postgres_engine, reading_engine, sqlite_engine

    if settings.database:
        return postgres_engine(settings.database), False
    database = folder / DATABASE_FILE
    if is_read_only(folder):
        return reading_engine(database), True
    return sqlite_engine(database), False


def is_read_only(folder: Path) -> bool:
    """Whether the shop's folder, or the database in it, cannot be written by this user."""
    database = folder / DATABASE_FILE
    writable = os.access(folder, os.W_OK)
    return not (writable and (not database.exists() or os.access(database, os.W_OK)))


def ledger_stamp() -> Stamp:
    """Time, hand and seed of the next line of the ledger, by this machine's clock and generator."""
    from secrets import token_bytes

    from heelstamp.archive.fields import SEED_BYTES
    from heelstamp.store.ledger import Stamp

    return Stamp(now(), "the shop", token_bytes(SEED_BYTES))


class _Photographs:
    """Photographs by Pillow, which is loaded with the first of them."""

    def read(self, data: bytes, name: str) -> PhotographFacts:
        """Sniff, bound and fully decode a photograph."""
        from heelstamp.media.decoding import read_photograph

        return read_photograph(data, name)

    def outgoing(self, data: bytes, name: str, longest_px: int) -> bytes:
        """A JPEG with nothing in it but the picture, turned upright."""
        from heelstamp.media.decoding import outgoing_copy

        return outgoing_copy(data, name, longest_px, draft=True)


def refuse_taken(folder: Path) -> None:
    """Refuse a folder in which no shop can be made.

    Raises
    ------
    ConflictError
        It is a shop already, or not empty.
    """
    if is_shop(folder):
        raise ConflictError(
            "this folder is a shop already",
            where=str(folder),
            remedy="Open it, or name another folder.",
        )
    if not is_free(folder):
        raise ConflictError(
            "a shop needs a folder of its own",
            where=str(folder),
            received="a folder with other things in it" if folder.is_dir() else "a file",
            remedy="Name an empty folder, or one that does not exist yet.",
        )


def write_settings(path: Path, settings: ShopSettings) -> None:
    """Write a ``shop.toml`` in a folder that nobody reads yet."""
    path.write_bytes(settings_text(settings))


def settings_text(settings: ShopSettings) -> bytes:
    """The text of a ``shop.toml``."""
    plain = msgspec.to_builtins(settings)
    lines = [f"{key} = {_toml(plain[key])}" for key in plain if plain[key]]
    return ("\n".join(lines) + "\n").encode()


def _toml(value: object) -> str:
    """A text, a list of texts or a table of texts as TOML writes it."""
    if isinstance(value, dict):
        pairs = (f"{_toml(name)} = {_toml(one)}" for name, one in value.items())
        return f"{{ {', '.join(pairs)} }}"
    return json.dumps(value, ensure_ascii=False)


@contextmanager
def _refusals(folder: Path) -> Iterator[None]:
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
