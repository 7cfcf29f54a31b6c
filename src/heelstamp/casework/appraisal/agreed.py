"""Sums that were agreed: the value to insure and the price paid, as they stand in a dossier.

A price paid stands while the sale that agreed it does: after a sale that fell through, or a return,
nothing is sold. In a record without steps of a sale, as older ones are, it stands as entered.
"""

from __future__ import annotations

import msgspec

from heelstamp.casework.sale.blocks import standing_of
from heelstamp.catalogue import DossierState, Price, SaleStep
from heelstamp.catalogue.sale import SOLD_STATES
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


def price_word(state: DossierState) -> str:
    """What a price of a sale is: *agreed* until it is paid, then *sold*."""
    return "agreed" if standing_of(state).state == "agreed" else "sold"


def agreed_price(state: DossierState, of: str) -> Price | None:
    """Find the sum agreed last, of `INSURED` or `SOLD`; None without one."""
    found = state.last(Price, of=of)
    if of != SOLD or found is None or not state.of(SaleStep):
        return found
    sale = standing_of(state)
    if sale.state not in SOLD_STATES or sale.agreed is None:
        return None
    return msgspec.structs.replace(found, amount=str(sale.agreed), currency=sale.currency)
