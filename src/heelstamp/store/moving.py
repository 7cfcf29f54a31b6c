"""A shop's database held still while its rows go to another one, and compared there.

While the rows are read nobody writes: SQLite's write lock is held, on PostgreSQL an advisory lock
that every writing transaction shares (PostgreSQL 15 documentation, 13.3.5 and 9.27.10). A writer
asks, once it is let in, whether the database is still the shop's; so whoever waited while the shop
moved writes nothing into what was left behind.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, event, select, text, tuple_, update

from heelstamp.archive.canonical import canonical_json
from heelstamp.errors import ConflictError
from heelstamp.store.copying import AT_ONCE, copy_rows, reading_options
from heelstamp.store.engine import place_of, postgres_engine, reading_engine, sqlite_engine
from heelstamp.store.flushing import flush_file, flush_folder
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import dossier, entry, ledger, metadata
from heelstamp.store.versions import MOVED, VERSION, bring_up_to_date, version_of

_LOCK = 0x6D6F7665  # any fixed number: PostgreSQL's advisory lock between writers and a move


class ShopMovedError(ConflictError):
    """The database is no longer the shop's: its rows went to another one."""

    def __init__(self, place: str) -> None:
        super().__init__(
            "the shop has moved elsewhere; nothing was written",
            where=place,
            remedy="Stop what is open of it, the bench too, and start it again.",
        )


def guard_writes(engine: Engine, moved: Callable[[], bool]) -> None:
    """Let every writing transaction ask first whether the database is still the shop's.

    Parameters
    ----------
    moved
        Tells whether the shop names another database by now; asked when no move can be under way.
    """

    @event.listens_for(engine, "begin")
    def _ask(connection: Connection) -> None:
        if connection.get_execution_options().get("reading", False):
            return
        left = False
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock_shared(:n)"), {"n": _LOCK})
            left = connection.scalar(select(VERSION.c.version_num)) == MOVED
        if left or moved():
            raise ShopMovedError(place_of(engine))


@contextmanager
def held(engine: Engine) -> Iterator[Connection]:
    """Let nobody write in the database meanwhile; what is changed by the one given is kept.

    Raises
    ------
    StorageError
        Another process goes on writing.
    """
    postgres = engine.dialect.name == "postgresql"
    # on PostgreSQL no share of the lock is taken first: two moves would wait for each other
    options = {"reading": True} if postgres else {}
    connecting = engine.connect().execution_options(**options)
    with refusals(place_of(engine)), connecting as connection, connection.begin():
        if postgres:
            connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": _LOCK})
        yield connection


def leave_mark(connection: Connection) -> None:
    """Mark the database as one that its shop has left: whoever opens or writes it is told so."""
    connection.execute(update(VERSION).values(version_num=MOVED))


def fill_server(source: Engine, address: str) -> Mapping[str, int]:
    """Bring all rows of *source*, which is held, into the database at *address*.

    Copied and compared in one transaction. A database that already holds just these rows, because
    an earlier move was cut off before the shop named it, is taken as it is.

    Returns
    -------
    Rows of each table.

    Raises
    ------
    ConflictError
        The database holds other rows, or a shop has left it.
    StorageError
        A machine refused; no row was written.
    """
    target = postgres_engine(address)
    try:
        bring_up_to_date(target)
        return _fill(source, target)
    finally:
        target.dispose()


def fill_file(source: Engine, path: Path) -> Mapping[str, int]:
    """Bring all rows of *source*, which is held, into a new SQLite file; it is there whole or not.

    See `fill_server`.
    """
    partial = path.with_name(f"{path.name}.arriving")
    _remove(partial)
    target = sqlite_engine(partial)
    try:
        bring_up_to_date(target)
        rows = _fill(source, target)
        target.dispose()
        flush_file(partial)
        partial.replace(path)
        flush_folder(path.parent)
    except BaseException:
        target.dispose()
        _remove(partial)
        raise
    return rows


def set_aside(path: Path, at: str) -> Path | None:
    """Give an SQLite file that no longer counts another name; None where there is none.

    Parameters
    ----------
    at
        Put into the name; letters and digits.
    """
    if not path.exists():
        return None
    engine = sqlite_engine(path)  # closing the last connection brings the log into the file
    with engine.connect().execution_options(reading=True) as connection:
        connection.scalar(select(1))
    engine.dispose()
    aside = path.with_name(f"{path.name}.moved-{at}")
    path.replace(aside)
    for ending in ("-wal", "-shm"):
        log = path.with_name(path.name + ending)
        if log.exists():
            log.replace(aside.with_name(aside.name + ending))
    flush_folder(path.parent)
    return aside


def is_empty(engine: Engine) -> bool:
    """Whether a database has no table of a shop, or no row in any of them."""
    with refusals(place_of(engine)):
        if version_of(engine) is None:
            return True
        with engine.connect().execution_options(reading=True) as connection:
            return all(
                connection.scalar(select(table).limit(1)) is None
                for table in metadata.sorted_tables
            )


def hidden_dossiers(path: Path, engine: Engine) -> int | None:
    """How many dossiers of an SQLite file are not, or not to their end, in another database.

    Returns
    -------
    None where the file holds nothing that the other one does not.
    """
    held_here = reading_engine(path)
    try:
        with refusals(path.name), held_here.connect().execution_options(reading=True) as here:
            if version_of(held_here) is None:
                return None
            ended = select(dossier.c.tag, dossier.c.head_seq, dossier.c.head_digest)
            heads = {(row.tag, row.head_seq, row.head_digest) for row in here.execute(ended)}
            last = here.execute(select(ledger).order_by(ledger.c.n.desc()).limit(1)).one_or_none()
    finally:
        held_here.dispose()
    known: set[tuple[str, int, str]] = set()
    wanted = select(dossier.c.tag, entry.c.seq, entry.c.digest).join(dossier)
    ordered = sorted(heads)
    with refusals(place_of(engine)), engine.connect().execution_options(reading=True) as there:
        for begin in range(0, len(ordered), AT_ONCE):
            ends = [one[:2] for one in ordered[begin : begin + AT_ONCE]]
            rows = there.execute(wanted.where(tuple_(dossier.c.tag, entry.c.seq).in_(ends)))
            known |= {(row.tag, row.seq, row.digest) for row in rows}
        same = last is None or last.line == there.scalar(
            select(ledger.c.line).where(ledger.c.n == last.n)
        )
    missing = len(heads - known)
    return missing if missing or not same else None


def _fill(source: Engine, target: Engine) -> Mapping[str, int]:
    options = reading_options(source)
    with (
        refusals(place_of(target)),
        source.connect().execution_options(**options) as reading,
        target.begin() as writing,
    ):
        wanted = _sums(reading)
        if _sums(writing) == wanted:
            return {name: count for name, (count, _) in wanted.items()}
        copy_rows(reading, writing)
        arrived = _sums(writing)
        differing = [name for name in wanted if arrived[name] != wanted[name]]
        if differing:
            raise ConflictError(
                "the rows that arrived are not those that were sent; nothing was moved",
                where=f"{place_of(target)}, table {differing[0]}",
                remedy="Run doctor on the shop and on the database's machine, then repeat.",
            )
    return {name: count for name, (count, _) in wanted.items()}


def _sums(connection: Connection) -> dict[str, tuple[int, str]]:
    """Rows of each table and a digest over all of them, whatever order they are read in.

    The sum of the SHA-256 of each row's canonical JSON, modulo 2 to the 256th: equal tables have
    equal sums in any collation, and no row can be missing, doubled or changed by mischance.
    """
    found = {}
    for table in metadata.sorted_tables:
        count, total = 0, 0
        for rows in connection.execute(select(table)).mappings().partitions(AT_ONCE):
            for row in rows:
                plain = {name: _plain(value) for name, value in row.items()}
                digest = hashlib.sha256(canonical_json(plain)).digest()
                total, count = (total + int.from_bytes(digest, "big")) % 2**256, count + 1
        found[table.name] = (count, f"{total:064x}")
    return found


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _remove(path: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
