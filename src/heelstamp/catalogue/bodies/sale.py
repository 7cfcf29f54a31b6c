"""A sale as it goes on: one entry a step, and who owns what is sold.

Sums are text, as in every body. Persons are named by role (*buyer B*), never by name. What may
follow what stands in `heelstamp.catalogue.sale`.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from heelstamp.catalogue.bodies.appraisal import Currency, Sum
from heelstamp.catalogue.bodies.base import Day, EntryBody, FileDigest, Id, Text
from heelstamp.catalogue.conversion import join_place
from heelstamp.errors import InputError
from heelstamp.units import read_day

SaleEvent = Literal[
    "examined",
    "cleared",
    "offered",
    "price cut",
    "held",
    "hold ended",
    "agreed",
    "fell through",
    "payment",
    "funds cleared",
    "paid",
    "handed over",
    "window opened",
    "returned",
    "refund",
    "final",
    "payout",
    "settled",
    "withdrawn",
    "override",
]
Means = Literal["cash", "transfer", "card", "cheque", "escrow"]

NEEDS: dict[str, tuple[str, ...]] = {
    "offered": ("amount", "currency"),
    "price cut": ("amount", "currency"),
    "held": ("party", "until"),
    "hold ended": ("names",),
    "agreed": ("party", "amount", "currency"),
    "payment": ("of", "means", "amount", "currency"),
    "funds cleared": ("names",),
    "window opened": ("until",),
    "refund": ("amount", "currency"),
    "final": ("amount", "currency"),
    "payout": ("amount", "currency"),
    "override": ("lets", "note"),
}
"""Fields without which an event says nothing."""


class SaleStep(EntryBody, frozen=True):
    """One step of a sale.

    Attributes
    ----------
    day
        On which it happened.
    party
        Buyer, or who holds, by role.
    amount, currency
        First or new asking price, price agreed, sum paid, refunded or paid out; with *final* what
        is due to the consignor.
    of
        What a payment is: a deposit or the balance.
    means
        How it was paid.
    until
        Last day of a hold or of the return window.
    names
        The hold that ended, or the payment whose funds cleared.
    lets
        The step, or the change of custody, that an override lets pass.
    note
        Of an override: why the owner of the shop lets it pass.
    value, doubt
        With *offered*: the middle market value as it was known on that day, and the standard
        deviation of its log, so that a later value, which has learned from this sale, is not taken.
    """

    id: Id
    event: SaleEvent
    day: Day
    party: str = ""
    amount: Sum | None = None
    currency: Currency | None = None
    of: Literal["deposit", "balance"] | None = None
    means: Means | None = None
    until: Day | None = None
    names: Id | None = None
    lets: str = ""
    note: str = ""
    value: Sum | None = None
    doubt: Annotated[float, msgspec.Meta(gt=0.0, le=5.0)] | None = None


class OwnerOf(EntryBody, frozen=True):
    """One owner of the instrument: who they are to it, how that was seen, and their signature.

    Attributes
    ----------
    role
        Who they are to the instrument, as ``a consignor`` or ``heir B``; never a name.
    identity, ending
        Kind of paper by which identity was seen, and its last characters; never a copy.
    acquired
        How they say they came by it.
    liens
        What they answered when asked for liens; empty while nobody asked.
    signed
        Day on which they signed that it may be sold; None while they have not.
    how, mark
        Whether they drew it on a screen or wrote it on paper, and the file of the strokes.
    """

    id: Id
    role: Text
    identity: str = ""
    ending: Annotated[str, msgspec.Meta(max_length=4)] = ""
    acquired: str = ""
    liens: str = ""
    signed: Day | None = None
    how: Literal["on the screen", "on paper"] | None = None
    mark: FileDigest | None = None
    note: str = ""


class Agreement(EntryBody, frozen=True):
    """A signature under terms of consignment.

    Attributes
    ----------
    role
        Who signed, by role; never a name.
    terms
        SHA-256 of the text of the terms that were signed.
    how
        Drawn on a screen, or written on paper.
    day
        On which they signed.
    mark
        File of the strokes that were drawn, or of a picture of the signed paper.
    """

    id: Id
    role: Text
    terms: FileDigest
    how: Literal["on the screen", "on paper"]
    day: Day
    mark: FileDigest | None = None
    note: str = ""


def check_agreement(body: Agreement, where: str) -> None:
    """Refuse a day that is not in the calendar, and a drawn signature without its strokes."""
    read_day(body.day, join_place(where, "field day"))
    if body.how == "on the screen" and body.mark is None:
        raise InputError(
            "a signature on the screen without its strokes",
            where=join_place(where, "field mark"),
            remedy="Draw it, or enter it as signed on paper.",
        )


def check_sale(body: SaleStep, where: str) -> None:
    """Refuse a step without what it needs, and a day that is not in the calendar.

    Raises
    ------
    InputError
        Names the field.
    """
    for name in NEEDS.get(body.event, ()):
        if not getattr(body, name):
            raise InputError(
                f'a step "{body.event}" does not say its {name}',
                where=join_place(where, f"field {name}"),
                remedy=f"It needs: {', '.join(NEEDS[body.event])}.",
            )
    day = read_day(body.day, join_place(where, "field day"))
    if body.until is not None and read_day(body.until, join_place(where, "field until")) < day:
        raise InputError(
            "it would end before it begins",
            where=join_place(where, "field until"),
            received=f"{body.day} to {body.until}",
            remedy="Give the last day, on or after the day it begins.",
        )


def check_owner(body: OwnerOf, where: str) -> None:
    """Refuse a day that is not in the calendar, and a drawn signature without its strokes."""
    if body.how == "on the screen" and body.mark is None:
        raise InputError(
            "a signature on the screen without its strokes",
            where=join_place(where, "field mark"),
            remedy="Draw it, or enter it as signed on paper.",
        )
    if body.signed is not None:
        read_day(body.signed, join_place(where, "field signed"))
