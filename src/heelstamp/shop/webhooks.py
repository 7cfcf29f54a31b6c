"""Webhooks of a shop: made, listed and ended by its owner, and told of what was entered.

Whatever serves the shop sends; of several servers each webhook is sent to by one at a time. What
could not be sent waits in the database, and is sent by whoever comes next.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Lock, Thread
from typing import TYPE_CHECKING, NamedTuple

from heelstamp.errors import HeelstampError, InputError
from heelstamp.shop.database import is_read_only, opened_engine
from heelstamp.shop.folder import ledger_stamp

if TYPE_CHECKING:
    from heelstamp.casework.sharing.webhooks import Webhook
    from heelstamp.shop.posting import Answer
    from heelstamp.store.webhooks import DatabaseWebhooks, Due

HELD = timedelta(minutes=2)
"""How long a process holds a webhook; longer than any one message takes."""
AT_ONCE = 100
"""Messages sent before another webhook has its turn."""
EVERY_S = 1.0
"""Seconds between two looks for what is due."""
GONE = 410
"""Status by which a receiver wants no more (RFC 9110, 15.5.11): stopped at once."""

Post = Callable[..., "Answer"]


class _Failure(NamedTuple):
    """Why a message did not arrive, what pause was asked for, and whether no more is wanted."""

    told: str
    asked: timedelta | None = None
    gone: bool = False


class Webhooks:
    """The webhooks of the shop in *folder*; its database is opened when it is first needed.

    Parameters
    ----------
    now
        Gives the time; the machine's clock unless a test brings its own.
    post
        Posts a message; over the network unless a test brings its own.
    """

    def __init__(
        self,
        folder: Path,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
        post: Post | None = None,
    ) -> None:
        self._folder, self._now, self._post = folder, now, post
        self._opened: DatabaseWebhooks | None = None
        self._opening = Lock()
        self._ended = Event()
        self._sender: Thread | None = None

    @property
    def store(self) -> DatabaseWebhooks:
        """Where they are kept."""
        from heelstamp.store.ledger import DatabaseLedger
        from heelstamp.store.webhooks import DatabaseWebhooks

        with self._opening:
            if self._opened is None:
                engine = opened_engine(self._folder)
                self._opened = DatabaseWebhooks(engine, DatabaseLedger(engine, ledger_stamp))
            return self._opened

    def add(self, name: str, url: str, *, private: bool = False) -> Webhook:
        """Make a webhook; its secret is shown to a person once.

        Raises
        ------
        InputError
            A name or an address that cannot be used.
        """
        from heelstamp.casework.sharing.webhooks import SECRET_BYTES, new_webhook

        made = new_webhook(
            secrets.token_hex(6),
            secrets.token_bytes(SECRET_BYTES),
            name,
            url,
            private=private,
            at=self._now(),
        )
        self.store.add(made)
        return made

    def all(self) -> tuple[Webhook, ...]:
        """Every webhook, the oldest first."""
        return self.store.all()

    def named(self, id_: str) -> Webhook:
        """The webhook of an id.

        Raises
        ------
        InputError
            There is none.
        """
        found = next((one for one in self.all() if one.id == id_), None)
        if found is None:
            raise InputError(
                "there is no such webhook", where="webhook", received=id_, remedy="List them."
            )
        return found

    def end(self, id_: str) -> Webhook:
        """Take a webhook out, with what still waits for it.

        Raises
        ------
        InputError
            There is none of this id.
        """
        found = self.named(id_)
        self.store.end(found.id)
        return found

    def again(self, id_: str) -> Webhook:
        """Send anew to a webhook that failed or was stopped.

        Raises
        ------
        InputError
            There is none of this id.
        """
        found = self.named(id_)
        self.store.again(found.id)
        return found

    def send_due(self) -> int:
        """Send what is due, to each webhook in turn; how many messages arrived."""
        arrived, seen = 0, list[str]()
        while not self._ended.is_set():
            at = self._now()
            taken = self.store.take(at, at + HELD, without=seen)
            if taken is None:
                break
            seen.append(taken.id)
            arrived += self._send_to(taken)
        return arrived

    def start(self) -> None:
        """Send beside the requests until `close`; a shop that can only be read sends nothing."""
        if not is_read_only(self._folder):
            with suppress(HeelstampError):  # a database that is away is opened when it is back
                _ = self.store
            self._sender = Thread(target=self._keep_sending, name="webhooks", daemon=True)
            self._sender.start()

    def close(self) -> None:
        """Send nothing more, and let go of the database."""
        self._ended.set()
        if self._sender is not None:
            self._sender.join()
        if self._opened is not None:
            self._opened.close()

    def _keep_sending(self) -> None:
        while not self._ended.wait(EVERY_S):
            try:
                self.send_due()
            except HeelstampError:  # the database is away: the next look will tell
                continue

    def _send_to(self, one: Webhook) -> int:
        """Send some of what is due to a webhook that is held; the first failure ends it."""
        arrived = 0
        for due in self.store.due(one.id, AT_ONCE):
            if self._ended.is_set():
                break
            at = self._now()
            failure = self._send(one, due, at)
            if failure is not None:
                self._note_failure(
                    one if not arrived else replace(one, tries=0, since=None), at, failure
                )
                return arrived
            arrived += 1
            self.store.told(one.id, due, self._now() + HELD)
        self.store.let_go(one.id)
        return arrived

    def _send(self, one: Webhook, due: Due, at: datetime) -> _Failure | None:
        from heelstamp.casework.sharing.webhooks import message_of, signed_headers
        from heelstamp.shop.posting import post

        message = message_of(one.id, due.tag, due.length, at)
        headers = signed_headers(one.secret, message, at)
        try:
            answer = (self._post or post)(one.url, message.body, headers, private=one.private)
        except HeelstampError as error:
            return _Failure(str(error))
        if 200 <= answer.status < 300:
            return None
        asked = None if answer.retry_after is None else timedelta(seconds=answer.retry_after)
        return _Failure(f"answered with status {answer.status}", asked, answer.status == GONE)

    def _note_failure(self, one: Webhook, at: datetime, failure: _Failure) -> None:
        from heelstamp.casework.sharing.webhooks import pause_after

        tries = one.tries + 1
        pause = None if failure.gone else pause_after(tries, failure.asked)
        after = None if pause is None else at + pause
        self.store.failed(one.id, tries, one.since or at, after, failure.told)
