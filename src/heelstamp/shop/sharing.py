"""Signing in to a shop that is shared on its network: accounts, clock and chance joined.

Every token is 256 random bits of the system's generator; the database holds its SHA-256. A name
that nobody has takes as long as a wrong password, and is answered in the same words.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.database import watch_over
from heelstamp.shop.folder import ledger_stamp, open_shop
from heelstamp.shop.settings import DATABASE_FILE, read_settings

if TYPE_CHECKING:
    from heelstamp.casework.sharing import Account, Offer, Passwords, Role, Session
    from heelstamp.store.accounts import DatabaseAccounts

TOKEN_BYTES = 32
CODE_BYTES = 16
NAME_MOST = 60
PROPOSED_FOR = timedelta(minutes=10)
"""How long a secret waits for the first code of its authenticator."""


class SignInRefusedError(InputError):
    """Name and password do not go together."""


class CodeWantedError(SignInRefusedError):
    """The password is right, and this account asks for a code besides."""


class WaitError(ConflictError):
    """Too many tries; *seconds* tells how long to wait."""

    def __init__(self, seconds: int) -> None:
        super().__init__(
            "too many tries",
            remedy=f"Wait {seconds} seconds before the next one.",
            where="signing in",
        )
        self.seconds = seconds


def clock() -> datetime:
    """The time of the machine's clock in UTC."""
    return datetime.now(UTC)


def open_accounts(folder: Path) -> DatabaseAccounts:
    """Open the accounts of the shop in *folder*.

    Raises
    ------
    HeelstampError
        As `heelstamp.shop.opened` does.
    """
    from heelstamp.store.accounts import DatabaseAccounts
    from heelstamp.store.engine import postgres_engine, sqlite_engine
    from heelstamp.store.ledger import DatabaseLedger

    open_shop(folder).close()  # a missing or damaged database is refused there, in its own words
    settings = read_settings(folder)
    engine = (
        postgres_engine(settings.database)
        if settings.database
        else sqlite_engine(folder / DATABASE_FILE)
    )
    try:
        accounts = DatabaseAccounts(engine, DatabaseLedger(engine, ledger_stamp))
        watch_over(engine, folder, settings)
    except BaseException:
        engine.dispose()
        raise
    return accounts


def require_owner(accounts: DatabaseAccounts) -> None:
    """Refuse a shop that nobody could let others into.

    Raises
    ------
    ConflictError
        It has no account with the role *owner*.
    """
    from heelstamp.casework.sharing import Role

    if not any(one.role is Role.OWNER for one in accounts.accounts()):
        raise ConflictError(
            "sharing needs an owner's account first",
            where="serve --share",
            received="no account with the role owner",
            remedy='Make one with: heelstamp account add "examiner A" --role owner.',
        )


class Sharing:
    """The accounts of one shop, at work.

    Parameters
    ----------
    folder
        The shop's folder.
    now
        Gives the time; the machine's clock unless a test brings its own.
    passwords
        Hashes passwords; Argon2id at full strength unless told otherwise.
    """

    def __init__(
        self,
        folder: Path,
        *,
        now: Callable[[], datetime] = clock,
        passwords: Passwords | None = None,
    ) -> None:
        from heelstamp.casework.sharing import Offer, Pairings, Throttle
        from heelstamp.casework.sharing.sessions import IDLE
        from heelstamp.casework.sharing.throttle import Tries
        from heelstamp.store.passwords import Argon2Passwords

        self.examiners = tuple(read_settings(folder).examiners)
        self.store = open_accounts(folder)
        self.now = now
        self._shop = read_settings(folder).name
        proposed = dict[str, tuple[str, datetime]]
        self._proposed = self.store.held("second factors proposed", proposed, dict)
        self._passwords = passwords or Argon2Passwords()
        self._throttle = Throttle(self.store.held("tries", Tries, Tries))
        self._pairings = Pairings(self.store.held("offers", dict[str, Offer], dict))
        self.store.forget(now(), now() - IDLE)

    def close(self) -> None:
        """Let go of the database."""
        self.store.close()

    def add(self, name: str, role: str, password: str) -> Account:
        """Add an account.

        Raises
        ------
        InputError
            Name, role or password cannot be used.
        ConflictError
            There is one of this name.
        """
        from heelstamp.casework.sharing import Account, check_name, check_password, role_named
        from heelstamp.reference.common_passwords import is_common_password

        kind = role_named(role)
        named = check_name(name, kind, self.examiners)
        plain = check_password(password, named, is_common_password)
        made = Account(named, kind, self._passwords.hashed(plain), self.now())
        self.store.add(made)
        return made

    def set_password(self, name: str, password: str) -> None:
        """Change a password; every session of the account ends.

        Raises
        ------
        InputError
            There is no such account, or the password cannot be used.
        """
        from heelstamp.casework.sharing import check_password
        from heelstamp.reference.common_passwords import is_common_password

        plain = check_password(password, name, is_common_password)
        self.store.set_password(name, self._passwords.hashed(plain))

    def change_own(self, session: Session, old: str, new: str, address: str) -> str:
        """Change the password of who is signed in; give the token of a new session.

        Raises
        ------
        SignInRefusedError
            The old password is not right.
        WaitError
            Too many tries.
        """
        self._checked(session.account, old, address)
        self.set_password(session.account, new)
        return self._opened(session.account, session.device)

    def sign_in(self, name: str, password: str, address: str, device: str, code: str = "") -> str:
        """The token of a new session.

        Parameters
        ----------
        code
            Of the account's authenticator, or one to recover by, where it asks for one.
        address
            Where the request came from; tries are counted for it.
        device
            What the browser calls itself.

        Raises
        ------
        SignInRefusedError
            Name and password do not go together; the same for a name that nobody has.
        CodeWantedError
            A code is wanted, or the one that came does not serve.
        WaitError
            Too many tries.
        """
        return self._opened(self._checked(name, password, address, code), device)

    def asks_code(self, name: str) -> bool:
        """Whether an account asks for a code."""
        return self.store.second_factor(name) is not None

    def propose_second_factor(self, who: Session) -> tuple[str, str]:
        """A new secret and its address for an authenticator; it holds once it is confirmed."""
        import pyotp

        from heelstamp.casework.sharing.second_factor import address_for

        at, secret = self.now(), pyotp.random_base32()
        with self._proposed() as proposed:
            for digest in [one for one, (_, until) in proposed.items() if until <= at]:
                del proposed[digest]
            proposed[who.digest] = secret, at + PROPOSED_FOR
        return secret, address_for(secret, who.account, self._shop)

    def confirm_second_factor(
        self, who: Session, code: str, password: str, address: str
    ) -> tuple[str, ...]:
        """Ask for a code from now on; give the codes to recover by, which are shown once.

        Raises
        ------
        ConflictError
            No secret was proposed to this device in the last minutes.
        InputError
            The code is not of this secret, or of another time.
        SignInRefusedError
            The password is not right.
        WaitError
            Too many tries.
        """
        from heelstamp.casework.sharing import SecondFactor
        from heelstamp.casework.sharing.second_factor import (
            RECOVERY_CODES,
            RECOVERY_LETTERS,
            in_groups,
            recovery_digest,
            step_of,
        )

        with self._proposed() as proposed:
            secret, until = proposed.get(who.digest, ("", self.now()))
        if not secret or until <= self.now():
            raise ConflictError("nothing was proposed to this device", remedy="Begin anew.")
        self._checked(who.account, password, address)
        step = step_of(secret, code, self.now())
        if step is None:
            raise InputError(
                "this code is not the authenticator's of now",
                where="code",
                remedy="Set the clock of both devices, then give the code that is shown now.",
            )
        import pyotp

        made = [pyotp.random_base32()[:RECOVERY_LETTERS] for _ in range(RECOVERY_CODES)]
        factor = SecondFactor(who.account, secret, step, self.now())
        self.store.set_second_factor(factor, [recovery_digest(who.account, one) for one in made])
        with self._proposed() as proposed:
            proposed.pop(who.digest, None)
        return tuple(in_groups(one) for one in made)

    def end_second_factor(self, who: Session, password: str, address: str) -> None:
        """Ask for no code any more.

        Raises
        ------
        SignInRefusedError
            The password is not right.
        WaitError
            Too many tries.
        """
        self._checked(who.account, password, address)
        self.store.end_second_factor(who.account)

    def _require_code(self, name: str, code: str) -> None:
        from heelstamp.casework.sharing.second_factor import recovery_digest, step_of

        factor = self.store.second_factor(name)
        if factor is None:
            return
        step = step_of(factor.secret, code, self.now(), after=factor.last_step)
        if step is not None and self.store.use_step(name, step):
            return
        if self.store.use_recovery(name, recovery_digest(name, code)):
            return
        raise CodeWantedError(
            "this code does not serve" if code.strip() else "this account asks for a code",
            where="signing in",
            remedy="Give the code that the authenticator shows now, or one to recover by.",
        )

    def _checked(self, name: str, password: str, address: str, code: str | None = None) -> str:
        import unicodedata

        named = name.strip()[:NAME_MOST]
        wait = self._throttle.attempt(named, address, self.now())
        if wait:
            raise WaitError(wait)
        account = self.store.account(named)
        plain = unicodedata.normalize("NFC", password)
        if not self._passwords.fits(None if account is None else account.password, plain):
            raise SignInRefusedError(
                "name and password do not go together",
                where="signing in",
                remedy="Try again, or ask the shop's owner for a new password.",
            )
        if code is not None:
            self._require_code(named, code)
        self._throttle.passed(named, address)
        return named

    def _opened(self, name: str, device: str, *, paired: bool = False) -> str:
        from heelstamp.casework.sharing import new_session

        account = self.store.account(name)
        if account is None:
            raise InputError("there is no such account any more", received=name)
        token = secrets.token_urlsafe(TOKEN_BYTES)
        self.store.keep(new_session(account, token, device, self.now(), paired=paired))
        return token

    def who(self, token: str) -> Session | None:
        """The session of a token, if it stands."""
        from heelstamp.archive import sha256
        from heelstamp.casework.sharing import refreshed, stands

        if not token or not token.isascii() or len(token) > 2 * TOKEN_BYTES:
            return None
        session = self.store.session(sha256(token.encode()))
        if session is None:
            return None
        at = self.now()
        if not stands(session, at):
            self.store.end(session.digest)
            return None
        used = refreshed(session, at)
        if used is not None:
            self.store.used(used.digest, at)
        return used or session

    def holds(self, digest: str) -> bool:
        """Whether a session still stands; to ask is no use of it."""
        from heelstamp.casework.sharing import stands

        session = self.store.session(digest)
        return session is not None and stands(session, self.now())

    def standing(self) -> tuple[Session, ...]:
        """All sessions that hold, the last used first."""
        from heelstamp.casework.sharing import stands

        at = self.now()
        return tuple(one for one in self.store.sessions() if stands(one, at))

    def end(self, digest: str, who: Session) -> None:
        """End a session: an owner any, everybody else one of their own.

        Raises
        ------
        InputError
            There is none of this digest that *who* may end.
        """
        from heelstamp.casework.sharing import Role

        found = self.store.session(digest)
        own = found is not None and found.account == who.account
        if found is None or not (own or who.role is Role.OWNER):
            raise InputError("there is no such session", received=digest[:16])
        self.store.end(digest)

    def offer(self, who: Session) -> Offer:
        """Offer a code for pairing a device with the account that is signed in."""
        code = secrets.token_urlsafe(CODE_BYTES)
        return self._pairings.open(code, who.account, who.digest, self.now())

    def offered(self, who: Session) -> Offer | None:
        """The offer of this desk that stands."""
        return self._pairings.of_desk(who.digest, self.now())

    def is_good(self, code: str) -> bool:
        """Whether a code may still be asked for."""
        return self._pairings.of_code(code, self.now()) is not None

    def claim(self, code: str, device: str) -> Offer:
        """Ask with a code, once; the offer then holds the claim and the four digits."""
        digits = f"{secrets.randbelow(10_000):04d}"
        token = secrets.token_urlsafe(TOKEN_BYTES)
        return self._pairings.claim(code, token, digits, device[:NAME_MOST], self.now())

    def confirm(self, who: Session, check: str) -> None:
        """Let in the device that shows these digits."""
        self._pairings.confirm(who.digest, check, self.now())

    def refuse(self, who: Session) -> None:
        """End the offer of this desk."""
        self._pairings.refuse(who.digest)

    def asked(self, claim: str) -> Offer | None:
        """The offer that a device has asked for."""
        return self._pairings.asked(claim, self.now())

    def collect(self, claim: str) -> str | None:
        """The token of a device that was let in, once; None while nobody has decided.

        Raises
        ------
        ConflictError
            The offer ended, or the desk that made it is no longer signed in.
        """
        from heelstamp.casework.sharing import stands

        offer = self._pairings.collect(claim, self.now())
        if offer is None:
            return None
        desk = self.store.session(offer.session)
        if desk is None or not stands(desk, self.now()):
            raise ConflictError("the desk that showed this code has signed out")
        return self._opened(offer.account, offer.device, paired=True)

    def roles(self) -> tuple[Role, ...]:
        """Roles that an account can have."""
        from heelstamp.casework.sharing.accounts import ACCOUNT_ROLES

        return ACCOUNT_ROLES
