"""A second factor that an account may ask for: codes of an authenticator, and codes to recover by.

Time-based one-time passwords, RFC 6238 with its default: SHA-1, steps of 30 s from 1970, six digits
(HOTP, RFC 4226). The step before and the one after count too (5.2 allows for clocks that differ),
and a step serves once (5.2, last paragraph). A recovery code is 80 random bits; its SHA-256 alone
is kept, and it serves once.
"""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from datetime import datetime

from heelstamp.archive import sha256

STEP_S, DIGITS = 30, 6
STEPS_AROUND = 1
RECOVERY_CODES, RECOVERY_LETTERS = 10, 16
ISSUER = "Heelstamp"


@dataclass(frozen=True, slots=True)
class SecondFactor:
    """What is kept of a second factor.

    Attributes
    ----------
    secret
        Base 32, as an authenticator takes it.
    last_step
        The last step that served.
    """

    account: str
    secret: str
    last_step: int
    made: datetime


def address_for(secret: str, account: str, shop: str) -> str:
    """Write the address that an authenticator reads as a QR code."""
    import pyotp  # noqa: PLC0415 - where nobody has a second factor it is not needed

    issuer = f"{ISSUER}, {shop}" if shop else ISSUER
    return pyotp.TOTP(secret).provisioning_uri(name=account, issuer_name=issuer)


def step_of(secret: str, code: str, at: datetime, *, after: int = -1) -> int | None:
    """Find the step that *code* belongs to; None where it belongs to none of now, or to a used one.

    Parameters
    ----------
    after
        The last step that served.
    """
    import pyotp  # noqa: PLC0415

    plain = "".join(code.split())
    if len(plain) != DIGITS or not (plain.isascii() and plain.isdigit()):
        return None
    maker = pyotp.TOTP(secret, digits=DIGITS, interval=STEP_S)
    now = int(at.timestamp()) // STEP_S
    found = [
        step
        for step in range(now - STEPS_AROUND, now + STEPS_AROUND + 1)
        if hmac.compare_digest(maker.generate_otp(step), plain)
    ]
    return next((step for step in found if step > after), None)


def recovery_digest(account: str, code: str) -> str:
    """Digest under which a recovery code is kept; case, spaces and strokes do not matter."""
    plain = "".join(char for char in code.upper() if char.isalnum())
    return sha256(f"{account}\n{plain}".encode())


def in_groups(code: str) -> str:
    """Write a recovery code as a person copies it."""
    return "-".join(code[at : at + 4] for at in range(0, len(code), 4))
