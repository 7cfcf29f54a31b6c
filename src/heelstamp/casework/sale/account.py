"""Where the money of a sale is: what came in, went out, was earned, and is still here.

For every sale and any period: received = refunded + paid out + earned + held. What is held belongs
to buyer or consignor until the sale is final; then what is not due to the consignor is earned
(commission, charges and tax, by the terms).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

import msgspec

from heelstamp.catalogue import DossierState, SaleStep
from heelstamp.valuation.money import decimals_of

Side = Literal["in", "out", "earned"]
NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class Movement:
    """One movement of money: when, of which instrument, what it is, and how much."""

    day: str
    tag: str
    what: str
    side: Side
    sum: Decimal
    currency: str
    entry: str


class Account(msgspec.Struct, frozen=True, kw_only=True):
    """Sums of movements in one currency; exact decimals as text.

    Attributes
    ----------
    held
        What is still here at the end of the period and is not the shop's.
    before
        What was held when the period began.
    """

    currency: str
    received: str
    refunded: str
    paid_out: str
    earned: str
    before: str
    held: str
    lines: list[tuple[str, str, str, str, str]]


def movements_of(state: DossierState) -> list[Movement]:
    """List the movements of an instrument's sales, in the order of entry."""
    found: list[Movement] = []
    held = NOTHING
    for step in state.of(SaleStep).values():
        if step.amount is None:
            continue
        sum_, tag = Decimal(step.amount), state.instrument.tag
        told = (step.currency or "", step.id)
        if step.event == "payment":
            held += sum_
            what = f"{step.of or 'payment'} by {step.means}"
            found.append(Movement(step.day, tag, what, "in", sum_, *told))
        elif step.event == "refund":
            held -= sum_
            found.append(Movement(step.day, tag, "refund", "out", sum_, *told))
        elif step.event == "final":
            earned = held - sum_
            held = sum_
            what = "commission, charges and tax"
            found.append(Movement(step.day, tag, what, "earned", earned, *told))
        elif step.event == "payout":
            held -= sum_
            found.append(Movement(step.day, tag, "payout", "out", sum_, *told))
    return found


def accounts(
    movements: Iterable[Movement], *, first: str = "", last: str = "9999-12-31"
) -> Sequence[Account]:
    """Add movements up between two days, one account a currency.

    Parameters
    ----------
    first, last
        Days, both within.
    """
    rows = sorted(movements, key=lambda one: one.day)
    found = []
    for currency in sorted({one.currency for one in rows}):
        own = [one for one in rows if one.currency == currency]
        before = sum((_held(one) for one in own if one.day < first), NOTHING)
        within = [one for one in own if first <= one.day <= last]

        def added(what: str, side: Side, among: Sequence[Movement] = within) -> Decimal:
            return sum(
                (one.sum for one in among if one.side == side and what in ("", one.what)), NOTHING
            )

        def told(sum_: Decimal, places: int = decimals_of(currency)) -> str:
            return f"{sum_:.{places}f}"

        held = before + sum((_held(one) for one in within), NOTHING)
        found.append(
            Account(
                currency=currency,
                received=told(added("", "in")),
                refunded=told(added("refund", "out")),
                paid_out=told(added("payout", "out")),
                earned=told(added("", "earned")),
                before=told(before),
                held=told(held),
                lines=[(one.day, one.tag, one.what, one.side, told(one.sum)) for one in within],
            )
        )
    return found


def _held(one: Movement) -> Decimal:
    return one.sum if one.side == "in" else -one.sum
