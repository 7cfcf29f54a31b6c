"""Tax on one sale under three schemes, as the shop declares them; no scheme is judged here.

``commission``
    The shop sells for the owner: commission and charges are what it earns; tax as its terms say.
``purchase``
    It sells what it bought, tax on the whole price, which holds it: rate / (1 + rate) of the price.
``margin``
    It sells what it bought from who charged no tax: rate / (1 + rate) of the margin, which holds
    it; a loss bears none and lowers that of no other sale (Directive 2006/112/EC, articles 312 to
    315 and 318). At 20 % that is one sixth of the margin.

Rounded once, half away from zero. Neither tax nor legal advice.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from heelstamp.errors import InputError
from heelstamp.valuation.money import Money

TaxedAs = Literal["commission", "purchase", "margin"]


@dataclass(frozen=True, slots=True)
class TaxedSale:
    """What of a sale is taxed.

    Attributes
    ----------
    earned
        Margin, or the price under *purchase*; below nought for a loss.
    base
        What the tax is a share of, without the tax itself.
    tax
        The tax.
    """

    earned: Money
    base: Money
    tax: Money


def tax_inside(sum_: Money, rate: Decimal) -> Money:
    """The tax that a sum holds, nothing for a sum that is not above nought.

    Examples
    --------
    >>> str(tax_inside(Money.of(500, "GBP"), Decimal("0.2")))
    '83.33 GBP'
    """
    if sum_.minor <= 0:
        return Money(0, sum_.currency)
    return sum_.part(rate, 1 + rate)


def taxed(scheme: TaxedAs, price: Money, bought: Money | None, rate: Decimal) -> TaxedSale:
    """Tax a sale of what the shop bought.

    Raises
    ------
    InputError
        It was not bought, or in another currency.
    """
    if bought is None or scheme == "commission":
        raise InputError(
            "what the shop paid for it is not known",
            received=scheme,
            remedy="Enter the purchase price with the tax scheme.",
        )
    earned = price - bought if scheme == "margin" else price
    tax = tax_inside(earned, rate)
    return TaxedSale(earned, earned - tax, tax)
