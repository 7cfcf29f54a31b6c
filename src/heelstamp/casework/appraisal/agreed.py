"""Sums that were agreed: the value to insure and the price paid, as they stand in a dossier."""

from __future__ import annotations

from heelstamp.catalogue import DossierState, Price
from heelstamp.errors import InputError
from heelstamp.valuation.money import Money

INSURED, SOLD = "insured value", "sold"


def sum_of(price: Price, currency: str) -> Money:
    """Read an agreed sum, in the currency in which the instrument is priced.

    Raises
    ------
    InputError
        It was agreed in another currency, or has more decimals than this one.
    """
    if price.currency not in (None, currency):
        raise InputError(
            "a sum agreed in another currency",
            where=f"entry {price.id}",
            received=f"{price.amount} {price.currency}",
            remedy=f"Enter it in {currency}.",
        )
    return Money.parse(price.amount, currency, where=f"entry {price.id}")


def agreed_price(state: DossierState, of: str) -> Price | None:
    """Find the sum agreed last, of `INSURED` or `SOLD`; None without one."""
    return state.last(Price, of=of)
