"""Webhooks in a database, and whom of them is still to be told of what.

What is due is written in the transaction that makes the entries (`note_due`): an entry that is
acknowledged is told of, however soon the machine stops. One process at a time sends to a webhook:
it holds the row until a time, so that what a dead one held is free again. The same on SQLite and
PostgreSQL.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, Engine, delete, func, insert, or_, select, text, update

from heelstamp.casework.sharing.webhooks import Webhook
from heelstamp.store.engine import place_of
from heelstamp.store.ledger import DatabaseLedger
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import webhook, webhook_due

_NOTE = text(
    "INSERT INTO webhook_due (webhook, tag, length) SELECT id, :tag, :length FROM webhook "
    "WHERE true ON CONFLICT (webhook, tag) DO UPDATE SET length = excluded.length"
)


class Due(NamedTuple):
    """A dossier to be told of, at the length it had."""

    tag: str
    length: int


def note_due(connection: Connection, lengths: Iterable[tuple[str, int]]) -> None:
    """Let every webhook be told of dossiers, in the transaction that made their entries."""
    for tag, length in lengths:
        connection.execute(_NOTE, {"tag": tag, "length": length})


class DatabaseWebhooks:
    """The webhooks of one shop, in the database whose journals were opened before."""

    def __init__(self, engine: Engine, ledger: DatabaseLedger) -> None:
        self._engine = engine
        self._ledger = ledger
        self._place = place_of(engine)

    def add(self, one: Webhook) -> None:
        """Keep a webhook; from now on entries are told to it."""
        values = {
            "id": one.id,
            "name": one.name,
            "url": one.url,
            "secret": one.secret,
            "private": one.private,
            "made": one.made,
            "tries": 0,
            "error": "",
            "stopped": False,
        }
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(insert(webhook).values(values))
            self._ledger.note(connection, "webhook", [(one.id,)])

    def end(self, id_: str) -> bool:
        """Take a webhook out; tell whether there was one."""
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(delete(webhook_due).where(webhook_due.c.webhook == id_))
            gone = connection.execute(delete(webhook).where(webhook.c.id == id_)).rowcount
            if gone:
                self._ledger.note(connection, "webhook", [(id_,)])
        return bool(gone)

    def all(self) -> tuple[Webhook, ...]:
        """Every webhook, the oldest first, with how many dossiers wait for it."""
        waiting = (
            select(func.count())
            .where(webhook_due.c.webhook == webhook.c.id)
            .scalar_subquery()
            .label("waiting")
        )
        wanted = select(webhook, waiting).order_by(webhook.c.made, webhook.c.id)
        with refusals(self._place), self._engine.connect().execution_options(reading=True) as read:
            return tuple(_webhook(row) for row in read.execute(wanted))

    def take(
        self, at: datetime, until: datetime, *, without: Collection[str] = ()
    ) -> Webhook | None:
        """Hold one webhook that has something due, for this process alone; None without any."""
        free = or_(webhook.c.held_until.is_(None), webhook.c.held_until <= at)
        ripe = or_(webhook.c.after.is_(None), webhook.c.after <= at)
        due = select(webhook_due.c.tag).where(webhook_due.c.webhook == webhook.c.id).exists()
        others = webhook.c.id.not_in(without)
        wanted = select(webhook).where(webhook.c.stopped.is_(False), free, ripe, others, due)
        wanted = wanted.order_by(webhook.c.made).limit(1)
        with refusals(self._place):
            with self._engine.connect().execution_options(reading=True) as read:
                if read.execute(wanted).first() is None:
                    return None  # the usual case takes no lock
            with self._engine.begin() as connection:
                row = connection.execute(wanted.with_for_update(skip_locked=True)).one_or_none()
                if row is None:
                    return None
                self._set(connection, row.id, held_until=until)
        return _webhook(row)

    def due(self, id_: str, most: int) -> tuple[Due, ...]:
        """Some of what is due to a webhook."""
        wanted = (
            select(webhook_due.c.tag, webhook_due.c.length)
            .where(webhook_due.c.webhook == id_)
            .order_by(webhook_due.c.tag)
            .limit(most)
        )
        with refusals(self._place), self._engine.connect().execution_options(reading=True) as read:
            return tuple(Due(*row) for row in read.execute(wanted))

    def told(self, id_: str, due: Due, until: datetime) -> None:
        """A message arrived: it is due no more, unless the dossier grew in between."""
        same = (
            webhook_due.c.webhook == id_,
            webhook_due.c.tag == due.tag,
            webhook_due.c.length == due.length,
        )
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(delete(webhook_due).where(*same))
            self._set(connection, id_, held_until=until, tries=0, since=None, after=None, error="")

    def failed(
        self, id_: str, tries: int, since: datetime, after: datetime | None, error: str
    ) -> None:
        """A message did not arrive; *after* None stops the webhook."""
        with refusals(self._place), self._engine.begin() as connection:
            self._set(
                connection,
                id_,
                held_until=None,
                tries=tries,
                since=since,
                after=after,
                error=error,
                stopped=after is None,
            )

    def let_go(self, id_: str) -> None:
        """Hold a webhook no more."""
        with refusals(self._place), self._engine.begin() as connection:
            self._set(connection, id_, held_until=None)

    def again(self, id_: str) -> None:
        """Send anew to a webhook that failed or was stopped."""
        with refusals(self._place), self._engine.begin() as connection:
            self._set(connection, id_, tries=0, since=None, after=None, error="", stopped=False)

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @staticmethod
    def _set(connection: Connection, id_: str, **values: Any) -> None:
        connection.execute(update(webhook).where(webhook.c.id == id_).values(values))


def _webhook(row: Any) -> Webhook:
    return Webhook(
        row.id,
        row.name,
        row.url,
        row.secret,
        row.private,
        row.made,
        row.tries,
        row.since,
        row.after,
        row.error,
        row.stopped,
        getattr(row, "waiting", 0),
    )
