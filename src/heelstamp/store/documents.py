"""What is noted of the documents in a shop's folder: terms, makers, market, parts, lists.

The documents themselves are files that a person may read and write; here stands what each was when
it was noted last, under the ledger, so that a digit that changed since is found.
"""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import Engine, delete, insert, select

from heelstamp.casework.ports import DocumentRecord
from heelstamp.store.engine import place_of
from heelstamp.store.ledger import DatabaseLedger
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import document


class DatabaseDocuments:
    """The documents of one shop as noted, in the database whose journals were opened before.

    Parameters
    ----------
    read_only
        Nothing can be written: `note` does nothing.
    """

    def __init__(self, engine: Engine, ledger: DatabaseLedger, *, read_only: bool = False) -> None:
        self._engine = engine
        self._ledger = ledger
        self._read_only = read_only
        self._place = place_of(engine)

    def noted(self) -> dict[str, DocumentRecord]:
        """What was noted last, by name: the path within the shop's folder."""
        reading = self._engine.connect().execution_options(reading=True)
        with refusals(self._place), reading as connection:
            return {
                row.name: DocumentRecord(row.digest, row.size)
                for row in connection.execute(select(document))
            }

    def note(self, documents: Mapping[str, DocumentRecord | None]) -> None:
        """Note documents as they are now, None where one is no more; all or none."""
        if not documents or self._read_only:
            return
        rows = [
            {"name": name, "digest": one.digest, "size": one.size}
            for name, one in documents.items()
            if one is not None
        ]
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(delete(document).where(document.c.name.in_(list(documents))))
            if rows:
                connection.execute(insert(document), rows)
            self._ledger.note(connection, "document", [(name,) for name in documents])
