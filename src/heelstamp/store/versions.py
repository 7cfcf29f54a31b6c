"""The version of a database's schema: read cheaply, brought up to date by Alembic.

Reading the version is one query; Alembic (a quarter of a second to import) runs only when it
differs from `NEWEST`. An SQLite database is copied beside itself before. A database made by a
newer Heelstamp is refused, never touched. On SQLite foreign keys are off during a migration:
rebuilding a table with them on deletes its children.
"""

from __future__ import annotations

import itertools
from pathlib import Path

from sqlalchemy import Connection, Engine, column, select, table, text

from heelstamp.errors import ConflictError
from heelstamp.store.copying import copy_sqlite
from heelstamp.store.engine import place_of
from heelstamp.store.refusals import refusals

NEWEST = "0012"
"""Newest revision in ``migrations/versions``."""

VERSION = table("alembic_version", column("version_num"))
"""Where Alembic keeps the revision."""

MOVED = "moved"
"""Stands for the revision of a database that its shop has left."""

MIGRATIONS = Path(__file__).parent / "migrations"
_LOCK = 0x6865656C  # any fixed number: PostgreSQL's advisory lock for two that open a shop at once


def version_of(engine: Engine) -> str | None:
    """The revision a database is at; None for one that has none yet."""
    with engine.connect().execution_options(reading=True) as connection:
        if not engine.dialect.has_table(connection, "alembic_version"):
            return None
        found = connection.scalar(select(VERSION.c.version_num))
        return None if found is None else str(found)


def bring_up_to_date(engine: Engine) -> bool:
    """Migrate a database to `NEWEST`; tell whether anything was to do.

    Raises
    ------
    ConflictError
        The database was made by a newer Heelstamp, or its shop has left it.
    StorageError
        The machine refused.
    """
    place = place_of(engine)
    with refusals(place):
        version = version_of(engine)
        if version == NEWEST:
            return False
        _refuse_left(version, place)
        _migrate(engine, version, place)
    return True


def require_newest(engine: Engine) -> None:
    """Refuse a database that would have to be migrated first.

    Raises
    ------
    ConflictError
        Its schema is not `NEWEST`.
    """
    place = place_of(engine)
    with refusals(place):
        version = version_of(engine)
    if version != NEWEST:
        raise ConflictError(
            "the database was made by another version of Heelstamp and cannot be changed here",
            where=place,
            received=f"schema {version}, this program reads {NEWEST}",
            remedy="Copy the whole folder to a place you may write, and open it there.",
        )


def _refuse_left(version: str | None, place: str) -> None:
    if version == MOVED:
        raise ConflictError(
            "the shop has left this database; its rows stay as they were then",
            where=place,
            remedy="Open the shop where it is now, and give a move another, empty database.",
        )


def _migrate(engine: Engine, version: str | None, place: str) -> None:
    from alembic import command  # noqa: PLC0415 - slow to import, and seldom needed
    from alembic.config import Config  # noqa: PLC0415
    from alembic.script import ScriptDirectory  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    known = {one.revision for one in ScriptDirectory.from_config(config).walk_revisions()}
    if version is not None and version not in known:
        raise ConflictError(
            "the database was made by a newer Heelstamp",
            where=place,
            received=f"schema {version}, this program knows up to {NEWEST}",
            remedy="Open it with that version, or install it here.",
        )
    if version is not None and engine.dialect.name == "sqlite":
        copy_before(Path(engine.url.database or ""))
    with engine.connect() as connection:
        _foreign_keys(connection, on=False)
        try:
            with connection.begin():
                if engine.dialect.name == "postgresql":
                    connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": _LOCK})
                config.attributes["connection"] = connection
                command.upgrade(config, "head")
        finally:
            _foreign_keys(connection, on=True)


def copy_before(path: Path) -> Path:
    """Copy an SQLite database beside itself before it is migrated, and return the copy's place.

    An earlier copy is never replaced: a second one is numbered.
    """
    name = f"{path.name}.before-{NEWEST}"
    numbers = itertools.count(2)
    target = path.with_name(name)
    while target.exists():
        target = path.with_name(f"{name}-{next(numbers)}")
    copy_sqlite(path, target)
    return target


def _foreign_keys(connection: Connection, *, on: bool) -> None:
    """Switch SQLite's foreign keys; works only outside of a transaction."""
    if connection.dialect.name == "sqlite":
        raw = connection.connection.driver_connection
        assert raw is not None
        raw.execute(f"PRAGMA foreign_keys={'ON' if on else 'OFF'}")
