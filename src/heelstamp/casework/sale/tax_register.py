"""The tax register: one row for each sale that is final, under the scheme that the shop declared.

Where nothing was declared a sale is one on commission, taxed as its terms say. A register shows
what the shop declares; which scheme a sale may be under, and what else a return needs, is for who
may advise on tax.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from heelstamp.casework.sale.last_sale import last_sale
from heelstamp.catalogue import DossierState, TaxScheme
from heelstamp.valuation.money import Money, parse_rate
from heelstamp.valuation.sale_tax import taxed
from heelstamp.valuation.settlement import Settlement, SettlementTerms
from heelstamp.wording import about_tax as about


class Agreed(Protocol):
    """Terms of consignment, as `heelstamp.casework.appraisal.consignment.Terms` has them."""

    @property
    def settlement(self) -> SettlementTerms:
        """For the engine."""
        ...

    def settled(self, price: Money) -> Settlement:
        """Settle a price."""
        ...


@dataclass(frozen=True, slots=True)
class TaxRow:
    """One sale.

    Attributes
    ----------
    day
        On which it became final.
    price
        What the buyer paid and kept paid.
    bought
        What the shop paid for the instrument; None where it sold for the owner.
    earned, base, tax
        Commission and charges, margin, or the price; what the tax is a share of; the tax. None
        where they cannot be told.
    remark
        What to look at; empty without.
    """

    day: str
    tag: str
    scheme: str
    rate: str
    price: Money
    bought: Money | None
    earned: Money | None
    base: Money | None
    tax: Money | None
    remark: str = ""


def tax_row(state: DossierState, terms: Sequence[Agreed]) -> TaxRow | None:
    """The row of an instrument's last sale; None before it is final.

    Parameters
    ----------
    terms
        Under which it may have become final, those that hold first.
    """
    sale = last_sale(state)
    if sale is None or sale.final is None or sale.ended:
        return None
    price = Money.of(sale.kept, sale.currency)
    declared = state.last(TaxScheme)
    day, tag = sale.final.day, state.instrument.tag
    if declared is None or declared.scheme == "commission":
        return _commission(day, tag, price, str(sale.final.amount), terms)
    rate = parse_rate(declared.rate)
    bought = Money.parse(declared.bought or "", declared.currency or sale.currency)
    if bought.currency != price.currency:
        remark = about.other_currency.say(bought=str(bought))
        return TaxRow(
            day, tag, declared.scheme, declared.rate, price, bought, None, None, None, remark
        )
    found = taxed(declared.scheme, price, bought, rate)
    remark = ""
    if declared.scheme == "margin":
        remark = about.loss.say() if found.earned.minor < 0 else about.margin_words.say()
    return TaxRow(
        *(day, tag, declared.scheme, declared.rate, price, bought),
        *(found.earned, found.base, found.tax, remark),
    )


def _commission(day: str, tag: str, price: Money, due: str, terms: Sequence[Agreed]) -> TaxRow:
    for one in terms:
        found = one.settled(price)
        if found.net.amount != Money.parse(due, price.currency).amount:
            continue
        tax = one.settlement.tax
        nought = Money(0, price.currency)
        taken = sum_of([line.amount for line in found.lines if line.name != "tax"], nought)
        added = sum_of([line.amount for line in found.lines if line.name == "tax"], nought)
        inside = sum_of([line.amount for line in found.told], nought)
        whole = -taken
        part = -added if tax.scheme == "added" else inside
        base = whole if tax.scheme == "added" else whole - inside
        rate = "" if tax.scheme == "none" else f"{(tax.rate * 100).normalize():f} %"
        return TaxRow(day, tag, "commission", rate, price, None, whole, base, part)
    return TaxRow(
        *(day, tag, "commission", "", price, None, None, None, None), about.no_terms.say()
    )


def sum_of(amounts: list[Money], nought: Money) -> Money:
    """Add amounts to nought of their currency."""
    for one in amounts:
        nought += one
    return nought
