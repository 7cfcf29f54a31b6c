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

SLACK = 2
"""How far rounding of commission and tax takes the net from its straight line, at most: half a unit
of commission, tax of it, and half a unit of tax."""

MOST_TRIED = 1000
"""Prices tried where a dearer one nets no more."""


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
    found = Money(1, price.currency).share(_by_tiers(price.minor, terms))
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
        inside = commission.part(rate, 1 + rate)
        told.append(Line("tax inside the commission", _percent(rate), inside))
    net = price + total((one.amount for one in lines), price.currency)
    return Settlement(price, commission, tuple(lines), net, tuple(told))


def least_price_for(net: Money, terms: SettlementTerms) -> Money:
    """The least price at which the consignor nets *net*.

    The net does not always rise with the price: where commission and tax both round up at the next
    cent it falls by one, so halving an interval is not enough. Between the ends of tiers and of the
    least commission the net lies within `SLACK` of a straight line; what the line rules out is
    skipped, the rest is tried cent by cent.

    Raises
    ------
    InputError
        No price does.
    """
    corners = _corners(terms)
    for begin, end in zip(corners, [*corners[1:], None], strict=True):
        price, slope = begin, _slope(begin, terms)
        tried = 0
        while end is None or price < end:
            short = net.minor - settle(Money(price, net.currency), terms).net.minor
            if short <= 0:
                return Money(price, net.currency)
            if slope <= 0 and (tried > MOST_TRIED or short > 2 * SLACK):
                break
            tried += 1
            price += max(1, int((short - 2 * SLACK) / slope)) if slope > 0 else 1
            if price > HIGHEST:
                break
    raise InputError("no price nets so much under these terms", received=str(net))


def _corners(terms: SettlementTerms) -> list[int]:
    """Prices at which the net takes another slope, in smallest units."""
    ends = [one.up_to.minor for one in terms.tiers if one.up_to is not None]
    least = terms.least_commission
    if least is not None and least.minor:
        low, high = 0, HIGHEST
        exact = terms.tiers[-1].rate > 0
        while exact and low < high:  # where the tiers alone reach the least commission
            middle = (low + high) // 2
            if _by_tiers(middle, terms) < least.minor:
                low = middle + 1
            else:
                high = middle
        ends += [least.minor, *([low, max(0, low - 1)] if exact else [])]
    return sorted({0, *ends})


def _slope(price: int, terms: SettlementTerms) -> Decimal:
    """What one more unit of the price adds to the net just above *price*, before rounding."""
    tax = terms.tax.rate if terms.tax.scheme == "added" else Decimal(0)
    least = 0 if terms.least_commission is None else terms.least_commission.minor
    if price < least:  # the commission is the whole price
        return -tax
    if _by_tiers(price, terms) < least and _by_tiers(price + 1, terms) <= least:
        return Decimal(1)
    rate = next(one.rate for one in terms.tiers if one.up_to is None or price < one.up_to.minor)
    return 1 - rate * (1 + tax)


def _by_tiers(price: int, terms: SettlementTerms) -> Decimal:
    exact, begin = Decimal(0), 0
    for tier in terms.tiers:
        end = price if tier.up_to is None else min(price, tier.up_to.minor)
        exact += tier.rate * max(0, end - begin)
        begin = max(begin, end)
    return exact


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
