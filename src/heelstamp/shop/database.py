"""Which database is a shop's: SQLite in its folder, or the one that ``shop.toml`` names.

A named one that is empty is refused, and so is one beside which the folder holds dossiers that it
does not: otherwise a shop would open without what is in it.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import ConflictError, HeelstampError, IntegrityError
from heelstamp.shop.settings import (
    DATABASE_FILE,
    FILES_FOLDER,
    SHOP_FILE,
    ShopSettings,
    read_settings,
)

if TYPE_CHECKING:
    from sqlalchemy import Engine


def engine_of(folder: Path, settings: ShopSettings) -> tuple[Engine, bool]:
    """Engine on the database of a shop, and whether it can only be read."""
    from heelstamp.store.engine import postgres_engine, reading_engine, sqlite_engine

    if settings.database:
        return postgres_engine(settings.database), False
    database = folder / DATABASE_FILE
    if is_read_only(folder):
        return reading_engine(database), True
    return sqlite_engine(database), False


def watch_over(engine: Engine, folder: Path, settings: ShopSettings) -> None:
    """Let nothing be written once ``shop.toml`` names another database, or place of files."""
    from heelstamp.store.moving import guard_writes

    path, seen = folder / SHOP_FILE, [_look_of(folder / SHOP_FILE)]

    def moved() -> bool:
        look = _look_of(path)
        if look == seen[0] or look is None:
            return False
        try:
            named = read_settings(folder)
        except HeelstampError:  # being edited by hand
            return False
        same = (named.database, named.files) == (settings.database, settings.files)
        if same:
            seen[0] = look
        return not same

    guard_writes(engine, moved)


def opened_engine(folder: Path) -> Engine:
    """Engine on the database of the shop in *folder*, watched over, for rows beside its journals.

    The shop was opened before, which brings the schema up to date.
    """
    settings = read_settings(folder)
    engine, _ = engine_of(folder, settings)
    watch_over(engine, folder, settings)
    return engine


def _look_of(path: Path) -> tuple[int, int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def refuse_used(settings: ShopSettings) -> None:
    """Refuse to make a shop in a database that holds one."""
    from heelstamp.store.engine import place_of, postgres_engine
    from heelstamp.store.moving import is_empty

    engine = postgres_engine(settings.database)
    try:
        if not is_empty(engine):
            raise ConflictError(
                "the database holds a shop already",
                where=place_of(engine),
                remedy="Name an empty database.",
            )
    finally:
        engine.dispose()


def refuse_other_record(folder: Path, settings: ShopSettings) -> None:
    """Refuse an empty database that is named, and one beside which dossiers would be hidden."""
    from heelstamp.store.engine import place_of, postgres_engine
    from heelstamp.store.moving import hidden_dossiers, is_empty
    from heelstamp.wording.sentences import counted

    engine, own = postgres_engine(settings.database), folder / DATABASE_FILE
    try:
        if own.is_file() and own.stat().st_size:
            hidden = hidden_dossiers(own, engine) if not is_empty(engine) else _all_of(own)
            if hidden is not None:
                raise ConflictError(
                    f"{DATABASE_FILE} in the folder holds {counted(hidden, 'dossier')} or "
                    f"rows that the database named in {SHOP_FILE} does not",
                    where=str(folder),
                    received=place_of(engine),
                    remedy=f"Take the line database = out of {SHOP_FILE}; the shop then opens with "
                    "them, and goes to an empty database by: heelstamp move --to ADDRESS.",
                )
        if is_empty(engine) and _was_used(folder, engine):
            raise IntegrityError(
                f"the database named in {SHOP_FILE} is empty",
                where=str(folder),
                received=place_of(engine),
                remedy="Check its address; or fill it: heelstamp restore BACKUP --shop NEW-FOLDER "
                "--database ADDRESS.",
            )
    finally:
        engine.dispose()


def is_read_only(folder: Path) -> bool:
    """Whether the shop's folder, or the database in it, cannot be written by this user."""
    database = folder / DATABASE_FILE
    writable = os.access(folder, os.W_OK)
    return not (writable and (not database.exists() or os.access(database, os.W_OK)))


def _all_of(path: Path) -> int | None:
    """Dossiers of an SQLite file; None where it holds no row at all."""
    from sqlalchemy import func, select

    from heelstamp.store.engine import reading_engine
    from heelstamp.store.moving import is_empty
    from heelstamp.store.refusals import refusals
    from heelstamp.store.tables import dossier

    engine = reading_engine(path)
    try:
        if is_empty(engine):
            return None
        with refusals(path.name), engine.connect().execution_options(reading=True) as connection:
            return connection.scalar(select(func.count()).select_from(dossier))
    finally:
        engine.dispose()


def _was_used(folder: Path, engine: Engine) -> bool:
    """Whether a shop whose database is empty ever had anything in it; a new one has not."""
    from heelstamp.store.versions import version_of

    files = folder / FILES_FOLDER
    return version_of(engine) is None or (files.is_dir() and any(files.iterdir()))
