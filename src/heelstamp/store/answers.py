"""Answers kept by the key they were asked under, the same on SQLite and PostgreSQL."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import ColumnElement, Engine, delete, insert, select, update
from sqlalchemy.exc import IntegrityError as ConstraintError

from heelstamp.store.engine import place_of
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import kept_answer


class Answered(NamedTuple):
    """What stands under a key; no status while it is worked on."""

    asked: str
    status: int | None
    headers: str
    body: str


class DatabaseAnswers:
    """The answers of one shop, in the database whose journals were opened before."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._place = place_of(engine)

    def begin(self, account: str, key: str, asked: str, at: datetime) -> Answered | None:
        """Take a key, whole or not at all; what stands under it where it is taken already."""
        values = {"account": account, "key": key, "asked": asked, "at": at}
        with refusals(self._place):
            try:
                with self._engine.begin() as connection:
                    connection.execute(insert(kept_answer).values(values))
            except ConstraintError:
                return self._standing(account, key)
        return None

    def _standing(self, account: str, key: str) -> Answered | None:
        wanted = select(kept_answer).where(*_of(account, key))
        with refusals(self._place), self._engine.connect().execution_options(reading=True) as read:
            row = read.execute(wanted).one_or_none()
        if row is None:  # let go in between: as one that is worked on
            return Answered("", None, "", "")
        return Answered(row.asked, row.status, row.headers or "{}", row.body or "")

    def keep(self, account: str, key: str, *, status: int, headers: str, body: str) -> None:
        """Keep the answer to what a key was taken for."""
        change = update(kept_answer).where(*_of(account, key))
        values = {"status": status, "headers": headers, "body": body}
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(change.values(values))

    def let_go(self, account: str, key: str) -> None:
        """Free a key."""
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(delete(kept_answer).where(*_of(account, key)))

    def forget(self, before: datetime, unanswered: datetime) -> None:
        """Forget answers from before a time, and keys taken before another and never answered."""
        old = kept_answer.c.at < before
        left = kept_answer.c.status.is_(None) & (kept_answer.c.at < unanswered)
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(delete(kept_answer).where(old | left))

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()


def _of(account: str, key: str) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    return kept_answer.c.account == account, kept_answer.c.key == key
