"""Journals in a database: append-only, optimistic, all or nothing.

A writer names the digest it believes to be the head. The head row is updated only if it still
holds that digest, in the same transaction as the new entries; whoever comes second is told so and
has written nothing. That holds on both databases: SQLite lets one writer in at a time, PostgreSQL
re-reads the row it waited for (READ COMMITTED, 13.2.1 of its manual).
"""

from __future__ import annotations

import json
import secrets
import time
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Engine, bindparam, func, insert, select, true, update
from sqlalchemy.exc import IntegrityError as ConstraintError

from heelstamp.casework.ports import FileRecord, Head, WrittenBetweenError
from heelstamp.errors import ConflictError
from heelstamp.store.engine import place_of
from heelstamp.store.ledger import AT_ONCE, DatabaseLedger
from heelstamp.store.rack import take_out
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import dossier, entry, file, finding
from heelstamp.store.versions import bring_up_to_date, require_newest
from heelstamp.store.webhooks import note_due

HEAD = select(dossier.c.head_seq, dossier.c.head_digest).where(dossier.c.tag == bindparam("of_tag"))
MOVE_HEAD = (
    update(dossier)
    .where(dossier.c.tag == bindparam("of_tag"), dossier.c.head_digest == bindparam("previous"))
    .values(head_seq=bindparam("head_seq"), head_digest=bindparam("head_digest"))
    .returning(dossier.c.id)
)
INSERT_ENTRIES = insert(entry)
"""What every append says, made once: to make a statement costs as much as to run it."""

PAUSE_FIRST_MS, PAUSE_MOST_MS = 5, 250
"""Bounds of a pause after another writer was quicker; the longest doubles with each."""


class DatabaseJournals:
    """The journals of one shop in an SQLite or PostgreSQL database.

    Parameters
    ----------
    engine
        From `heelstamp.store.engine`; its schema is brought up to date at once.
    read_only
        Nothing can be written: the schema must be the newest already, and what is only remembered,
        as a finding that was computed, is not.

    Raises
    ------
    ConflictError
        The database was made by a newer Heelstamp.
    StorageError
        It cannot be opened or written.
    """

    def __init__(self, engine: Engine, ledger: DatabaseLedger, *, read_only: bool = False) -> None:
        self._engine = engine
        self._ledger = ledger
        self._place = place_of(engine)
        self._read_only = read_only
        if read_only:
            require_newest(engine)
        else:
            bring_up_to_date(engine)
            ledger.begin()

    def tags(self) -> tuple[str, ...]:
        """Tags of all dossiers, in the order they were opened."""
        with refusals(self._place), self._reading() as connection:
            return tuple(connection.scalars(select(dossier.c.tag).order_by(dossier.c.id)))

    def sheet(self, find: str, skip: int, count: int) -> tuple[int, dict[str, Head]]:
        """Count the dossiers whose tag holds *find*, and give some of them, newest first."""
        # LIKE of SQLite matches A to Z in either case by itself, three times as fast as lower()
        sqlite = self._engine.dialect.name == "sqlite"
        holds = dossier.c.tag.contains if sqlite else dossier.c.tag.icontains
        fits = holds(find, autoescape=True) if find else true()
        counted = select(func.count()).select_from(dossier).where(fits)
        wanted = (
            select(dossier.c.tag, dossier.c.head_seq, dossier.c.head_digest)
            .where(fits)
            .order_by(dossier.c.id.desc())
            .offset(skip)
            .limit(count)
        )
        with refusals(self._place), self._reading() as connection:
            found = connection.scalar(counted) or 0
            rows = connection.execute(wanted).all()
        return found, {row.tag: Head(row.head_seq, row.head_digest) for row in rows}

    def head(self, tag: str) -> Head | None:
        """End of the chain of *tag*; None when there is no such dossier."""
        with refusals(self._place), self._reading() as connection:
            row = connection.execute(HEAD, {"of_tag": tag}).one_or_none()
        return None if row is None else Head(row.head_seq, row.head_digest)

    def lines(self, tag: str) -> tuple[bytes, ...]:
        """All lines of *tag* as they are stored, in order."""
        wanted = (
            select(entry.c.line)
            .join(dossier, dossier.c.id == entry.c.dossier_id)
            .where(dossier.c.tag == tag)
            .order_by(entry.c.seq)
        )
        with refusals(self._place), self._reading() as connection:
            return tuple(line.encode("utf-8") for line in connection.scalars(wanted))

    def ledger(self) -> str | None:
        """Digest of the last line of the ledger; None while there is none."""
        return self._ledger.last()

    def append(self, tag: str, lines: Sequence[bytes], previous: str | None) -> Head:
        """Append all *lines* or none; see `heelstamp.casework.ports.JournalStore.append`."""
        if not lines:
            raise ValueError("nothing to append")
        self._append_each({tag: (lines, previous)}, ())
        last = _row(lines[-1])
        return Head(last["seq"], last["digest"])

    def take_in(
        self,
        files: Sequence[FileRecord],
        journals: Mapping[str, tuple[Sequence[bytes], str | None]],
    ) -> None:
        """Note *files* and append to every journal, all or nothing."""
        self._append_each({tag: one for tag, one in journals.items() if one[0]}, files)

    def _append_each(
        self,
        journals: Mapping[str, tuple[Sequence[bytes], str | None]],
        files: Sequence[FileRecord],
    ) -> None:
        rows = {tag: [_row(line) for line in lines] for tag, (lines, _) in journals.items()}
        tag, place = "", ", ".join([self._place, *list(journals)[:1]])
        try:
            with refusals(place), self._engine.begin() as connection:
                self._insert_fresh(connection, file, [_file_row(one) for one in files])
                for tag, (_, previous) in journals.items():
                    head = Head(rows[tag][-1]["seq"], rows[tag][-1]["digest"])
                    id_ = self._move_head(connection, tag, previous, head)
                    for row in rows[tag]:
                        row["dossier_id"] = id_
                    connection.execute(INSERT_ENTRIES, rows[tag])
                note_due(connection, [(tag, row[-1]["seq"]) for tag, row in rows.items()])
        except _SecondWriter:
            previous = journals[tag][1]
            received = f"entry {rows[tag][-1]['seq']} to follow {previous or 'nothing'}"
            if self.head(tag) is None:
                raise ConflictError(
                    "there is no such dossier",
                    where=tag,
                    received=received,
                    remedy="Open it first.",
                ) from None
            raise WrittenBetweenError(
                "another process wrote to this dossier in between",
                where=tag,
                received=received,
                remedy="Read the dossier again and repeat the entry.",
            ) from None

    def pause(self, tried: int) -> None:
        """Wait a short while, at random, after *tried* writers were quicker."""
        most = min(PAUSE_MOST_MS, PAUSE_FIRST_MS * 2 ** min(tried, 10))
        time.sleep(secrets.randbelow(most) / 1000)

    def _move_head(self, connection: Connection, tag: str, previous: str | None, head: Head) -> int:
        values = {"head_seq": head.seq, "head_digest": head.digest}
        if previous is None:
            try:
                made = connection.execute(insert(dossier).values(tag=tag, **values))
            except ConstraintError:
                raise _SecondWriter from None
            key = made.inserted_primary_key
            assert key is not None
            self._ledger.note(connection, "dossier", [(int(key[0]),)])
            return int(key[0])
        wanted = {"of_tag": tag, "previous": previous, **values}
        moved = connection.execute(MOVE_HEAD, wanted).one_or_none()
        if moved is None:
            raise _SecondWriter
        take_out(connection, [tag])
        return int(moved.id)

    def findings(self, digests: Collection[str]) -> dict[str, bytes]:
        """Kept findings by the digests of their inputs; what is not kept is left out."""
        wanted = select(finding.c.digest, finding.c.text).where(finding.c.digest.in_(digests))
        with refusals(self._place), self._reading() as connection:
            return {row.digest: row.text.encode("utf-8") for row in connection.execute(wanted)}

    def keep_findings(self, kind: str, texts: Mapping[str, bytes]) -> None:
        """Keep findings by their digests, all or none; the same one again changes nothing."""
        if self._read_only:
            return
        self._insert_once(
            finding,
            [{"digest": key, "kind": kind, "text": text.decode()} for key, text in texts.items()],
        )

    def record_file(self, record: FileRecord) -> None:
        """Note a kept file; noting it again changes nothing."""
        self._insert_once(file, [_file_row(record)])

    def files(self) -> tuple[FileRecord, ...]:
        """All files noted, by digest."""
        wanted = select(file.c.digest, file.c.size, file.c.media_type).order_by(file.c.digest)
        with refusals(self._place), self._reading() as connection:
            return tuple(FileRecord(*row) for row in connection.execute(wanted))

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def _reading(self) -> Connection:
        return self._engine.connect().execution_options(reading=True)

    def _insert_once(self, table: Any, rows: Sequence[dict[str, Any]]) -> None:
        if not rows:
            return
        with refusals(self._place), self._engine.begin() as connection:
            self._insert_fresh(connection, table, rows)

    def _insert_fresh(
        self, connection: Connection, table: Any, rows: Sequence[dict[str, Any]]
    ) -> None:
        if not rows:
            return
        if self._engine.dialect.name == "postgresql":
            from sqlalchemy.dialects import postgresql as dialect  # noqa: PLC0415
        else:
            from sqlalchemy.dialects import sqlite as dialect  # type: ignore[no-redef]  # noqa: PLC0415
        statement = dialect.insert(table).on_conflict_do_nothing()
        fresh: set[str] = set()
        for begin in range(0, len(rows), AT_ONCE):
            digests = [row["digest"] for row in rows[begin : begin + AT_ONCE]]
            known = select(table.c.digest).where(table.c.digest.in_(digests))
            fresh |= set(digests) - set(connection.scalars(known))
        connection.execute(statement, rows)
        self._ledger.note(connection, str(table.name), [(one,) for one in sorted(fresh)])


class _SecondWriter(Exception):  # noqa: N818 - a signal inside this module, never seen outside
    """The head is not where the writer believed it to be."""


def _file_row(record: FileRecord) -> dict[str, Any]:
    return {"digest": record.digest, "size": record.size, "media_type": record.media_type}


def _row(line: bytes) -> dict[str, Any]:
    text = line.decode("utf-8")
    fields = json.loads(text)
    return {
        "seq": fields["seq"],
        "digest": fields["digest"],
        "kind": fields["kind"],
        "at": datetime.fromisoformat(fields["at"]),
        "hand": fields["by"],
        "line": text,
    }
