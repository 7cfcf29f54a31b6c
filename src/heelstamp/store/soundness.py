"""Whether a database is as this program left it: every row, every repeated column, the file itself.

A database file can rot, and a row can be changed with another tool. What is looked at: SQLite's
own check of the file and its indexes (``integrity_check``), foreign keys, the text of the schema
against one made anew, storage class of each column, the ledger's chain, each covered row against
the digest noted last, and of each entry the columns that repeat its line, with head and tag.
Every chain of a journal is verified too. Text that is no longer UTF-8 is read
with its broken bytes kept apart (PEP 383), so that one spoilt letter does not hide its row.

Limits: rows cut off together with the ledger's own end show only against a digest kept elsewhere,
beside each backup or in a paper.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, select, text
from sqlalchemy.exc import DatabaseError

from heelstamp.archive.chain import verify_lines
from heelstamp.archive.ledger import row_faults, row_key, rows_standing, verify_ledger
from heelstamp.store.engine import place_of
from heelstamp.store.ledger import lines_and_changes, rows_found
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import dossier, entry, metadata
from heelstamp.store.versions import NEWEST, bring_up_to_date, version_of

_CLASSES = {"INTEGER": "integer", "BIGINT": "integer", "TEXT": "text", "DATETIME": "text"}
"""Storage class that SQLite gives a value of each declared type here."""


@dataclass(frozen=True, slots=True)
class DatabaseFault:
    """One thing that is not as it was left.

    Attributes
    ----------
    where
        Table and key, or the part of the file.
    code
        ``file``, ``schema``, ``type``, ``ledger``, ``changed``, ``missing``, ``left over``,
        ``repeated``, ``reference`` or ``journal``.
    message
        What was found.
    table, key
        Table and `heelstamp.archive.ledger.row_key` of the row it is about; blank of the whole.
    """

    where: str
    code: str
    message: str
    table: str = ""
    key: str = ""


def database_faults(engine: Engine) -> tuple[DatabaseFault, ...]:
    """Everything in a shop's database that is not as this program left it, in order of depth.

    Raises
    ------
    StorageError
        The machine refused to read.
    """
    with refusals(place_of(engine)), engine.connect().execution_options(reading=True) as connection:
        sqlite = connection.dialect.name == "sqlite"
        if sqlite:
            raw: Any = connection.connection.driver_connection
            raw.text_factory = _text
        try:
            found = list(_file_faults(connection)) if sqlite else []
            found += _schema_faults(engine, connection)
            found += _row_faults(connection)
            found += _repeated_faults(connection)
            found += _chain_faults(connection)
        except DatabaseError as error:
            return (DatabaseFault("database", "file", str(error.orig)),)
        finally:
            if sqlite:
                raw.text_factory = str
    return tuple(found)


def _text(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape")


def _file_faults(connection: Connection) -> Iterator[DatabaseFault]:
    for (told,) in connection.execute(text("PRAGMA integrity_check")):
        if told != "ok":
            yield DatabaseFault("database", "file", str(told))
    for table, row, parent, _ in connection.execute(text("PRAGMA foreign_key_check")):
        yield DatabaseFault(f"{table}, row {row}", "reference", f"names no row of {parent}")
    for table in metadata.sorted_tables:
        for column in table.columns:
            wanted = _CLASSES.get(str(column.type).split("(")[0], "text")
            classes = text(f'SELECT DISTINCT typeof("{column.name}") FROM "{table.name}"')  # noqa: S608
            for (stored,) in connection.execute(classes):
                if stored != wanted and not (stored == "null" and column.nullable):
                    message = f"holds a value stored as {stored}, not as {wanted}"
                    yield DatabaseFault(f"{table.name}.{column.name}", "type", message)


def _schema_faults(engine: Engine, connection: Connection) -> Iterator[DatabaseFault]:
    version = version_of(engine)
    if version != NEWEST:
        yield DatabaseFault("schema", "schema", f"is at version {version}, not at {NEWEST}")
    if connection.dialect.name != "sqlite":
        return
    known, found = _known_schema(), _schema(connection)
    for name in sorted(known.keys() | found.keys()):
        if known.get(name) != found.get(name):
            yield DatabaseFault(name, "schema", "is not defined as this program defines it")


def _schema(connection: Connection) -> dict[str, str]:
    wanted = text("SELECT type || ' ' || name || ' of ' || tbl_name, sql FROM sqlite_master")
    rows = connection.execute(wanted)
    return {str(name): " ".join((sql or "").split()) for name, sql in rows}


def _known_schema() -> dict[str, str]:
    """Schema of a database made anew in memory by the same migrations."""
    fresh = create_engine("sqlite://")

    @event.listens_for(fresh, "connect")
    def _prepare(raw: Any, _record: Any) -> None:
        raw.isolation_level = None

    bring_up_to_date(fresh)
    with fresh.connect() as connection:
        known = _schema(connection)
    fresh.dispose()
    return known


def _row_faults(connection: Connection) -> Iterator[DatabaseFault]:
    lines, changes = lines_and_changes(connection)
    if lines or changes:
        for one in verify_ledger(lines, changes).findings:
            yield DatabaseFault(f"ledger, line {one.seq}", "ledger", one.message)
    for fault in row_faults(rows_standing(changes), rows_found(connection)):
        message = f"is {fault.code} against the ledger"
        where = f"{fault.table} {fault.key}"
        yield DatabaseFault(where, fault.code, message, fault.table, fault.key)


def _chain_faults(connection: Connection) -> Iterator[DatabaseFault]:
    tags = {row.id: row.tag for row in connection.execute(select(dossier))}
    lines: dict[int, list[bytes]] = {}
    wanted = select(entry.c.dossier_id, entry.c.line).order_by(entry.c.dossier_id, entry.c.seq)
    for row in connection.execute(wanted):
        lines.setdefault(row.dossier_id, []).append(row.line.encode("utf-8", "surrogateescape"))
    for id_, journal in lines.items():
        for one in verify_lines(journal).findings:
            where = f"dossier {tags.get(id_, id_)!a}, entry {one.seq}"
            told = f"{one.code}: {one.message}"
            yield DatabaseFault(where, "journal", told, "entry", row_key([id_, one.seq]))


def _repeated_faults(connection: Connection) -> Iterator[DatabaseFault]:
    """Compare the columns of each entry, and the head of each dossier, with the lines."""
    heads: dict[int, tuple[int, str]] = {}
    for row in connection.execute(select(entry).order_by(entry.c.dossier_id, entry.c.seq)):
        where, key = f"entry {row.dossier_id}/{row.seq}", row_key([row.dossier_id, row.seq])
        try:
            line = json.loads(row.line)
            repeated = {
                "seq": line["seq"],
                "digest": line["digest"],
                "kind": line["kind"],
                "at": datetime.fromisoformat(line["at"]).astimezone(UTC),
                "hand": line["by"],
            }
        except (ValueError, KeyError, TypeError):
            yield DatabaseFault(where, "repeated", "its line cannot be read", "entry", key)
            continue
        heads[row.dossier_id] = (row.seq, str(line["digest"]))
        for column, told in repeated.items():
            if row._mapping[column] != told:  # noqa: SLF001 - SQLAlchemy's public name for it
                message = f"column {column} does not repeat what the line says"
                yield DatabaseFault(where, "repeated", message, "entry", key)
    for row in connection.execute(select(dossier)):
        if heads.get(row.id) != (row.head_seq, row.head_digest):
            where, message = f"dossier {row.tag!a}", "its head is not its last entry"
            yield DatabaseFault(where, "repeated", message, "dossier", row_key([row.id]))
