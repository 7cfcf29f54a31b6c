"""The last sale of an instrument: what was agreed, and every movement of money since.

A sale that came back or fell through is still the last one until another is agreed, so that what
was paid and given back can be shown.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from heelstamp.catalogue import DossierState, SaleStep
from heelstamp.catalogue.sale import Payment

NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class LastSale:
    """One sale.

    Attributes
    ----------
    number
        How many prices were agreed for this instrument, this one counted.
    payments, refunds, payouts
        In the order of entry.
    final
        The step that made it final, with what is due to the consignor; None before.
    reduced
        What was given back after the price had been paid whole: the price is less by that.
    ended
        Day on which it fell through or came back; empty while it stands.
    """

    number: int
    agreed: SaleStep
    payments: tuple[Payment, ...]
    refunds: tuple[SaleStep, ...]
    payouts: tuple[SaleStep, ...]
    final: SaleStep | None
    reduced: Decimal
    ended: str

    @property
    def price(self) -> Decimal:
        """Price agreed."""
        return Decimal(self.agreed.amount or 0)

    @property
    def currency(self) -> str:
        """ISO 4217 code."""
        return self.agreed.currency or ""

    @property
    def received(self) -> Decimal:
        """What came in."""
        return sum((one.sum for one in self.payments), NOTHING)

    @property
    def cleared(self) -> Decimal:
        """What of it cleared."""
        return sum((one.sum for one in self.payments if one.cleared), NOTHING)

    @property
    def refunded(self) -> Decimal:
        """What was given back."""
        return _added(self.refunds)

    @property
    def paid_out(self) -> Decimal:
        """What went to the consignor."""
        return _added(self.payouts)

    @property
    def kept(self) -> Decimal:
        """What the buyer paid and did not get back."""
        return self.received - self.refunded

    @property
    def owed(self) -> Decimal:
        """What the buyer owes in all: nothing once the sale ended."""
        return NOTHING if self.ended else self.price - self.reduced

    @property
    def left_to_pay(self) -> Decimal:
        """What of it is not here; below nought what is still to be given back."""
        return self.owed - self.kept


@dataclass
class _Gathering:
    agreed: SaleStep
    number: int
    payments: dict[str, Payment] = field(default_factory=dict)
    refunds: list[SaleStep] = field(default_factory=list)
    payouts: list[SaleStep] = field(default_factory=list)
    final: SaleStep | None = None
    paid: bool = False
    reduced: Decimal = NOTHING
    ended: str = ""


def last_sale(state: DossierState) -> LastSale | None:
    """Gather the last sale of an instrument; None before a price was agreed."""
    found: _Gathering | None = None
    for step in state.of(SaleStep).values():
        if step.event == "agreed":
            found = _Gathering(step, 1 if found is None else found.number + 1)
        elif found is not None:
            _take(found, step)
    if found is None:
        return None
    return LastSale(
        found.number,
        found.agreed,
        tuple(found.payments.values()),
        tuple(found.refunds),
        tuple(found.payouts),
        found.final,
        found.reduced,
        found.ended,
    )


def _take(found: _Gathering, step: SaleStep) -> None:
    if step.event == "payment":
        sum_, cleared = Decimal(step.amount or 0), step.day if step.means == "cash" else None
        found.payments[step.id] = Payment(
            step.id, sum_, step.of or "", step.means or "", step.day, cleared
        )
    elif step.event == "funds cleared" and step.names in found.payments:
        one = found.payments[step.names]
        found.payments[step.names] = Payment(one.id, one.sum, one.of, one.means, one.day, step.day)
    elif step.event == "refund":
        found.refunds.append(step)
        if found.paid and not found.ended:
            found.reduced += Decimal(step.amount or 0)
    elif step.event == "paid":
        found.paid = True
    elif step.event == "payout":
        found.payouts.append(step)
    elif step.event == "final":
        found.final = step
    elif step.event in ("fell through", "returned"):
        found.ended = step.day


def _added(steps: tuple[SaleStep, ...]) -> Decimal:
    return sum((Decimal(one.amount or 0) for one in steps), NOTHING)
