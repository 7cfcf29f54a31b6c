"""Rows of the rack in a database: a short form of each dossier, kept beside the head it belongs to.

A row is derived from its dossier: it is taken out when its journal grows, and made anew at need.
Words are kept in small letters (Unicode case folding), so that a search by any part of a word is
one scan of a narrow table on both databases; serial numbers are found by their thirds.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    Engine,
    and_,
    bindparam,
    delete,
    exists,
    func,
    insert,
    or_,
    select,
)

from heelstamp.casework.ports import Head, KeptRow
from heelstamp.marks.number_thirds import has_unread, thirds
from heelstamp.store.engine import place_of
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import dossier, listed_number, rack_row

FEW = 900
"""Dossiers up to which all that were found are brought along, to be sorted here."""

NEWEST = select(dossier.c.id).order_by(dossier.c.id.desc())


class DatabaseRack:
    """The rack of one shop, in the database whose journals were opened before.

    Parameters
    ----------
    read_only
        Nothing can be written: rows that were made anew are not kept.
    few
        Dossiers up to which all that a search found are brought along.
    """

    def __init__(self, engine: Engine, *, read_only: bool = False, few: int = FEW) -> None:
        self._engine = engine
        self._read_only, self._few = read_only, few
        self._place = place_of(engine)

    def sheet(
        self, words: Sequence[str], skip: int, count: int
    ) -> tuple[int, dict[str, tuple[Head, KeptRow | None]]]:
        """Count the dossiers that hold every word, and give some of them, newest first.

        A kept row may belong to an earlier head: its digest tells.
        """
        joined = dossier.outerjoin(rack_row, rack_row.c.tag == dossier.c.tag)
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
            .order_by(dossier.c.id.desc())
        )
        with refusals(self._place), self._reading() as connection:
            if words:
                found, ids = self._found(connection, words, skip, count)
            else:
                found = connection.scalar(select(func.count()).select_from(dossier)) or 0
                ids = connection.scalars(NEWEST.offset(skip).limit(count)).all()
            rows = connection.execute(wanted.where(dossier.c.id.in_(ids))).all()
        return found, {
            one.tag: (
                Head(one.head_seq, one.head_digest),
                None if one.head is None else KeptRow(one.head, one.text, one.words),
            )
            for one in rows
        }

    def _found(
        self, connection: Connection, words: Sequence[str], skip: int, count: int
    ) -> tuple[int, Sequence[int]]:
        """Count the dossiers that hold every word, and give the ids of one sheet.

        Rows are looked over by themselves, without the dossiers beside them, which takes half as
        long; a dossier without a row is known by its tag alone. Where few are found they are all
        brought here; else those of the sheet are met soon, newest first.
        """
        kept = and_(*(self._holds(word, rack_row.c.tag) for word in words))
        tagged = and_(*(self._tagged(word, dossier.c.tag) for word in words))
        tags = set(connection.scalars(select(rack_row.c.tag).where(kept).limit(self._few + 1)))
        if len(tags) <= self._few:
            tags.update(
                connection.scalars(select(dossier.c.tag).where(tagged).limit(self._few + 1))
            )
        if len(tags) <= self._few:
            every = connection.scalars(NEWEST.where(dossier.c.tag.in_(tags))).all()
            return len(every), every[skip : skip + count]
        without = ~exists().where(rack_row.c.tag == dossier.c.tag)
        rows = select(func.count()).select_from(rack_row).where(kept)
        others = select(func.count()).select_from(dossier).where(tagged, without)
        found = (connection.scalar(rows) or 0) + (connection.scalar(others) or 0)
        fits = and_(*(self._holds(word, dossier.c.tag) for word in words))
        joined = dossier.outerjoin(rack_row, rack_row.c.tag == dossier.c.tag)
        sheet = NEWEST.select_from(joined).where(fits).offset(skip).limit(count)
        return found, connection.scalars(sheet).all()

    def stale(self, limit: int | None = None) -> tuple[int, tuple[str, ...]]:
        """Count the dossiers without a row, and name some; rows are taken out as journals grow."""
        kept = select(func.count()).select_from(rack_row)
        named = (
            select(dossier.c.tag)
            .where(~exists().where(rack_row.c.tag == dossier.c.tag))
            .order_by(dossier.c.id)
            .limit(limit)
        )
        with refusals(self._place), self._reading() as connection:
            count = connection.scalar(select(func.count()).select_from(dossier)) or 0
            count -= connection.scalar(kept) or 0
            return count, tuple(connection.scalars(named)) if count else ()

    def keep(self, rows: Mapping[str, KeptRow]) -> None:
        """Keep rows by tag, all or none; see `heelstamp.casework.ports.RackStore.keep`."""
        if not rows or self._read_only:
            return
        with refusals(self._place), self._engine.begin() as connection:
            wanted = select(dossier.c.tag, dossier.c.head_digest).with_for_update()
            found = connection.execute(wanted.where(dossier.c.tag.in_(list(rows))))
            heads: dict[str, str] = {row.tag: row.head_digest for row in found}
            fresh = {tag: one for tag, one in rows.items() if heads.get(tag) == one.head}
            take_out(connection, fresh)
            values = [
                {"tag": tag, "head": one.head, "text": one.text, "words": one.words}
                for tag, one in fresh.items()
            ]
            numbers = [
                _number_row(tag, number)
                for tag, one in fresh.items()
                for number in dict.fromkeys(one.numbers)
            ]
            for table, made in ((rack_row, values), (listed_number, numbers)):
                if made:
                    connection.execute(insert(table), made)

    def numbers(self) -> dict[str, frozenset[str]]:
        """Serial numbers by tag of every kept row, also where there are none."""
        joined = rack_row.outerjoin(listed_number, listed_number.c.tag == rack_row.c.tag)
        wanted = select(rack_row.c.tag, listed_number.c.number).select_from(joined)
        found: dict[str, set[str]] = {}
        with refusals(self._place), self._reading() as connection:
            for row in connection.execute(wanted):
                found.setdefault(row.tag, set()).update([row.number] if row.number else [])
        return {tag: frozenset(numbers) for tag, numbers in found.items()}

    def forget(self, tags: Collection[str]) -> None:
        """Take rows out, to be made anew."""
        if tags and not self._read_only:
            with refusals(self._place), self._engine.begin() as connection:
                take_out(connection, tags)

    def numbers_near(self, number: str) -> tuple[tuple[str, str], ...]:
        """Tag and number of what may be near; see `heelstamp.casework.ports.RackStore`."""
        wanted = select(listed_number.c.tag, listed_number.c.number).order_by(
            listed_number.c.tag, listed_number.c.number
        )
        if not has_unread(number):
            columns = (listed_number.c.first, listed_number.c.middle, listed_number.c.last)
            same = [one == third for one, third in zip(columns, thirds(number), strict=True)]
            length, _, _ = thirds(number)[0].partition(":")
            unread = and_(
                listed_number.c.unread == 1, listed_number.c.first.startswith(length + ":")
            )
            wanted = wanted.where(or_(unread, *same))
        with refusals(self._place), self._reading() as connection:
            return tuple((row.tag, row.number) for row in connection.execute(wanted))

    def _holds(self, word: str, tag: Column[str]) -> ColumnElement[bool]:
        """Whether a dossier's tag or words hold *word*."""
        kept = rack_row.c.words.contains(word.casefold(), autoescape=True)
        return or_(self._tagged(word, tag), kept)

    def _tagged(self, word: str, tag: Column[str]) -> ColumnElement[bool]:
        """Whether a tag holds *word*."""
        sqlite = self._engine.dialect.name == "sqlite"  # its LIKE takes A to Z in either case
        return (tag.contains if sqlite else tag.icontains)(word, autoescape=True)

    def _reading(self) -> Connection:
        return self._engine.connect().execution_options(reading=True)


TAKE_OUT = tuple(
    delete(table).where(table.c.tag == bindparam("of_tag")) for table in (rack_row, listed_number)
)


def take_out(connection: Connection, tags: Collection[str]) -> None:
    """Take out the rows of dossiers whose journals grow, in the transaction that lets them grow."""
    if tags:
        for statement in TAKE_OUT:
            connection.execute(statement, [{"of_tag": tag} for tag in tags])


def _number_row(tag: str, number: str) -> dict[str, object]:
    names = ("first", "middle", "last")
    row: dict[str, object] = dict(zip(names, thirds(number), strict=True))
    return {"tag": tag, "number": number, "unread": int(has_unread(number)), **row}
