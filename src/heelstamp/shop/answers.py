"""Answers to programs, kept by key for a day, so that what is sent twice is done once."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, NamedTuple

from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.database import opened_engine
from heelstamp.shop.sharing import clock

if TYPE_CHECKING:
    from heelstamp.store.answers import DatabaseAnswers

KEPT_FOR = timedelta(days=1)
GIVEN_UP_AFTER = timedelta(minutes=10)
"""After it a key that was never answered is free again: its process died. What it was for is done
once all the same, since entries have ids of their own."""


class Kept(NamedTuple):
    """An answer as it was given."""

    status: int
    headers: Mapping[str, str]
    body: str


class KeptAnswers:
    """The kept answers of the shop in *folder*; its database is opened with the first key."""

    def __init__(self, folder: Path, now: Callable[[], datetime] = clock) -> None:
        self._folder = folder
        self._now = now
        self._store: DatabaseAnswers | None = None
        self._opening = Lock()

    def begin(self, account: str, key: str, asked: str) -> Kept | None:
        """Take a key for what is *asked*, by its digest; the answer it had where it was taken.

        Raises
        ------
        InputError
            It was taken for something else.
        ConflictError
            What it was taken for is still worked on.
        """
        store, at = self._opened(), self._now()
        store.forget(at - KEPT_FOR, at - GIVEN_UP_AFTER)
        found = store.begin(account, key, asked, at)
        if found is None:
            return None
        if found.status is None:
            raise ConflictError(
                "what this key was sent with is still worked on",
                where="Idempotency-Key",
                received=key,
                remedy="Send it again in a moment.",
            )
        if found.asked != asked:
            raise InputError(
                "this key was sent before with something else",
                where="Idempotency-Key",
                received=key,
                remedy="Send another key with it.",
            )
        return Kept(found.status, json.loads(found.headers), found.body)

    def keep(self, account: str, key: str, status: int, headers: str, body: str) -> None:
        """Keep the answer to what a key was taken for."""
        self._opened().keep(account, key, status=status, headers=headers, body=body)

    def let_go(self, account: str, key: str) -> None:
        """Free a key: what it was taken for was refused, and changed nothing."""
        self._opened().let_go(account, key)

    def close(self) -> None:
        """Let go of the database."""
        if self._store is not None:
            self._store.close()

    def _opened(self) -> DatabaseAnswers:
        from heelstamp.store.answers import DatabaseAnswers

        with self._opening:
            if self._store is None:
                self._store = DatabaseAnswers(opened_engine(self._folder))
            return self._store
