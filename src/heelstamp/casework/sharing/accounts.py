"""Accounts of a shop: a role that signs, what it may do, and a password nobody keeps.

An account is named by the role that its entries are signed with ("examiner A"), never by a
person's name. Ranks are strictly ordered: whoever may change may look. Length and normalisation
of passwords: NIST SP 800-63B, 5.1.1.2 (no rules of composition, length alone), and RFC 8265, 4.2
(Unicode normalised to NFC), both from memory. The list of common passwords that NIST asks for
comes from the caller.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Protocol

from heelstamp.catalogue.conversion import nearest
from heelstamp.errors import InputError

NAME_MAX = 60
PASSWORD_LEAST, PASSWORD_MOST = 12, 200
"""Characters of a password."""
DIFFERENT_LEAST = 5
"""Different characters that a password holds at least: "aaaaaaaaaaaa" is none."""

DIGITS_AND_SIGNS = "0123456789 !\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~"


class Role(StrEnum):
    """What an account, or a device paired with it, may do; each may do what those before it may."""

    READER = "reader"
    PAIRED_DEVICE = "paired device"
    EXAMINER = "examiner"
    OWNER = "owner"

    @property
    def rank(self) -> int:
        """Place in the order, from 0."""
        return list(Role).index(self)

    def may(self, least: Role) -> bool:
        """Whether this role may do what asks for at least *least*."""
        return self.rank >= least.rank


ACCOUNT_ROLES = (Role.OWNER, Role.EXAMINER, Role.READER)
"""Roles an account can have; *paired device* is never an account's own."""


@dataclass(frozen=True, slots=True)
class Account:
    """One account; *password* is what the hash function wrote, with its salt and parameters."""

    name: str
    role: Role
    password: str
    made: datetime


class Passwords(Protocol):
    """Hashes passwords slowly."""

    def hashed(self, password: str) -> str:
        """Write salt, parameters and hash of *password*."""
        ...

    def fits(self, kept: str | None, password: str) -> bool:
        """Whether *password* is the one behind *kept*; None takes as long and is never true."""
        ...


def role_named(name: str) -> Role:
    """Read the role of an account.

    Raises
    ------
    InputError
        No account can have it.
    """
    for role in ACCOUNT_ROLES:
        if role.value == name:
            return role
    raise InputError(
        "no such role of an account", received=name, remedy=nearest(name, ACCOUNT_ROLES)
    )


def check_name(name: str, role: Role, examiners: Sequence[str]) -> str:
    """Give the name of a new account, trimmed.

    Raises
    ------
    InputError
        Empty, too long, no plain text; or it would enter, and the shop's examiners do not name it.
    """
    trimmed = name.strip()
    if not trimmed or len(trimmed) > NAME_MAX or not trimmed.isprintable():
        raise InputError(
            "an account is named by a role, in plain text",
            where="name",
            received=ascii(name),
            remedy=f"Use 1 to {NAME_MAX} characters, as examiner A.",
        )
    if role.may(Role.EXAMINER) and examiners and trimmed not in examiners:
        raise InputError(
            "not one of the shop's examiners",
            where="name",
            received=trimmed,
            remedy=f"Use {', '.join(examiners)}, or add it to examiners in shop.toml.",
        )
    return trimmed


def check_password(password: str, name: str, is_common: Callable[[str], bool]) -> str:
    """Give a new password, normalised.

    Parameters
    ----------
    is_common
        Whether a word is among the commonest passwords, in any case. One of them written several
        times, or with figures and signs before or after it, is easily guessed too.

    Raises
    ------
    InputError
        Too short, too long, or easily guessed; what was given is not repeated.
    """
    plain = unicodedata.normalize("NFC", password)
    fault = ""
    if not PASSWORD_LEAST <= len(plain) <= PASSWORD_MOST:
        fault = f"a password has {PASSWORD_LEAST} to {PASSWORD_MOST} characters"
    elif (
        len(set(plain)) < DIFFERENT_LEAST
        or name.casefold() in plain.casefold()
        or any(is_common(one) for one in _cores(plain))
    ):
        fault = "this password is easily guessed"
    if fault:
        raise InputError(
            fault, where="password", remedy="Take several words that do not belong together."
        )
    return plain


def _cores(password: str) -> Iterator[str]:
    """A password, and what is left of it without what guessers add first."""
    yield password
    bare = password.strip(DIGITS_AND_SIGNS)
    if bare:
        yield bare
    for word in dict.fromkeys((password, bare)):
        for times in range(2, len(word) // 3 + 1):
            part = word[: len(word) // times]
            if part * times == word:
                yield part
