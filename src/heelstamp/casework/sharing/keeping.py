"""The port that keeps accounts and sessions."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from heelstamp.casework.sharing.accounts import Account
from heelstamp.casework.sharing.second_factor import SecondFactor
from heelstamp.casework.sharing.sessions import Session
from heelstamp.casework.sharing.tokens import Token


class AccountStore(Protocol):
    """Keeps accounts and the sessions opened with them."""

    def accounts(self) -> tuple[Account, ...]:
        """All accounts by name."""
        ...

    def account(self, name: str) -> Account | None:
        """The account of this name."""
        ...

    def add(self, account: Account) -> None:
        """Add an account; raises ConflictError where one of that name is kept already."""
        ...

    def set_password(self, name: str, password: str) -> None:
        """Change what is kept of a password; end every session and token of the account with it.

        Raises
        ------
        InputError
            There is no such account.
        """
        ...

    def remove(self, name: str) -> None:
        """Remove an account, its sessions and its tokens.

        Raises
        ------
        InputError
            There is no such account.
        ConflictError
            It is the last owner's.
        """
        ...

    def second_factor(self, name: str) -> SecondFactor | None:
        """The second factor of an account, if it asks for one."""
        ...

    def set_second_factor(self, new: SecondFactor, recovery: Sequence[str]) -> None:
        """Keep a second factor in the place of an earlier one, with digests of recovery codes.

        Raises
        ------
        InputError
            There is no such account.
        """
        ...

    def end_second_factor(self, name: str) -> bool:
        """Take a second factor away, with its recovery codes; tell whether there was one."""
        ...

    def use_step(self, name: str, step: int) -> bool:
        """Use a step up; False where it, or a later one, was used before."""
        ...

    def use_recovery(self, name: str, digest: str) -> bool:
        """Use a recovery code up; False where there is none of this digest."""
        ...

    def keep(self, session: Session) -> None:
        """Keep a new session."""
        ...

    def session(self, digest: str) -> Session | None:
        """The session of this digest."""
        ...

    def sessions(self) -> tuple[Session, ...]:
        """All sessions, the last used first."""
        ...

    def used(self, digest: str, at: datetime) -> None:
        """Note that a session was used."""
        ...

    def end(self, digest: str) -> None:
        """End a session; one that is gone already is no fault."""
        ...

    def keep_token(self, token: Token) -> None:
        """Keep a new token."""
        ...

    def token(self, digest: str) -> Token | None:
        """The token of this digest."""
        ...

    def tokens(self) -> tuple[Token, ...]:
        """All tokens, by account and name."""
        ...

    def end_token(self, digest: str) -> bool:
        """End a token; tell whether there was one."""
        ...

    def forget(self, until: datetime, seen: datetime) -> None:
        """Forget the sessions that ended by *until*, or that were last used before *seen*."""
        ...
