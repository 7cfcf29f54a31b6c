"""Other programs at a shared shop: tokens issued, found again and ended."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from typing import TYPE_CHECKING

from heelstamp.errors import InputError
from heelstamp.shop.sharing import TOKEN_BYTES

if TYPE_CHECKING:
    from heelstamp.casework.sharing import Session, Token
    from heelstamp.shop.sharing import Sharing

SHOWN = 12
"""Characters of a digest by which a token is named to a person."""


def issue_token(
    sharing: Sharing, account: str, name: str, scopes: Iterable[str], days: int
) -> tuple[str, Token]:
    """Issue a token of an account; the first that comes back is shown once and kept nowhere.

    Raises
    ------
    InputError
        There is no such account; or a name, scope or number of days that cannot be used.
    """
    from heelstamp.casework.sharing import new_token

    held = sharing.store.account(account)
    if held is None:
        raise InputError("there is no such account", received=account, remedy="List them.")
    plain = secrets.token_urlsafe(TOKEN_BYTES)
    made = new_token(held, plain, name, scopes=scopes, at=sharing.now(), days=days)
    sharing.store.keep_token(made)
    return plain, made


def tokens_of(sharing: Sharing, account: str = "") -> tuple[Token, ...]:
    """Tokens that hold, of one account or of all."""
    at = sharing.now()
    found = (one for one in sharing.store.tokens() if at < one.until)
    return tuple(one for one in found if account in {"", one.account})


def end_token(sharing: Sharing, begins: str, account: str = "") -> Token:
    """End the one token whose digest begins so, of one account or of any.

    Raises
    ------
    InputError
        There is none, or there are several.
    """
    found = [one for one in tokens_of(sharing, account) if one.digest.startswith(begins.lower())]
    if len(found) != 1 or not begins:
        raise InputError(
            "no one token begins so",
            where="token",
            received=begins,
            remedy=f"Give the {SHOWN} characters that the list shows.",
        )
    sharing.store.end_token(found[0].digest)
    return found[0]


def program_of(sharing: Sharing, plain: str) -> tuple[Session, tuple[str, ...]] | None:
    """Who a program is that sent a token, and its scopes; None where the token opens nothing."""
    from heelstamp.archive import sha256
    from heelstamp.casework.sharing import acting

    if not plain.isascii() or not 0 < len(plain) <= 2 * TOKEN_BYTES:
        return None
    token = sharing.store.token(sha256(plain.encode()))
    if token is None or sharing.now() >= token.until:
        return None
    account = sharing.store.account(token.account)
    return None if account is None else (acting(token, account.role), token.scopes)
