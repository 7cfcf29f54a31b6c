"""A shop's database copied to an SQLite file and looked over, and brought back from one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine, select

from heelstamp.archive.canonical import read_json
from heelstamp.casework.ports import Head
from heelstamp.store.copying import copy_sqlite, copy_tables
from heelstamp.store.engine import place_of, postgres_engine, reading_engine, sqlite_engine
from heelstamp.store.refusals import refusals
from heelstamp.store.soundness import DatabaseFault, database_faults
from heelstamp.store.tables import dossier, file, ledger
from heelstamp.store.versions import bring_up_to_date, require_newest


@dataclass(frozen=True, slots=True)
class DatabaseContent:
    """What a database says it holds.

    Attributes
    ----------
    ledger
        Digest of the last line of the ledger; None where there is none.
    dossiers
        End of the chain of each dossier, by tag.
    files
        Length in bytes of each file noted, by SHA-256.
    """

    ledger: str | None
    dossiers: Mapping[str, Head]
    files: Mapping[str, int]


def copy_database(address: str, path: Path, target: Path) -> None:
    """Copy a shop's database to the SQLite file *target* while it is used.

    Parameters
    ----------
    address
        Of a PostgreSQL database; empty for the SQLite file *path*.

    Raises
    ------
    StorageError
        A machine refused; nothing is left behind.
    ConflictError
        The database was made by another version.
    """
    if not address:
        copy_sqlite(path, target)
        return
    source, scratch = postgres_engine(address), target.with_name(f"{target.name}.scratch")
    copy = sqlite_engine(scratch)
    try:
        require_newest(source)
        bring_up_to_date(copy)
        copy_tables(source, copy)
        copy.dispose()
        copy_sqlite(scratch, target)
    finally:
        source.dispose()
        copy.dispose()
        for ending in ("", "-wal", "-shm"):
            scratch.with_name(scratch.name + ending).unlink(missing_ok=True)


def fill_postgres(address: str, path: Path) -> None:
    """Fill the empty PostgreSQL database at *address* from the SQLite file *path*.

    Raises
    ------
    ConflictError
        It holds rows already.
    StorageError
        A machine refused; no row was written.
    """
    source, target = reading_engine(path), postgres_engine(address)
    try:
        bring_up_to_date(target)
        copy_tables(source, target)
    finally:
        source.dispose()
        target.dispose()


def look_over(path: Path) -> tuple[DatabaseContent | None, tuple[DatabaseFault, ...]]:
    """Read what a copied database holds, None where it cannot tell, and all of its faults."""
    engine = reading_engine(path)
    try:
        faults = database_faults(engine)
        try:
            return content_of(engine), faults
        except Exception:
            if not faults:
                raise
            return None, faults
    finally:
        engine.dispose()


def content_of(engine: Engine) -> DatabaseContent:
    """Read what a database says it holds.

    Raises
    ------
    IntegrityError
        It is damaged.
    StorageError
        The machine refused.
    """
    last = select(ledger.c.line).order_by(ledger.c.n.desc()).limit(1)
    with refusals(place_of(engine)), engine.connect().execution_options(reading=True) as read:
        line = read.scalar(last)
        dossiers = read.execute(select(dossier)).all()
        files = {row.digest: row.size for row in read.execute(select(file))}
    heads = {row.tag: Head(row.head_seq, row.head_digest) for row in dossiers}
    digest = None if line is None else str(read_json(line.encode("utf-8"))["digest"])
    return DatabaseContent(digest, heads, files)
