"""Comparables in a database: rows added all or none, never changed.

Two writers may add different rows at once; the same row twice is refused by the primary key.
"""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, Engine, func, insert, select
from sqlalchemy.exc import IntegrityError as ConstraintError

from heelstamp.errors import ConflictError
from heelstamp.store.engine import place_of
from heelstamp.store.ledger import DatabaseLedger
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import comparable


class DatabaseComparables:
    """The comparables of one shop, in the database whose journals were opened before."""

    def __init__(self, engine: Engine, ledger: DatabaseLedger) -> None:
        self._engine = engine
        self._ledger = ledger
        self._place = place_of(engine)

    def markets(self) -> tuple[str, ...]:
        """Chronologies that have rows, sorted."""
        wanted = select(comparable.c.market).distinct()
        with refusals(self._place), self._reading() as connection:
            return tuple(sorted(connection.scalars(wanted)))

    def count(self, market: str) -> int:
        """How many rows there are."""
        wanted = select(func.count()).where(comparable.c.market == market)
        with refusals(self._place), self._reading() as connection:
            return int(connection.scalars(wanted).one())

    def rows(self, market: str) -> tuple[tuple[str, str], ...]:
        """Id and text of all rows in the order they were added."""
        wanted = (
            select(comparable.c.row, comparable.c.text)
            .where(comparable.c.market == market)
            .order_by(comparable.c.place, comparable.c.row)
        )
        with refusals(self._place), self._reading() as connection:
            return tuple((one.row, one.text) for one in connection.execute(wanted))

    def add(self, market: str, rows: Sequence[tuple[str, str]]) -> None:
        """Add all *rows* or none; see `heelstamp.casework.ports.ComparableStore.add`."""
        if not rows:
            return
        with refusals(self._place), self._engine.begin() as connection:
            known = set(
                connection.scalars(select(comparable.c.row).where(comparable.c.market == market))
            )
            twice = next((id_ for id_, _ in rows if id_ in known), None)
            if twice is not None:
                raise _known(market, twice)
            last = connection.scalars(
                select(func.max(comparable.c.place)).where(comparable.c.market == market)
            ).one()
            values = [
                {"market": market, "row": id_, "place": place, "text": text}
                for place, (id_, text) in enumerate(rows, start=(last or 0) + 1)
            ]
            try:
                connection.execute(insert(comparable), values)
            except ConstraintError:
                raise _known(market, "one of these rows") from None
            self._ledger.note(connection, "comparable", [(market, id_) for id_, _ in rows])

    def _reading(self) -> Connection:
        return self._engine.connect().execution_options(reading=True)


def _known(market: str, row: str) -> ConflictError:
    return ConflictError(
        "a comparable of this id is kept already",
        where=market,
        received=row,
        remedy="Take it out of what is added; nothing was changed.",
    )
