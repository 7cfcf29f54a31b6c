"""Engines for SQLite and PostgreSQL, with the settings that keep a journal safe.

SQLite: write-ahead log, ``synchronous=FULL`` (an entry acknowledged survives a power cut; about
5 ms a commit), foreign keys on, a bounded wait for other writers, and ``BEGIN IMMEDIATE`` for
every transaction that writes: with a deferred one, two processes that read and then write end in
'database is locked' instead of waiting. PostgreSQL: a bounded wait for locks, UTC.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError

from heelstamp.errors import InputError, StorageError

WAIT_S = 5.0
"""How long a writer waits for another, in seconds."""


def reading_address(path: Path) -> str:
    """URI by which the SQLite file *path* is read and never written (sqlite.org, URI Filenames).

    In a folder that this user cannot write, SQLite cannot make the index of the write-ahead log;
    the file is then read as one that nobody changes.

    Raises
    ------
    StorageError
        It cannot be written here, and its newest entries are still in the log beside it.
    """
    address = f"file:{quote(str(path))}?mode=ro"
    if os.access(path.parent, os.W_OK):
        return address
    log = path.with_name(f"{path.name}-wal")
    if not log.exists() or not log.stat().st_size:
        return f"{address}&immutable=1"
    if path.with_name(f"{path.name}-shm").exists():
        return address
    raise StorageError(
        "its newest entries are in a log that cannot be read in a folder without write permission",
        where=log.name,
        remedy="Copy the whole folder to a place you may write, and open it there.",
    )


def copying_address(path: Path) -> str:
    """URI by which the SQLite file *path* is copied; see `reading_address`.

    Where it can be written it is opened so: who only reads leaves the log behind when it closes.
    """
    if os.access(path.parent, os.W_OK) and os.access(path, os.W_OK):
        return f"file:{quote(str(path))}?mode=rw"
    return reading_address(path)


def reading_engine(path: Path) -> Engine:
    """Engine that reads the SQLite file *path* and cannot write it; see `reading_address`."""
    database, _, flags = reading_address(path).partition("?")
    query = dict(one.split("=") for one in flags.split("&"))
    engine = create_engine(
        URL.create("sqlite", database=database, query={**query, "uri": "true"}),
        hide_parameters=True,
    )

    @event.listens_for(engine, "connect")
    def _prepare(raw: Any, _record: Any) -> None:
        raw.isolation_level = None

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN")

    return engine


def sqlite_engine(path: Path, *, wait_s: float = WAIT_S) -> Engine:
    """An engine on the SQLite file *path*; a missing file is made by the first connection."""
    engine = create_engine(
        URL.create("sqlite", database=str(path)),
        connect_args={"timeout": wait_s},
        hide_parameters=True,
    )

    @event.listens_for(engine, "connect")
    def _prepare(raw: Any, _record: Any) -> None:
        raw.isolation_level = None  # the driver must not begin transactions of its own
        cursor = raw.cursor()
        try:
            cursor.execute(f"PRAGMA busy_timeout={int(wait_s * 1000)}")
            cursor.execute("PRAGMA journal_mode=WAL")
            cursor.execute("PRAGMA synchronous=FULL")
            cursor.execute("PRAGMA foreign_keys=ON")
        finally:
            cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        reading = connection.get_execution_options().get("reading", False)
        connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")

    return engine


def postgres_engine(address: str, *, wait_s: float = WAIT_S) -> Engine:
    """An engine on the PostgreSQL database at *address*.

    Raises
    ------
    InputError
        The address is not one of a PostgreSQL database, or the driver is not installed.
    """
    try:
        url = make_url(address)
    except ArgumentError:
        url = None
    if url is None or url.get_backend_name() != "postgresql":
        raise InputError(
            "not the address of a PostgreSQL database",
            received=address if url is None else url.render_as_string(hide_password=True),
            remedy="Write it as postgresql://user@host/database.",
        )
    options = f"-c lock_timeout={int(wait_s * 1000)} -c timezone=UTC"
    try:
        return create_engine(
            url.set(drivername="postgresql+psycopg"),
            connect_args={"connect_timeout": max(2, int(wait_s)), "options": options},
            hide_parameters=True,
        )
    except ImportError as error:
        raise InputError(
            "a shop on PostgreSQL needs the package psycopg, which is not installed",
            received=error,
            remedy="Say make setup-server, or pip install 'heelstamp[postgres]'.",
        ) from None


def place_of(engine: Engine) -> str:
    """Name an engine's database for an error, without its password or its folders."""
    if engine.dialect.name == "sqlite":
        return Path(unquote((engine.url.database or "").removeprefix("file:"))).name
    return engine.url.render_as_string(hide_password=True)
