"""A shop goes to another database, and comes back: nothing is half moved.

The rows are brought over while nobody writes, compared row by row, and only then does ``shop.toml``
name the other database, in one rename. Before that moment the old database is the shop's, whole;
from it on the new one is, and whoever still has the old one open is told so and writes nothing.
Photographs and other files stay in the shop's folder; they are compared with the database too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.database import engine_of
from heelstamp.shop.files import write_whole
from heelstamp.shop.folder import now, open_shop
from heelstamp.shop.settings import (
    DATABASE_FILE,
    SHOP_FILE,
    ShopSettings,
    files_of,
    read_settings,
    settings_text,
)

if TYPE_CHECKING:
    from heelstamp.store.backup import DatabaseContent

ADDRESS = "://"


@dataclass(frozen=True, slots=True)
class Moved:
    """A shop that went to another database.

    Attributes
    ----------
    place
        The database it is in now, without its password.
    content
        What that says it holds.
    rows
        Rows of each table, as many as there were.
    left
        Where the rows lie that no longer count: a file in the folder, or a database that is marked.
    lacking
        Files that the database names and that are not whole in the folder; they were not before.
    """

    place: str
    content: DatabaseContent
    rows: Mapping[str, int]
    left: str
    lacking: tuple[str, ...]


def move_shop(folder: Path, to: str) -> Moved:
    """Bring the shop in *folder* into another database, and let its ``shop.toml`` name it.

    Parameters
    ----------
    to
        Address of an empty PostgreSQL database, or the shop's own folder: SQLite within it.

    Raises
    ------
    InputError
        The folder is no shop, or *to* is neither.
    ConflictError
        The shop is there already, or the database holds rows.
    StorageError
        A machine refused, or another process goes on writing; the shop is where it was.
    IntegrityError
        The database cannot be read; the shop is where it was.
    """
    from heelstamp.store.backup import content_of
    from heelstamp.store.engine import place_of
    from heelstamp.store.moving import held, leave_mark

    settings = read_settings(folder)
    address = _address(folder, settings, to)
    wanted = msgspec.structs.replace(
        settings, database=address, workers=settings.workers and bool(address)
    )
    open_shop(folder).close()  # an older database is brought up to date, an impossible one refused
    source, _ = engine_of(folder, settings)
    try:
        with held(source) as holding:
            rows = _bring(folder, settings, wanted)
            write_whole(folder / SHOP_FILE, settings_text(wanted))
            if settings.database:
                leave_mark(holding)
        left = place_of(source)
    finally:
        source.dispose()
    if not settings.database:
        left = _set_aside(folder) or left
    target, _ = engine_of(folder, wanted)
    try:
        content, place = content_of(target), place_of(target)
    finally:
        target.dispose()
    return Moved(place, content, rows, left, _lacking(folder, content))


def _address(folder: Path, settings: ShopSettings, to: str) -> str:
    """What ``shop.toml`` is to say of the database; empty for SQLite in the folder."""
    from heelstamp.store.engine import postgres_engine

    if ADDRESS in to:
        postgres_engine(to).dispose()  # refuses what is no address
        if to == settings.database:
            raise ConflictError(
                "the shop is in this database already", where=str(folder), remedy="Name another."
            )
        return to
    if Path(to).resolve() != folder.resolve():
        raise InputError(
            "a shop moves to a database, or back into its own folder",
            where="move --to",
            received=to,
            remedy=f"Give postgresql://user@host/database, or {folder}. To have the folder "
            "elsewhere, stop the bench and move the folder.",
        )
    if not settings.database:
        raise ConflictError(
            "the shop is in its own folder already",
            where=str(folder),
            remedy="Give the address of a PostgreSQL database.",
        )
    return ""


def _bring(folder: Path, settings: ShopSettings, wanted: ShopSettings) -> Mapping[str, int]:
    from heelstamp.store.moving import fill_file, fill_server

    source, _ = engine_of(folder, settings)
    try:
        if wanted.database:
            return fill_server(source, wanted.database)
        _set_aside(folder)  # of an earlier move; opening refused one that holds more
        return fill_file(source, folder / DATABASE_FILE)
    finally:
        source.dispose()


def _set_aside(folder: Path) -> str:
    from heelstamp.store.moving import set_aside

    at = now().replace("-", "").replace(":", "")
    aside = set_aside(folder / DATABASE_FILE, at)
    return "" if aside is None else aside.name


def _lacking(folder: Path, content: DatabaseContent) -> tuple[str, ...]:
    files = files_of(folder, read_settings(folder))
    return tuple(
        f"{one.name[:12]}… {one.message}"
        for one in files.verify_all(content.files)
        if one.code != "left over"
    )
