"""What of a sale reaches the consignor: commission by tiers, charges, tax as declared, net.

A tier's rate applies to the part of the price that lies in it. The commission is worked out
exactly over all tiers and rounded once; every other line is rounded by itself. Tax follows the
scheme the shop declares; nothing here knows whether that is the right one (it is neither tax nor
legal advice):

``none``
    No line.
``added``
    Tax at a rate on commission and charges, borne by the consignor.
``inside``
    The commission holds the tax already (the EU margin scheme taxes the margin, tax included:
    Directive 2006/112/EC, articles 313 to 315): rate / (1 + rate) of the commission, told, not
    deducted again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from heelstamp.errors import InputError
from heelstamp.valuation.money import Money, total

Scheme = Literal["none", "added", "inside"]
SCHEMES: tuple[Scheme, ...] = ("none", "added", "inside")


HIGHEST = 10**13
"""Price, in smallest units, beyond which none is looked for."""


@dataclass(frozen=True, slots=True)
class Tier:
    """A commission rate for the part of the price up to *up_to*; None is without end."""

    up_to: Money | None
    rate: Decimal


@dataclass(frozen=True, slots=True)
class Charge:
    """A fixed sum taken from the price, such as agreed work, carriage or cover."""

    name: str
    amount: Money


@dataclass(frozen=True, slots=True)
class Tax:
    """A tax scheme as declared by the shop."""

    scheme: Scheme = "none"
    rate: Decimal = Decimal(0)


@dataclass(frozen=True)
class SettlementTerms:
    """Terms of one consignment.

    Attributes
    ----------
    tiers
        In rising order; the last is without end.
    least_commission
        Commission is never below it, nor above the price.
    charges
        Fixed sums.
    """

    currency: str
    tiers: Sequence[Tier]
    least_commission: Money | None = None
    charges: Sequence[Charge] = ()
    tax: Tax = Tax()

    def __post_init__(self) -> None:
        if not self.tiers or self.tiers[-1].up_to is not None:
            raise InputError(
                "tiers of commission must reach any price", remedy="Leave up_to out of the last."
            )
        ends = [one.up_to for one in self.tiers[:-1]]
        before = Money(0, self.currency)
        for end in ends:
            if end is None or not before < end:
                raise InputError(
                    "tiers of commission must rise", received=str(end), remedy="Order them."
                )
            before = end


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a settlement: its name, how it was worked out, and what it adds to the net."""

    name: str
    basis: str
    amount: Money


@dataclass(frozen=True)
class Settlement:
    """A settlement.

    Attributes
    ----------
    price
        What the buyer pays for the instrument.
    commission
        What the shop earns.
    lines
        What is taken off, each below nought.
    net
        Price and lines added.
    told
        What is stated and not deducted, such as tax inside the commission.
    """

    price: Money
    commission: Money
    lines: tuple[Line, ...]
    net: Money
    told: tuple[Line, ...]


def commission_on(price: Money, terms: SettlementTerms) -> Money:
    """The commission on a price, rounded once."""
    exact = Decimal(0)
    begin = 0
    for tier in terms.tiers:
        end = price.minor if tier.up_to is None else min(price.minor, tier.up_to.minor)
        exact += tier.rate * max(0, end - begin)
        begin = max(begin, end)
    found = Money(1, price.currency).share(exact)
    least = terms.least_commission
    if least is not None and found < least:
        found = least
    return min(found, price)


def settle(price: Money, terms: SettlementTerms) -> Settlement:
    """Settle a sale.

    Raises
    ------
    InputError
        The price is below nought or in another currency than the terms.
    """
    if price.currency != terms.currency:
        raise InputError(
            "the price is in another currency than the terms",
            received=f"{price.currency} and {terms.currency}",
            remedy="Settle in the currency of the terms.",
        )
    if price.minor < 0:
        raise InputError("a price below nought", received=str(price))
    commission = commission_on(price, terms)
    lines = [Line("commission", _tiers_told(terms), -commission)]
    lines += [Line(one.name, "agreed sum", -one.amount) for one in terms.charges]
    told: list[Line] = []
    rate = terms.tax.rate
    if terms.tax.scheme == "added":
        base = total((-one.amount for one in lines), price.currency)
        lines.append(Line("tax", f"{_percent(rate)} of commission and charges", -base.share(rate)))
    elif terms.tax.scheme == "inside":
        inside = commission.share(rate / (1 + rate))
        told.append(Line("tax inside the commission", _percent(rate), inside))
    net = price + total((one.amount for one in lines), price.currency)
    return Settlement(price, commission, tuple(lines), net, tuple(told))


def least_price_for(net: Money, terms: SettlementTerms) -> Money:
    """The least price at which the consignor nets *net*.

    Raises
    ------
    InputError
        No price does.
    """
    low, high = 0, max(1, 2 * net.minor)
    while settle(Money(high, net.currency), terms).net < net:
        if high > HIGHEST:
            raise InputError("no price nets so much under these terms", received=str(net))
        high *= 2
    while low < high:
        middle = (low + high) // 2
        if settle(Money(middle, net.currency), terms).net < net:
            low = middle + 1
        else:
            high = middle
    return Money(low, net.currency)


def _tiers_told(terms: SettlementTerms) -> str:
    told = []
    for place, tier in enumerate(terms.tiers):
        if tier.up_to is None:
            told.append(f"{_percent(tier.rate)} {'above' if place else 'of the price'}")
        else:
            told.append(f"{_percent(tier.rate)} up to {tier.up_to}")
    text = ", ".join(told)
    least = terms.least_commission
    return text if least is None else f"{text}; at least {least}"


def _percent(rate: Decimal) -> str:
    return f"{(rate * 100).normalize():f} %"
