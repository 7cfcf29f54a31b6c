"""A shop folder opened, or made: ports joined to adapters.

A shop folder holds ``shop.toml`` (name, currency, optionally examiners and the address of a
PostgreSQL database), ``heelstamp.db`` unless another database is named, ``files/``, ``key/``
(`heelstamp.shop.shop_key`), and whatever the shop adds: ``parts/`` and ``chronologies/``. Adapters
are imported only when a shop is opened, because the database library alone takes a third of a
second.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import RESTORE, ConflictError, InputError, IntegrityError
from heelstamp.shop.database import engine_of, refuse_other_record, refuse_used, watch_over
from heelstamp.shop.settings import (
    DATABASE_FILE,
    FILES_FOLDER,
    PARTS_FOLDER,
    SHOP_FILE,
    SHOP_SCHEMA,
    ShopSettings,
    files_of,
    is_shop,
    read_settings,
    refusals,
    write_settings,
)

if TYPE_CHECKING:
    from heelstamp.casework.ports import PhotographFacts, Shop
    from heelstamp.store.ledger import Stamp


def now() -> str:
    """The time of the machine's clock in UTC, as entries write it, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def is_free(folder: Path) -> bool:
    """Whether a shop can be made in *folder*: it is empty, not there yet, or was cut off."""
    from heelstamp.shop.whole_folder import is_vacant

    with refusals(folder):
        return is_vacant(folder)


def open_shop(folder: Path) -> Shop:
    """Open the shop in *folder*; close it, or use it as a context.

    Raises
    ------
    InputError
        The folder is no shop, or ``shop.toml`` cannot be used.
    ConflictError
        The database was made by a newer Heelstamp, the shop has left it, or the folder holds
        dossiers beside the database that ``shop.toml`` names.
    IntegrityError
        The database is missing, empty or damaged.
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
    if settings.database:
        refuse_other_record(folder, settings)
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
        The folder is a shop already, or not empty, or the database holds a shop.
    InputError
        Name, currency or address cannot be used.
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
    with refusals(folder):
        refuse_taken(folder)
        if settings.database:
            refuse_used(settings)
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
    from heelstamp.reference.parts_trees import tree_loader
    from heelstamp.store.census import DatabaseCensus
    from heelstamp.store.comparables import DatabaseComparables
    from heelstamp.store.documents import DatabaseDocuments
    from heelstamp.store.journals import DatabaseJournals
    from heelstamp.store.ledger import DatabaseLedger
    from heelstamp.store.persons import DatabasePersons
    from heelstamp.store.rack import DatabaseRack

    engine, read_only = engine_of(folder, settings)
    try:
        ledger = DatabaseLedger(engine, ledger_stamp)
        journals = DatabaseJournals(engine, ledger, read_only=read_only)
        watch_over(engine, folder, settings)
    except BaseException:
        engine.dispose()
        raise
    return Shop(
        name=settings.name,
        currency=settings.currency,
        examiners=tuple(settings.examiners),
        journals=journals,
        files=files_of(folder, settings),
        photographs=_Photographs(),
        tree_for=tree_loader(folder / PARTS_FOLDER),
        census=DatabaseCensus(engine, ledger),
        comparables=DatabaseComparables(engine, ledger),
        rack=DatabaseRack(engine, read_only=read_only),
        documents=DatabaseDocuments(engine, ledger, read_only=read_only),
        persons=DatabasePersons(engine),
        draw_seed=lambda: token_bytes(SEED_BYTES),
    )


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
