"""Pairing a device: a code shown at the desk, asked for once, let in by a person.

The code is good for two minutes and one device. Whoever sends it first gets four digits, which
stand at the desk too; only when the person there says that they are the device's own is a session
made. Somebody who saw the code over a shoulder and was quicker is shown by other digits. The four
digits are no secret and guess nothing: they only tie the device in the hand to the one that asked.
Offers live in this process, and a restart ends them; where several serve a shop they live in its
database, for those two minutes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from heelstamp.casework.sharing.held_state import Held, in_process
from heelstamp.errors import ConflictError

GOOD_FOR = timedelta(minutes=2)
OFFERS_MAX = 200


@dataclass(frozen=True, slots=True)
class Offer:
    """A code that a signed-in desk has shown.

    Attributes
    ----------
    session
        Digest of the desk's session: it alone may let the device in.
    claim
        What the device that asked holds in secret; empty until one asked.
    check
        Four digits shown on both.
    """

    code: str
    account: str
    session: str
    until: datetime
    claim: str = ""
    check: str = ""
    device: str = ""
    confirmed: bool = False


class Pairings:
    """Offers that stand, by code; safe for several threads.

    Parameters
    ----------
    held
        Where they are held; in this process without.
    """

    def __init__(self, held: Held[dict[str, Offer]] | None = None) -> None:
        self._held = held or in_process({})

    def open(self, code: str, account: str, session: str, at: datetime) -> Offer:
        """Offer *code*; an earlier offer of the same desk ends."""
        with self._held() as offers:
            _tidy(offers, at)
            for old in [one.code for one in offers.values() if one.session == session]:
                del offers[old]
            while len(offers) >= OFFERS_MAX:
                del offers[next(iter(offers))]
            made = offers[code] = Offer(code, account, session, at + GOOD_FOR)
        return made

    def of_desk(self, session: str, at: datetime) -> Offer | None:
        """The offer that stands for a desk."""
        with self._held() as offers:
            _tidy(offers, at)
            return next((one for one in offers.values() if one.session == session), None)

    def of_code(self, code: str, at: datetime) -> Offer | None:
        """The offer of a code that nobody has asked for yet."""
        with self._held() as offers:
            _tidy(offers, at)
            offer = offers.get(code)
        return None if offer is None or offer.claim else offer

    def claim(self, code: str, claim: str, check: str, device: str, at: datetime) -> Offer:
        """Let a device ask.

        Raises
        ------
        ConflictError
            The code is unknown, too old, or was used.
        """
        with self._held() as offers:
            _tidy(offers, at)
            offer = offers.get(code)
            if offer is None or offer.claim:
                raise _spent()
            made = offers[code] = replace(offer, claim=claim, check=check, device=device)
        return made

    def confirm(self, session: str, check: str, at: datetime) -> None:
        """Let the device in that shows *check*.

        Raises
        ------
        ConflictError
            No device of these digits has asked this desk.
        """
        with self._held() as offers:
            _tidy(offers, at)
            for code, offer in offers.items():
                if offer.session == session and offer.claim and offer.check == check:
                    offers[code] = replace(offer, confirmed=True)
                    return
        raise ConflictError(
            "no device that shows these digits has asked",
            received=check,
            remedy="Show a new code and try again.",
        )

    def refuse(self, session: str) -> None:
        """End the offer of a desk, whether a device has asked or not."""
        with self._held() as offers:
            for code in [one.code for one in offers.values() if one.session == session]:
                del offers[code]

    def asked(self, claim: str, at: datetime) -> Offer | None:
        """The offer that a device has asked for; None when it ended."""
        with self._held() as offers:
            _tidy(offers, at)
            return _by_claim(offers, claim)

    def collect(self, claim: str, at: datetime) -> Offer | None:
        """The offer of a device that was let in, once; None while nobody has decided.

        Raises
        ------
        ConflictError
            The offer ended: refused, too old, or collected before.
        """
        with self._held() as offers:
            _tidy(offers, at)
            offer = _by_claim(offers, claim)
            if offer is None:
                raise _spent()
            if not offer.confirmed:
                return None
            del offers[offer.code]
        return offer


def _by_claim(offers: dict[str, Offer], claim: str) -> Offer | None:
    if not claim:
        return None
    return next((one for one in offers.values() if one.claim == claim), None)


def _tidy(offers: dict[str, Offer], at: datetime) -> None:
    for code in [one.code for one in offers.values() if one.until <= at]:
        del offers[code]


def _spent() -> ConflictError:
    return ConflictError(
        "this code is not good any more", remedy="Show a new one at the desk: each serves once."
    )
