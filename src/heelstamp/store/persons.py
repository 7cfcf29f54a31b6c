"""Persons of a shop in a database: names that can be erased, apart from the journals.

Not under the ledger: a digest of a name would outlive the name. On SQLite the pages that held what
is erased are overwritten (``PRAGMA secure_delete``, SQLite documentation).
"""

from __future__ import annotations

from sqlalchemy import Connection, Engine, insert, select, update

from heelstamp.casework.persons import Person
from heelstamp.catalogue.conversion import convert
from heelstamp.store.engine import place_of
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import person


class DatabasePersons:
    """The persons of one shop, in the database whose journals were opened before."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._place = place_of(engine)

    def all(self) -> tuple[Person, ...]:
        """Every person, by dossier and role."""
        reading = self._engine.connect().execution_options(reading=True)
        with refusals(self._place), reading as connection:
            rows = connection.execute(select(person).order_by(person.c.tag, person.c.id))
            plain = ({str(name): value for name, value in row.items()} for row in rows.mappings())
            return tuple(convert(one, Person, where="table person") for one in plain)

    def keep(self, one: Person) -> None:
        """Add a person, or write the row of this id anew; what stood there is overwritten."""
        values = {field: getattr(one, field) for field in one.__struct_fields__}
        with refusals(self._place), self._engine.begin() as connection:
            _overwriting(connection)
            changed = connection.execute(
                update(person).where(person.c.id == one.id).values(**values)
            )
            if not changed.rowcount:
                connection.execute(insert(person), values)


def _overwriting(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("PRAGMA secure_delete = ON")
