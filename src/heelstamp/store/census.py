"""The census in a database: rows added all or none, read a few at a time, conclusions renewed.

Two writers may add different rows at once; the same row twice is refused by the primary key.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from sqlalchemy import Connection, Engine, bindparam, func, insert, literal, select, update
from sqlalchemy.exc import IntegrityError as ConstraintError

from heelstamp.casework.ports import CensusRecord
from heelstamp.errors import ConflictError
from heelstamp.store.engine import place_of
from heelstamp.store.ledger import DatabaseLedger
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import census

PAGE = 2000
"""Rows read at a time: some 8 MB."""


class DatabaseCensus:
    """The census of one shop, in the database whose journals were opened before."""

    def __init__(self, engine: Engine, ledger: DatabaseLedger) -> None:
        self._engine = engine
        self._ledger = ledger
        self._place = place_of(engine)

    def chronologies(self) -> tuple[str, ...]:
        """Ids of the chronologies that have rows, sorted."""
        wanted = select(census.c.chronology).distinct()
        with refusals(self._place), self._reading() as connection:
            return tuple(sorted(connection.scalars(wanted)))

    def count(self, chronology: str) -> int:
        """How many rows there are."""
        wanted = select(func.count()).where(census.c.chronology == chronology)
        with refusals(self._place), self._reading() as connection:
            return int(connection.scalars(wanted).one())

    def read_otherwise(self, chronology: str, read_as: str) -> int:
        """How many rows have evidence that was read in another way than *read_as*."""
        wanted = select(func.count()).where(
            census.c.chronology == chronology, census.c.read_as != read_as
        )
        with refusals(self._place), self._reading() as connection:
            return int(connection.scalars(wanted).one())

    def rows(self, chronology: str, *, whole: bool = True) -> Iterator[CensusRecord]:
        """All rows in the order they were added; each page is a short read of its own."""
        observations = census.c.observations if whole else literal("").label("observations")
        seen = (0, "")
        while True:
            place, row = seen
            later = (census.c.place > place) | (census.c.row > row)
            wanted = (
                select(
                    census.c.row,
                    census.c.place,
                    census.c.how_dated,
                    observations,
                    census.c.evidence,
                    census.c.read_as,
                    census.c.conclusion,
                )
                .where(census.c.chronology == chronology, census.c.place >= place, later)
                .order_by(census.c.place, census.c.row)
                .limit(PAGE)
            )
            with refusals(self._place), self._reading() as connection:
                page = connection.execute(wanted).all()
            for one in page:
                yield CensusRecord(
                    one.row,
                    one.how_dated,
                    one.observations,
                    one.evidence,
                    one.read_as,
                    one.conclusion,
                )
            if len(page) < PAGE:
                return
            seen = (page[-1].place, page[-1].row)

    def add(self, chronology: str, rows: Sequence[CensusRecord]) -> None:
        """Add all *rows* or none; see `heelstamp.casework.ports.CensusStore.add`."""
        if not rows:
            return
        with refusals(self._place), self._engine.begin() as connection:
            self._refuse_known(connection, chronology, [one.id for one in rows])
            last = connection.scalars(
                select(func.max(census.c.place)).where(census.c.chronology == chronology)
            ).one()
            values = [
                {
                    "chronology": chronology,
                    "row": one.id,
                    "place": place,
                    "how_dated": one.how_dated,
                    "observations": one.observations,
                    "evidence": one.evidence,
                    "read_as": one.read_as,
                    "conclusion": one.conclusion,
                }
                for place, one in enumerate(rows, start=(last or 0) + 1)
            ]
            try:
                connection.execute(insert(census), values)
            except ConstraintError:
                raise _known(chronology, "one of these rows") from None
            self._ledger.note(connection, "census", [(chronology, one.id) for one in rows])

    def conclude(self, chronology: str, conclusions: Mapping[str, str]) -> None:
        """Keep the latest conclusions by id, all or none."""
        if not conclusions:
            return
        statement = (
            update(census)
            .where(census.c.chronology == bindparam("of"), census.c.row == bindparam("id"))
            .values(conclusion=bindparam("text"))
        )
        values = [{"of": chronology, "id": id_, "text": text} for id_, text in conclusions.items()]
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(statement, values)
            self._ledger.note(connection, "census", [(chronology, id_) for id_ in conclusions])

    def _refuse_known(self, connection: Connection, chronology: str, ids: Sequence[str]) -> None:
        for begin in range(0, len(ids), PAGE // 4):
            some = ids[begin : begin + PAGE // 4]
            wanted = select(census.c.row).where(
                census.c.chronology == chronology, census.c.row.in_(some)
            )
            found = connection.scalars(wanted).first()
            if found is not None:
                raise _known(chronology, found)

    def _reading(self) -> Connection:
        return self._engine.connect().execution_options(reading=True)


def _known(chronology: str, row: str) -> ConflictError:
    return ConflictError(
        "this row is in the census already",
        where=chronology,
        received=row,
        remedy="Take it out of what is added; the census itself was not changed.",
    )
