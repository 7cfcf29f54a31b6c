"""What of a sale may be sealed into a journal, whatever way an entry comes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal

from heelstamp.casework.sale.blocks import (
    ShopsBlocks,
    blocks_of,
    left_open,
    nothing_more,
    standing_of,
)
from heelstamp.casework.sale.enquiries import enquirers_of
from heelstamp.casework.sharing.accounts import Role
from heelstamp.casework.sharing.rights import NotPermittedError, role_of
from heelstamp.catalogue import Custody, DossierState, Enquiry, Price, SaleStep
from heelstamp.catalogue.sale import SOLD_STATES
from heelstamp.errors import ConflictError, InputError
from heelstamp.valuation.money import Money

OWNERS_STEPS = frozenset({"override", "refund", "final", "payout", "settled"})
"""Steps that only the owner of the shop enters."""

GATED = frozenset({"sale", "custody", "price", "enquiry", "correction"})
"""Kinds of entry that `require_sale` looks at; with others there is nothing to refuse."""

OFFERING = frozenset({"price said", "viewing set", "viewed"})
"""What is not said or done to an enquirer while a hit in a list of stolen goods stands."""

HAND_OVERS = frozenset({"to buyer", "to carrier", "to owner", "sent out"})
AHEAD = timedelta(days=1)
"""How far the calendar of another time zone may be ahead."""


def require_sale(
    hand: str, before: DossierState | None, after: DossierState, shops: ShopsBlocks = nothing_more
) -> None:
    """Refuse new steps of a sale, and hand-overs, that something stands against.

    A step that a correction makes another one is looked at like a new one.

    Parameters
    ----------
    before, after
        The dossier without the new entries, None where they open it, and with them.
    shops
        What the shop's lists, tables and terms hold against a step.

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
    _check_changes(hand, after, length)
    _check_enquiries(after, length)
    for one in _new(after, length):
        if isinstance(one, SaleStep):
            _check_step(hand, one, after.entered[one.id].at)
        require_open(after, one.event, shops, where=one.id)


def require_open(
    state: DossierState, step: str, shops: ShopsBlocks = nothing_more, *, where: str
) -> None:
    """Refuse a step that something stands against.

    Raises
    ------
    ConflictError
        Says what lifts it.
    """
    open_ = left_open(state, step, shops)
    if open_:
        more = f" And {len(open_) - 1} more." if len(open_) > 1 else ""
        owner = "" if open_[0].firm else " Or the owner of the shop lets it pass, with the reason."
        raise ConflictError(
            f'something stands against "{step}"',
            where=where,
            received=step,
            remedy=f"{open_[0].told}{more}{owner}",
        )


def _new(after: DossierState, length: int) -> Iterator[SaleStep | Custody]:
    for step in after.of(SaleStep).values():
        stood = _stood(after, step.id, length)
        if stood is None or stood.event != step.event:
            yield step
    for passed in after.custody.values():
        if passed.event in HAND_OVERS and after.entered[passed.id].seq > length:
            yield passed


def _stood(after: DossierState, id_: str, length: int) -> SaleStep | None:
    """What stood of a step before the new entries; None where it is new, or was taken back."""
    said = [one.body for one in after.history[id_] if one.seq <= length]
    return said[-1] if said and isinstance(said[-1], SaleStep) else None


def _check_changes(hand: str, after: DossierState, length: int) -> None:
    """Refuse that another hand than the owner's changes a step that is the owner's."""
    if role_of(hand).may(Role.OWNER):
        return
    for id_, said in after.history.items():
        if all(one.seq <= length for one in said):
            continue
        steps = [one.body for one in said if isinstance(one.body, SaleStep)]
        theirs = next((one for one in steps if one.event in OWNERS_STEPS), None)
        if theirs is not None:
            raise _owners(hand, id_, theirs.event)


def _check_enquiries(after: DossierState, length: int) -> None:
    """Refuse what was said before its cause, and prices and viewings while a hit stands."""
    changed = {
        id_
        for id_, versions in after.history.items()
        if any(one.seq > length for one in versions)
        and any(isinstance(one.body, Enquiry) for one in versions)
    }
    if not changed:
        return
    said = after.of(Enquiry)
    enquirers_of(said.values())
    for one in (said[id_] for id_ in changed & said.keys()):
        at = after.entered[one.id].at
        _check_day(one.day, at, one.id)
        firm = [block for block in blocks_of(after, "offered") if block.firm]
        if firm and one.event in OFFERING:
            raise ConflictError(
                f'something stands against "{one.event}"',
                where=one.id,
                received=one.event,
                remedy=firm[0].told,
            )


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
        raise _owners(hand, step.id, step.event)
    _check_day(step.day, at, step.id)
    if step.amount is not None and step.currency is not None:
        Money.parse(step.amount, step.currency, where=f"{step.id}, field amount")


def _check_day(day: str, at: str, where: str) -> None:
    if at and date.fromisoformat(day) > date.fromisoformat(at[:10]) + AHEAD:
        raise InputError(
            "a day that has not come",
            where=f"{where}, field day",
            received=day,
            remedy="Give the day on which it happened.",
        )


def _owners(hand: str, where: str, event: str) -> NotPermittedError:
    return NotPermittedError(
        "only the owner of the shop enters that",
        where=where,
        received=f"{event}, by {hand}",
        remedy="Ask the owner.",
    )
