"""Sessions: who is signed in on which device, and until when.

The device holds a random token of 256 bits; only its SHA-256 is kept, so that a copy of the
database opens no door. A session ends when it was not used for `IDLE`, at latest at its `until`,
and at once when it is ended, its password changed or its account removed. The spans are the
shop's, not a standard's: a working day without a touch, and a week at a desk; a paired device
lasts a day. (NIST SP 800-63B, 4.1.3, from memory, would allow 30 days for one factor.)
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from heelstamp.archive import sha256
from heelstamp.casework.sharing.accounts import Account, Role

IDLE = timedelta(hours=8)
LASTS = timedelta(days=7)
LASTS_PAIRED = timedelta(days=1)
NOTED_EVERY = timedelta(minutes=5)
"""How exactly the last use is kept: a look at a page need not write."""
DEVICE_MAX = 120


@dataclass(frozen=True, slots=True)
class Session:
    """One device that is signed in.

    Attributes
    ----------
    digest
        SHA-256 of the token, hexadecimal.
    account
        Name of the account: the role that signs.
    role
        What this device may do.
    device
        What its browser calls itself.
    """

    digest: str
    account: str
    role: Role
    device: str
    made: datetime
    seen: datetime
    until: datetime


def new_session(
    account: Account, token: str, device: str, at: datetime, *, paired: bool = False
) -> Session:
    """Open a session; that of a paired device may enter, and no more, whoever paired it."""
    named = "".join(char for char in device if char.isprintable())[:DEVICE_MAX]
    role = Role.PAIRED_DEVICE if paired else account.role
    lasts = LASTS_PAIRED if paired else LASTS
    return Session(sha256(token.encode()), account.name, role, named, at, at, at + lasts)


def stands(session: Session, at: datetime) -> bool:
    """Whether a session still holds."""
    return at < session.until and at - session.seen < IDLE


def refreshed(session: Session, at: datetime) -> Session | None:
    """Give the session as used now; None where its last use need not be noted."""
    return replace(session, seen=at) if at - session.seen >= NOTED_EVERY else None
