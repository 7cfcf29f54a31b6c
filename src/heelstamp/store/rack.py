"""Rows of the rack in a database: a short form of each dossier, kept beside the head it belongs to.

A row is derived from its dossier and nothing rests on it: one that is gone or older than its head
is made anew. Words are kept in small letters (Unicode case folding), so that a search by any part
of a word is one scan of a narrow table on both databases.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import (
    ColumnElement,
    Connection,
    Engine,
    and_,
    delete,
    func,
    insert,
    or_,
    select,
    true,
)

from heelstamp.casework.ports import Head, KeptRow
from heelstamp.store.engine import place_of
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import dossier, rack_row


class DatabaseRack:
    """The rack of one shop, in the database whose journals were opened before.

    Parameters
    ----------
    read_only
        Nothing can be written: rows that were made anew are not kept.
    """

    def __init__(self, engine: Engine, *, read_only: bool = False) -> None:
        self._engine = engine
        self._read_only = read_only
        self._place = place_of(engine)

    def sheet(
        self, words: Sequence[str], skip: int, count: int
    ) -> tuple[int, dict[str, tuple[Head, KeptRow | None]]]:
        """Count the dossiers that hold every word, and give some of them, newest first.

        A kept row may belong to an earlier head: its digest tells.
        """
        joined = dossier.outerjoin(rack_row, rack_row.c.tag == dossier.c.tag)
        fits = and_(true(), *(self._holds(word) for word in words))
        counted = select(func.count()).select_from(joined if words else dossier).where(fits)
        wanted = (
            select(
                dossier.c.tag,
                dossier.c.head_seq,
                dossier.c.head_digest,
                rack_row.c.head,
                rack_row.c.text,
                rack_row.c.words,
            )
            .select_from(joined)
            .where(fits)
            .order_by(dossier.c.id.desc())
            .offset(skip)
            .limit(count)
        )
        with refusals(self._place), self._reading() as connection:
            found = connection.scalar(counted) or 0
            rows = connection.execute(wanted).all()
        return found, {
            one.tag: (
                Head(one.head_seq, one.head_digest),
                None if one.head is None else KeptRow(one.head, one.text, one.words),
            )
            for one in rows
        }

    def stale(self, limit: int) -> tuple[int, tuple[str, ...]]:
        """Count the dossiers whose row is wanting or older than its head, and name some."""
        joined = dossier.outerjoin(rack_row, rack_row.c.tag == dossier.c.tag)
        old = or_(rack_row.c.head.is_(None), rack_row.c.head != dossier.c.head_digest)
        counted = select(func.count()).select_from(joined).where(old)
        named = select(dossier.c.tag).select_from(joined).where(old).limit(limit)
        with refusals(self._place), self._reading() as connection:
            return connection.scalar(counted) or 0, tuple(connection.scalars(named))

    def keep(self, rows: Mapping[str, KeptRow]) -> None:
        """Keep rows by tag in the place of what was kept, all or none."""
        if not rows or self._read_only:
            return
        values = [
            {"tag": tag, "head": one.head, "text": one.text, "words": one.words}
            for tag, one in rows.items()
        ]
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(delete(rack_row).where(rack_row.c.tag.in_(list(rows))))
            connection.execute(insert(rack_row), values)

    def _holds(self, word: str) -> ColumnElement[bool]:
        """Whether a dossier's tag or words hold *word*."""
        sqlite = self._engine.dialect.name == "sqlite"  # its LIKE takes A to Z in either case
        tag = dossier.c.tag.contains if sqlite else dossier.c.tag.icontains
        kept = rack_row.c.words.contains(word.casefold(), autoescape=True)
        return or_(tag(word, autoescape=True), kept)

    def _reading(self) -> Connection:
        return self._engine.connect().execution_options(reading=True)
