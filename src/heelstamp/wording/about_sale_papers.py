"""What the papers of a sale's money say: invoice, receipt for money, refund slip, settlement.

Sums and days of the record. None is tax or legal advice, which each says where it could be taken
for it.
"""

from __future__ import annotations

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import sentence


@sentence("sold to", "seen", 13)
def sold_to(*, buyer: str, day: str, price: str) -> str:
    return f"Sold to {quoted(buyer)} for {price}, agreed on {day}."


@sentence("sale ended", "seen", 13)
def sale_ended(*, day: str) -> str:
    return f"This sale ended on {day}: it fell through or came back."


@sentence("invoice law", "opinion", 13)
def invoice_law() -> str:
    return (
        "Laws differ on what an invoice must name: parties with addresses, a running number, tax "
        "or the scheme that replaces it. Complete it as the law of the place asks. This is not "
        "tax or legal advice: ask who may give it."
    )


@sentence("invoice margin scheme", "seen", 13)
def invoice_margin() -> str:
    return (
        "Margin scheme: second-hand goods, as the shop declares it. The tax is in the price and is "
        "not shown apart."
    )


@sentence("money received from", "seen", 13)
def received_from(*, buyer: str, price: str) -> str:
    return f"Received from {quoted(buyer)} towards the price of {price}."


@sentence("money funds count", "seen", 13)
def funds_count() -> str:
    return (
        "A payment counts from the day on which its funds cleared; until then it can still be "
        "called back, and nothing leaves the shop for it."
    )


@sentence("money refunded to", "seen", 13)
def refunded_to(*, buyer: str) -> str:
    return f"Given back to {quoted(buyer)}, of what they had paid in cleared funds."


@sentence("settled on", "seen", 13)
def settled_on(*, day: str) -> str:
    return (
        f"The sale is final since {day}: the days in which the buyer could give it back are over, "
        "and the funds are cleared."
    )


@sentence("settlement told apart", "measured", 13)
def told_apart(*, name: str, basis: str, sum_: str) -> str:
    return f"Not taken off again: {name}, {basis}: {sum_}."


@sentence("settlement adds up", "measured", 13)
def adds_up() -> str:
    return (
        "What came in is what was given back, what the shop earned, what was paid to you and what "
        "is still held for you, to the smallest unit."
    )


@sentence("settlement advice", "opinion", 13)
def settlement_advice() -> str:
    return (
        "Whether and where you have to declare this sum is a matter of the law where you live. "
        "This is not tax advice: ask who may give it."
    )
