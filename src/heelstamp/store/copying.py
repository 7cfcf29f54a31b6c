"""Copies of a database: a file of SQLite in one step while others write, tables row by row.

An SQLite file is copied by its own backup interface, all pages in one step: it reads one state of
the database and lets writers go on. Copying some pages a step begins anew at each commit of
another connection and may never end; copying the file itself loses what is still in the
write-ahead log. Whatever the shop's database is, its copy is an SQLite file: the tables are the
same, and so are the digests of the ledger.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection, Engine, func, insert, select, text

from heelstamp.errors import ConflictError
from heelstamp.store.engine import WAIT_S, copying_address
from heelstamp.store.flushing import flush_file, flush_folder
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import metadata

AT_ONCE = 500
"""Rows read and written together."""


def copy_sqlite(source: Path, target: Path) -> None:
    """Copy the SQLite database *source*, which may be in use, to *target*, whole or not at all.

    The copy needs no log beside it. What was committed before the call is in it.

    Raises
    ------
    StorageError
        The machine refused; nothing is left behind.
    IntegrityError
        The database is damaged.
    """
    partial = target.with_name(f".{uuid4().hex}.partial")
    try:
        with refusals(source.name):
            _in_one_step(copying_address(source), partial)
        flush_file(partial)
        partial.replace(target)
        flush_folder(target.parent)
    except BaseException:
        for ending in ("", "-journal"):
            with suppress(OSError):
                partial.with_name(partial.name + ending).unlink(missing_ok=True)
        raise


def _in_one_step(address: str, partial: Path) -> None:
    with (
        closing(sqlite3.connect(address, uri=True, timeout=WAIT_S)) as reading,
        closing(sqlite3.connect(partial)) as writing,
    ):
        reading.backup(writing, pages=-1)
        writing.execute("PRAGMA journal_mode=DELETE")


def copy_tables(source: Engine, target: Engine) -> None:
    """Copy every row of *source* into *target*, whose tables are there and empty.

    Read in one transaction that sees one state (REPEATABLE READ on PostgreSQL), written in one.

    Raises
    ------
    ConflictError
        The target holds rows already.
    StorageError
        A machine refused; nothing was written.
    """
    with (
        refusals("the copy of the tables"),
        source.connect().execution_options(**reading_options(source)) as reading,
        target.begin() as writing,
    ):
        copy_rows(reading, writing)


def reading_options(source: Engine) -> dict[str, Any]:
    """Options of a connection that sees one state of *source*, and reads it in pieces."""
    options: dict[str, Any] = {"reading": True}
    if source.dialect.name == "postgresql":
        options |= {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        options["stream_results"] = True
    return options


def copy_rows(reading: Connection, writing: Connection) -> None:
    """Copy every row that *reading* sees, in the transaction of *writing*.

    Raises
    ------
    ConflictError
        The target holds rows already.
    """
    for table in metadata.sorted_tables:
        if writing.scalar(select(func.count()).select_from(table)):
            raise ConflictError(
                "the database holds rows already",
                where=table.name,
                remedy="Name an empty database.",
            )
    for table in metadata.sorted_tables:
        order = list(table.primary_key.columns)
        for rows in reading.execute(select(table).order_by(*order)).mappings().partitions(AT_ONCE):
            writing.execute(insert(table), [dict(row) for row in rows])
    _go_on_numbering(writing)


def _go_on_numbering(connection: Connection) -> None:
    """Let PostgreSQL's numbering of dossiers go on after those that were copied."""
    if connection.dialect.name == "postgresql":
        connection.execute(
            text(
                "SELECT setval(pg_get_serial_sequence('dossier', 'id'), "
                "greatest(1, (SELECT coalesce(max(id), 0) FROM dossier)), "
                "EXISTS (SELECT 1 FROM dossier))"
            )
        )
