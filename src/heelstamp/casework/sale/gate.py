"""What of a sale may be sealed into a journal, whatever way an entry comes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal

from heelstamp.casework.sale.blocks import left_open, standing_of
from heelstamp.casework.sharing.accounts import Role
from heelstamp.casework.sharing.rights import NotPermittedError, role_of
from heelstamp.catalogue import Custody, DossierState, Price, SaleStep
from heelstamp.catalogue.sale import SOLD_STATES
from heelstamp.errors import ConflictError, InputError
from heelstamp.valuation.money import Money

OWNERS_STEPS = frozenset({"override", "refund", "final", "payout", "settled"})
"""Steps that only the owner of the shop enters."""

GATED = frozenset({"sale", "custody", "price", "correction"})
"""Kinds of entry that `require_sale` looks at; with others there is nothing to refuse."""

HAND_OVERS = frozenset({"to buyer", "to carrier"})
AHEAD = timedelta(days=1)
"""How far the calendar of another time zone may be ahead."""


def require_sale(hand: str, before: DossierState | None, after: DossierState) -> None:
    """Refuse new steps of a sale, and hand-overs, that something stands against.

    Parameters
    ----------
    before, after
        The dossier without the new entries, None where they open it, and with them.

    Raises
    ------
    NotPermittedError
        A step of the owner's by another hand.
    ConflictError
        Title, consent, clearance or payment stand against it; says what lifts that. A price paid
        that no sale agreed.
    InputError
        A day that has not come, or a sum with more decimals than the currency has.
    """
    length = 0 if before is None else before.length
    _check_prices(after, length)
    for one in _new(after, length):
        if isinstance(one, SaleStep):
            _check_step(hand, one, after.entered[one.id].at)
        step = one.event
        open_ = left_open(after, step)
        if open_:
            more = f" And {len(open_) - 1} more." if len(open_) > 1 else ""
            firm = open_[0].firm
            owner = "" if firm else " Or the owner of the shop lets it pass, with the reason."
            raise ConflictError(
                f'something stands against "{step}"',
                where=one.id,
                received=step,
                remedy=f"{open_[0].told}{more}{owner}",
            )


def _new(after: DossierState, length: int) -> Iterator[SaleStep | Custody]:
    for step in after.of(SaleStep).values():
        if after.entered[step.id].seq > length:
            yield step
    for passed in after.custody.values():
        if passed.event in HAND_OVERS and after.entered[passed.id].seq > length:
            yield passed


def _check_prices(after: DossierState, length: int) -> None:
    """Refuse a price paid that no sale agreed: there is one way to sell."""
    for price in after.of(Price).values():
        said = after.history[price.id]
        if price.of != "sold" or all(one.seq <= length for one in said):
            continue
        sale = standing_of(after)
        if sale.state not in SOLD_STATES or sale.agreed != Decimal(price.amount):
            raise ConflictError(
                "a price paid that no sale agreed",
                where=price.id,
                received=f"{price.amount} {price.currency or ''}".rstrip()
                + f", the sale is {sale.state}",
                remedy="Enter the steps of the sale up to agreed, at that price; it follows.",
            )


def _check_step(hand: str, step: SaleStep, at: str) -> None:
    if step.event in OWNERS_STEPS and not role_of(hand).may(Role.OWNER):
        raise NotPermittedError(
            "only the owner of the shop enters that",
            where=step.id,
            received=f"{step.event}, by {hand}",
            remedy="Ask the owner.",
        )
    if at and date.fromisoformat(step.day) > date.fromisoformat(at[:10]) + AHEAD:
        raise InputError(
            "a day that has not come",
            where=f"{step.id}, field day",
            received=step.day,
            remedy="Give the day on which it happened.",
        )
    if step.amount is not None and step.currency is not None:
        Money.parse(step.amount, step.currency, where=f"{step.id}, field amount")
