"""Accounts, sessions and tokens in a database, the same on SQLite and PostgreSQL.

A change of password and the end of the account's sessions are one transaction: there is no moment
in which the old sessions outlive the old password. Owners are locked while one is removed, so that
two removals at once cannot leave a shop without any.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, Engine, Row, delete, insert, or_, select, update
from sqlalchemy.exc import IntegrityError as ConstraintError

from heelstamp.casework.sharing import Account, Role, SecondFactor, Session, Token
from heelstamp.casework.sharing.held_state import Held, in_process
from heelstamp.errors import ConflictError, InputError
from heelstamp.store.engine import place_of
from heelstamp.store.held_state import in_database
from heelstamp.store.ledger import DatabaseLedger
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import account, recovery_code, second_factor, session, token
from heelstamp.store.versions import bring_up_to_date

PAIRED_BEFORE = "second hand"
"""What older sessions of paired devices are kept under; they end within a day."""


class DatabaseAccounts:
    """The accounts of one shop.

    Parameters
    ----------
    engine
        From `heelstamp.store.engine`; its schema is brought up to date at once.

    Raises
    ------
    ConflictError
        The database was made by a newer Heelstamp.
    StorageError
        It cannot be opened or written.
    """

    def __init__(self, engine: Engine, ledger: DatabaseLedger) -> None:
        self._engine = engine
        self._ledger = ledger
        self._place = place_of(engine)
        bring_up_to_date(engine)
        ledger.begin()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def held(self, name: str, kind: Any, fresh: Callable[[], Any]) -> Held[Any]:
        """Where a state is held that requests change in turn: where all that serve the shop are."""
        if self._engine.dialect.name == "postgresql":
            return in_database(self._engine, name, kind, fresh)
        return in_process(fresh())

    def accounts(self) -> tuple[Account, ...]:
        """All accounts by name."""
        with refusals(self._place), self._reading() as connection:
            rows = connection.execute(select(account)).all()
        return tuple(sorted((_account(row) for row in rows), key=lambda one: one.name))

    def account(self, name: str) -> Account | None:
        """The account of this name."""
        if not name.isprintable():  # no account has such a name, and PostgreSQL takes no NUL
            return None
        with refusals(self._place), self._reading() as connection:
            row = connection.execute(select(account).where(account.c.name == name)).one_or_none()
        return None if row is None else _account(row)

    def add(self, new: Account) -> None:
        """Add an account; see `heelstamp.casework.sharing.AccountStore.add`."""
        values = {
            "name": new.name,
            "role": new.role.value,
            "password": new.password,
            "made": new.made,
        }
        with refusals(self._place):
            try:
                with self._engine.begin() as connection:
                    connection.execute(insert(account).values(values))
                    self._ledger.note(connection, "account", [(new.name,)])
            except ConstraintError:
                raise ConflictError(
                    "there is an account of this name already",
                    received=new.name,
                    remedy="Change its password, or take another name.",
                ) from None

    def set_password(self, name: str, password: str) -> None:
        """Change what is kept of a password, and end the account's sessions and tokens with it."""
        if not name.isprintable():
            raise _unknown(name)
        change = update(account).where(account.c.name == name).values(password=password)
        with refusals(self._place), self._engine.begin() as connection:
            if not connection.execute(change).rowcount:
                raise _unknown(name)
            connection.execute(delete(session).where(session.c.account == name))
            self._ledger.note(connection, "account", [(name,)])
            self._end_tokens(connection, token.c.account == name)

    def remove(self, name: str) -> None:
        """Remove an account and its sessions; never the last owner's."""
        if not name.isprintable():
            raise _unknown(name)
        owners = select(account.c.name).where(account.c.role == Role.OWNER.value).with_for_update()
        with refusals(self._place), self._engine.begin() as connection:
            if list(connection.scalars(owners)) == [name]:
                raise ConflictError(
                    "this is the last owner", received=name, remedy="Add another owner first."
                )
            self._end_tokens(connection, token.c.account == name)
            factor = connection.execute(
                delete(second_factor).where(second_factor.c.account == name)
            ).rowcount
            if not connection.execute(delete(account).where(account.c.name == name)).rowcount:
                raise _unknown(name)
            self._ledger.note(connection, "account", [(name,)])
            if factor:
                self._ledger.note(connection, "second_factor", [(name,)])

    def second_factor(self, name: str) -> SecondFactor | None:
        """The second factor of an account, if it asks for one."""
        if not name.isprintable():
            return None
        wanted = select(second_factor).where(second_factor.c.account == name)
        with refusals(self._place), self._reading() as connection:
            row = connection.execute(wanted).one_or_none()
        return None if row is None else SecondFactor(*row)

    def set_second_factor(self, new: SecondFactor, recovery: Sequence[str]) -> None:
        """Keep a second factor in the place of an earlier one, with digests of recovery codes."""
        values = {
            "account": new.account,
            "secret": new.secret,
            "last_step": new.last_step,
            "made": new.made,
        }
        codes = [{"account": new.account, "digest": one} for one in recovery]
        old = delete(second_factor).where(second_factor.c.account == new.account)
        with refusals(self._place):
            try:
                with self._engine.begin() as connection:
                    connection.execute(old)
                    connection.execute(insert(second_factor).values(values))
                    connection.execute(insert(recovery_code), codes)
                    self._ledger.note(connection, "second_factor", [(new.account,)])
            except ConstraintError:
                raise _unknown(new.account) from None

    def end_second_factor(self, name: str) -> bool:
        """Take a second factor away, with its recovery codes; tell whether there was one."""
        if not name.isprintable():
            return False
        old = delete(second_factor).where(second_factor.c.account == name)
        with refusals(self._place), self._engine.begin() as connection:
            gone = bool(connection.execute(old).rowcount)
            if gone:
                self._ledger.note(connection, "second_factor", [(name,)])
        return gone

    def use_step(self, name: str, step: int) -> bool:
        """Use a step up; False where it, or a later one, was used before."""
        used = (
            update(second_factor)
            .where(second_factor.c.account == name, second_factor.c.last_step < step)
            .values(last_step=step)
        )
        with refusals(self._place), self._engine.begin() as connection:
            return bool(connection.execute(used).rowcount)

    def use_recovery(self, name: str, digest: str) -> bool:
        """Use a recovery code up; False where there is none of this digest."""
        used = delete(recovery_code).where(
            recovery_code.c.account == name, recovery_code.c.digest == digest
        )
        with refusals(self._place), self._engine.begin() as connection:
            return bool(connection.execute(used).rowcount)

    def keep(self, new: Session) -> None:
        """Keep a new session.

        Raises
        ------
        InputError
            Its account was removed in between.
        """
        values = {
            "digest": new.digest,
            "account": new.account,
            "role": new.role.value,
            "device": new.device,
            "made": new.made,
            "seen": new.seen,
            "until": new.until,
        }
        with refusals(self._place):
            try:
                with self._engine.begin() as connection:
                    connection.execute(insert(session).values(values))
            except ConstraintError:
                raise _unknown(new.account) from None

    def session(self, digest: str) -> Session | None:
        """The session of this digest."""
        wanted = select(session).where(session.c.digest == digest)
        with refusals(self._place), self._reading() as connection:
            row = connection.execute(wanted).one_or_none()
        return None if row is None else _session(row)

    def sessions(self) -> tuple[Session, ...]:
        """All sessions, the last used first."""
        wanted = select(session).order_by(session.c.seen.desc(), session.c.digest)
        with refusals(self._place), self._reading() as connection:
            return tuple(_session(row) for row in connection.execute(wanted))

    def used(self, digest: str, at: datetime) -> None:
        """Note that a session was used."""
        self._change(update(session).where(session.c.digest == digest).values(seen=at))

    def end(self, digest: str) -> None:
        """End a session; one that is gone already is no fault."""
        self._change(delete(session).where(session.c.digest == digest))

    def keep_token(self, new: Token) -> None:
        """Keep a new token."""
        values = {
            "digest": new.digest,
            "account": new.account,
            "name": new.name,
            "scopes": " ".join(new.scopes),
            "made": new.made,
            "until": new.until,
        }
        with refusals(self._place):
            try:
                with self._engine.begin() as connection:
                    connection.execute(insert(token).values(values))
                    self._ledger.note(connection, "token", [(new.digest,)])
            except ConstraintError:
                raise _unknown(new.account) from None

    def token(self, digest: str) -> Token | None:
        """The token of this digest."""
        wanted = select(token).where(token.c.digest == digest)
        with refusals(self._place), self._reading() as connection:
            row = connection.execute(wanted).one_or_none()
        return None if row is None else _token(row)

    def tokens(self) -> tuple[Token, ...]:
        """All tokens, by account and name."""
        with refusals(self._place), self._reading() as connection:
            found = [_token(row) for row in connection.execute(select(token))]
        return tuple(sorted(found, key=lambda one: (one.account, one.name, one.digest)))

    def end_token(self, digest: str) -> bool:
        """End a token; tell whether there was one."""
        with refusals(self._place), self._engine.begin() as connection:
            return bool(self._end_tokens(connection, token.c.digest == digest))

    def _end_tokens(self, connection: Connection, which: ColumnElement[bool]) -> int:
        gone = list(connection.scalars(select(token.c.digest).where(which)))
        connection.execute(delete(token).where(which))
        self._ledger.note(connection, "token", [(one,) for one in gone])
        return len(gone)

    def forget(self, until: datetime, seen: datetime) -> None:
        """Forget the sessions that ended by *until*, or that were last used before *seen*."""
        old = or_(session.c.until <= until, session.c.seen < seen)
        self._change(delete(session).where(old))

    def _change(self, statement: Any) -> None:
        with refusals(self._place), self._engine.begin() as connection:
            connection.execute(statement)

    def _reading(self) -> Connection:
        return self._engine.connect().execution_options(reading=True)


def _account(row: Row[Any]) -> Account:
    return Account(row.name, Role(row.role), row.password, row.made)


def _session(row: Row[Any]) -> Session:
    return Session(
        row.digest,
        row.account,
        Role.PAIRED_DEVICE if row.role == PAIRED_BEFORE else Role(row.role),
        row.device,
        row.made,
        row.seen,
        row.until,
    )


def _token(row: Row[Any]) -> Token:
    scopes = tuple(row.scopes.split())
    return Token(row.digest, row.account, row.name, scopes, row.made, row.until)


def _unknown(name: str) -> InputError:
    return InputError("there is no such account", received=ascii(name), remedy="List them.")
