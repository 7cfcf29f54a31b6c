"""The ledger in a database: each transaction that changes a row that counts notes what it did.

A row's digest is taken from the row as it reads back within the transaction, so that what is noted
is what is stored. Lines and changes are only ever added. The form of a line stands in
`heelstamp.archive.ledger`. Not covered, because nothing rests on them: rows of the rack, sessions,
recovery codes, and the head of a dossier, which `faults` compares with its journal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Column, Connection, Engine, Table, func, insert, select, text, tuple_

from heelstamp.archive.canonical import canonical_json, read_json
from heelstamp.archive.ledger import RowChange, ledger_line, row_digest, row_key
from heelstamp.store.engine import place_of
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import (
    account,
    census,
    comparable,
    document,
    dossier,
    file,
    finding,
    ledger,
    ledger_row,
    second_factor,
    token,
    webhook,
)

COVERED: Mapping[str, tuple[Table, tuple[str, ...]]] = {
    "account": (account, ("name", "role", "password", "made")),
    "census": (census, tuple(census.c.keys())),
    "comparable": (comparable, tuple(comparable.c.keys())),
    "document": (document, tuple(document.c.keys())),
    "dossier": (dossier, ("id", "tag")),
    "file": (file, tuple(file.c.keys())),
    "finding": (finding, tuple(finding.c.keys())),
    "second_factor": (second_factor, ("account", "secret", "made")),
    "token": (token, tuple(token.c.keys())),
    "webhook": (webhook, ("id", "name", "url", "secret", "private", "made")),
}
"""Tables whose rows are noted, with the columns that count."""

AT_ONCE = 200
"""Rows read back by one statement; SQLite takes no more than 999 values in one."""

_LOCK = 0x6C656467  # any fixed number: PostgreSQL's advisory lock, so that lines follow each other


@dataclass(frozen=True, slots=True)
class Stamp:
    """What the shop gives a line: time, hand, and 32 random bytes."""

    at: str
    by: str
    seed: bytes


class DatabaseLedger:
    """The ledger of one shop, in the database whose journals were opened before.

    Parameters
    ----------
    stamp
        Gives time, hand and seed of the next line.
    """

    def __init__(self, engine: Engine, stamp: Callable[[], Stamp]) -> None:
        self._engine = engine
        self._place = place_of(engine)
        self._stamp = stamp

    def begin(self) -> None:
        """Note all rows of a database that has no line yet; a new one has nothing to note."""
        with refusals(self._place), self._engine.connect().execution_options(reading=True) as read:
            if read.scalar(select(func.count()).select_from(ledger)):
                return
        with refusals(self._place), self._engine.begin() as connection:
            self._lock(connection)
            if connection.scalar(select(func.count()).select_from(ledger)):
                return
            found = rows_found(connection)
            if found:
                self._add(connection, [RowChange(*key, digest) for key, digest in found.items()])

    def note(self, connection: Connection, table: str, keys: Iterable[Sequence[object]]) -> None:
        """Note how rows stand now, in the transaction that changed them.

        Parameters
        ----------
        table
            One of `COVERED`.
        keys
            Values of the primary key of each row that was put in, changed or taken out.
        """
        wanted = list(dict.fromkeys(tuple(key) for key in keys))
        if not wanted:
            return
        self._lock(connection)
        standing: dict[str, str] = {}
        for begin in range(0, len(wanted), AT_ONCE):
            standing |= dict(_digests(connection, table, wanted[begin : begin + AT_ONCE]))
        changes = [RowChange(table, row_key(key), standing.get(row_key(key))) for key in wanted]
        self._add(connection, changes)

    def last(self) -> str | None:
        """Digest of the last line; None while there is none."""
        wanted = select(ledger.c.line).order_by(ledger.c.n.desc()).limit(1)
        with refusals(self._place), self._engine.connect().execution_options(reading=True) as read:
            line = read.scalar(wanted)
        return None if line is None else str(read_json(line.encode("utf-8"))["digest"])

    def _lock(self, connection: Connection) -> None:
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": _LOCK})

    def _add(self, connection: Connection, changes: Sequence[RowChange]) -> None:
        wanted = select(ledger.c.n, ledger.c.line).order_by(ledger.c.n.desc()).limit(1)
        last = connection.execute(wanted).one_or_none()
        n = 1 if last is None else last.n + 1
        previous = None if last is None else str(read_json(last.line.encode("utf-8"))["digest"])
        stamp = self._stamp()
        line = ledger_line(
            changes, n=n, at=stamp.at, by=stamp.by, previous=previous, seed=stamp.seed
        )
        connection.execute(insert(ledger).values(n=n, line=canonical_json(line).decode("utf-8")))
        rows = [
            {"n": n, "name": one.table, "key": one.key, "digest": one.digest} for one in changes
        ]
        connection.execute(insert(ledger_row), rows)


def rows_found(connection: Connection) -> dict[tuple[str, str], str]:
    """Digest of each covered row as it stands, by table and key."""
    return {
        (name, key): digest for name in COVERED for key, digest in _digests(connection, name, None)
    }


def lines_and_changes(connection: Connection) -> tuple[list[bytes], dict[int, list[RowChange]]]:
    """All lines in order, and the changes noted under each number."""
    lines = [
        one.encode("utf-8", "surrogateescape")
        for one in connection.scalars(select(ledger.c.line).order_by(ledger.c.n))
    ]
    changes: dict[int, list[RowChange]] = {}
    for one in connection.execute(select(ledger_row)):
        changes.setdefault(one.n, []).append(RowChange(one.name, one.key, one.digest))
    return lines, changes


def _digests(
    connection: Connection, name: str, keys: Sequence[Sequence[object]] | None
) -> Iterator[tuple[str, str]]:
    table, columns = COVERED[name]
    primary = list(table.primary_key.columns)
    wanted = select(*(table.c[one] for one in columns))
    if keys is not None:
        wanted = wanted.where(_among(primary, keys))
    for row in connection.execute(wanted):
        plain = {column: _plain(row._mapping[column]) for column in columns}  # noqa: SLF001
        yield row_key([plain[one.name] for one in primary]), row_digest(name, plain)


def _among(primary: list[Column[Any]], keys: Sequence[Sequence[object]]) -> Any:
    if len(primary) == 1:
        return primary[0].in_([one[0] for one in keys])
    return tuple_(*primary).in_([tuple(one) for one in keys])


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, datetime) else value
