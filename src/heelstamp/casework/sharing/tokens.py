"""Tokens: the way in for other programs, each of one account and for no more than it needs.

A token is 256 random bits that the program sends with each request (RFC 6750, 2.1); only its
SHA-256 is kept, and it is shown once. What it may do is what its account may, within its scopes
(RFC 6749, 3.3): to look is always one of them. It opens the JSON API and no page, and ends on its
day, when it is ended, when its account's password changes or its account is removed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from heelstamp.archive import sha256
from heelstamp.casework.sharing.accounts import NAME_MAX, Account, Role
from heelstamp.casework.sharing.sessions import Session
from heelstamp.catalogue.conversion import nearest
from heelstamp.errors import InputError

LOOK, ENTER, SUMS = "look", "enter", "sums"
SCOPES = {
    LOOK: "see dossiers, photographs and findings",
    ENTER: "make entries, send photographs, open dossiers",
    SUMS: "see sums of money; with enter, all that the account may enter, and issue papers",
}
"""Scopes, and what each lets a program do."""
DAYS_LEAST, DAYS_MOST, DAYS_USUAL = 1, 730, 90
"""Days that a token lasts: ours; a forgotten one ends by itself."""


@dataclass(frozen=True, slots=True)
class Token:
    """One program's way in.

    Attributes
    ----------
    digest
        SHA-256 of the token, hexadecimal.
    account
        Name of the account: the role that signs.
    name
        What the shop calls the program.
    scopes
        Of `SCOPES`, in their order; *look* is always among them.
    """

    digest: str
    account: str
    name: str
    scopes: tuple[str, ...]
    made: datetime
    until: datetime


def new_token(
    account: Account, token: str, name: str, *, scopes: Iterable[str], at: datetime, days: int
) -> Token:
    """Make a token of an account.

    Raises
    ------
    InputError
        A name, a scope or a number of days that cannot be used.
    """
    named, asked = name.strip(), set(scopes)
    if not named or len(named) > NAME_MAX or not named.isprintable():
        raise InputError(
            "a token is named by what uses it, in plain text",
            where="name",
            received=ascii(name),
            remedy=f"Use 1 to {NAME_MAX} characters, as bookkeeping.",
        )
    unknown = sorted(asked - set(SCOPES))
    if unknown:
        raise InputError(
            "no such scope", where="scope", received=unknown[0], remedy=nearest(unknown[0], SCOPES)
        )
    if not DAYS_LEAST <= days <= DAYS_MOST:
        raise InputError(
            "a token lasts some days",
            where="days",
            received=days,
            remedy=f"Give {DAYS_LEAST} to {DAYS_MOST}.",
        )
    kept = tuple(one for one in SCOPES if one == LOOK or one in asked)
    until = at + timedelta(days=days)
    return Token(sha256(token.encode()), account.name, named, kept, at, until)


def acting(token: Token, role: Role) -> Session:
    """Who a program is while it holds *token*, whose account has *role*.

    Without the scope *sums* it is no more than a paired device, which sees none.
    """
    held = role if SUMS in token.scopes or not role.may(Role.PAIRED_DEVICE) else Role.PAIRED_DEVICE
    return Session(
        token.digest, token.account, held, token.name, token.made, token.made, token.until
    )
