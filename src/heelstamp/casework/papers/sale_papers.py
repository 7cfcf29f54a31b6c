"""Papers of a sale's money: invoice, receipt for money, refund slip, the consignor's settlement.

Every sum is one of the journal's, or follows from those by the terms; nothing is typed again. What
goes to a buyer names nobody but the buyer, by role, and masks the number. A settlement adds up to
the cent, or is refused.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from heelstamp.casework.feature_names import heading
from heelstamp.casework.papers.form import FormPaper, FormSection, FormTable
from heelstamp.casework.papers.making import Making
from heelstamp.casework.sale.last_sale import LastSale, last_sale
from heelstamp.catalogue import TaxScheme
from heelstamp.errors import ConflictError, InputError
from heelstamp.valuation.money import Money
from heelstamp.valuation.settlement import Settlement
from heelstamp.wording import about_sale_papers as about

SUMS = (1,)
"""Columns of sums in a table of two."""


def invoice_paper(made: Making) -> FormPaper:
    """What a buyer owes and has paid of the price agreed.

    Raises
    ------
    InputError
        No price is agreed.
    """
    sale = _sale(made)
    rows = [("Price agreed", _told(sale, sale.price))]
    rows += [
        (f"{heading(one.of)} received {made.day_words(one.day)}", _told(sale, -one.sum))
        for one in sale.payments
    ]
    rows += [
        (f"Given back {made.day_words(one.day)}", _told(sale, Decimal(one.amount or 0)))
        for one in sale.refunds
    ]
    if sale.reduced and not sale.ended:
        rows.append(("Price lowered by what was given back since", _told(sale, -sale.reduced)))
    if sale.ended:
        rows.append(("The price is no longer owed", _told(sale, -sale.price)))
    rows.append(_left(sale))
    sections = [
        FormSection(
            "Sold",
            (
                about.sold_to.say(
                    buyer=sale.agreed.party,
                    day=made.day_words(sale.agreed.day),
                    price=_told(sale, sale.price),
                ),
                *_ended(made, sale),
            ),
            FormTable(("", "Sum"), tuple(rows), SUMS),
        ),
        FormSection("What else an invoice needs", (*_scheme(made), about.invoice_law.say())),
    ]
    return made.paper("invoice", _facts(made, sale), sections)


def money_paper(made: Making) -> FormPaper:
    """What a buyer paid, by what means, and the day on which its funds cleared.

    Raises
    ------
    InputError
        Nothing was paid.
    """
    sale = _sale(made)
    if not sale.payments:
        raise InputError(
            "nothing was paid", where=_tag(made), remedy="Enter the payment under Sale."
        )
    rows = tuple(
        (
            made.day_words(one.day),
            heading(one.of),
            one.means,
            made.day_words(one.cleared) if one.cleared else "not cleared",
            _told(sale, one.sum),
        )
        for one in sale.payments
    )
    sums = (
        ("Received", _told(sale, sale.received)),
        ("Of it cleared", _told(sale, sale.cleared)),
        ("Given back", _told(sale, sale.refunded)),
        _left(sale),
    )
    sections = [
        FormSection(
            "Received",
            (
                about.received_from.say(buyer=sale.agreed.party, price=_told(sale, sale.price)),
                *_ended(made, sale),
            ),
            FormTable(("Day", "What", "By", "Funds cleared", "Sum"), rows, (4,)),
        ),
        FormSection(
            "Together",
            (about.funds_count.say(),),
            FormTable(("", "Sum"), sums, SUMS),
            signatures=("For the shop",),
        ),
    ]
    return made.paper("money", _facts(made, sale), sections)


def refund_paper(made: Making) -> FormPaper:
    """What was given back to a buyer, and what of their money stays.

    Raises
    ------
    InputError
        Nothing was given back.
    """
    sale = _sale(made)
    if not sale.refunds:
        raise InputError(
            "nothing was given back", where=_tag(made), remedy="Enter the refund under Sale."
        )
    rows = tuple(
        (made.day_words(one.day), _told(sale, Decimal(one.amount or 0))) for one in sale.refunds
    )
    sums = (
        ("Received, and cleared", _told(sale, sale.cleared)),
        ("Given back", _told(sale, sale.refunded)),
        ("Stays with the shop", _told(sale, sale.cleared - sale.refunded)),
    )
    sections = [
        FormSection(
            "Given back",
            (about.refunded_to.say(buyer=sale.agreed.party), *_ended(made, sale)),
            FormTable(("Day", "Sum"), rows, SUMS),
        ),
        FormSection(
            "Together",
            (),
            FormTable(("", "Sum"), sums, SUMS),
            signatures=("The buyer", "For the shop"),
        ),
    ]
    return made.paper("refund", _facts(made, sale), sections)


def settlement_paper(made: Making) -> FormPaper:
    """What the consignor gets of a sale that is final, line by line, and what was paid out.

    Raises
    ------
    InputError
        The sale is not final.
    ConflictError
        No terms known here lead to the sum that was entered as due.
    """
    sale = _sale(made)
    if sale.final is None or sale.ended:
        raise InputError(
            "the sale is not final",
            where=_tag(made),
            remedy="Its last day of return has to pass; then enter it as final under Sale.",
        )
    due = Decimal(sale.final.amount or 0)
    lines = _lines(made, sale, due)
    rows = [("Price agreed", "", _told(sale, sale.price))]
    if sale.reduced:
        rows.append(("Given back to the buyer", "", _told(sale, -sale.reduced)))
    rows += [(heading(one.name), one.basis, one.amount.exact()) for one in lines.lines]
    rows.append(("Due to you", "", _told(sale, due)))
    rows += [
        ("Paid to you", made.day_words(one.day), _told(sale, -Decimal(one.amount or 0)))
        for one in sale.payouts
    ]
    rows.append(("Still to be paid", "", _told(sale, due - sale.paid_out)))
    told = tuple(
        about.told_apart.say(name=one.name, basis=one.basis, sum_=one.amount.exact())
        for one in lines.told
    )
    earned = sale.kept - due
    sums = (
        ("Received from the buyer", _told(sale, sale.received)),
        ("Given back to the buyer", _told(sale, sale.refunded)),
        ("Commission, charges and tax", _told(sale, earned)),
        ("Paid to you", _told(sale, sale.paid_out)),
        ("Still held for you", _told(sale, due - sale.paid_out)),
    )
    sections = [
        FormSection(
            "Settlement",
            (about.settled_on.say(day=made.day_words(sale.final.day)), *told),
            FormTable(("Line", "How", "Sum"), tuple(rows), (2,)),
        ),
        FormSection("It adds up", (about.adds_up.say(),), FormTable(("", "Sum"), sums, SUMS)),
        FormSection("Tax", (about.settlement_advice.say(),), signatures=("For the shop",)),
    ]
    facts = [("Sale", _number(made, sale)), *made.identity()]
    return made.paper("settlement", facts, sections)


SALE_PAPERS: dict[str, Callable[[Making], FormPaper]] = {
    "invoice": invoice_paper,
    "money": money_paper,
    "refund": refund_paper,
    "settlement": settlement_paper,
}
"""Papers of a sale's money, by name."""


def _scheme(made: Making) -> tuple[str, ...]:
    declared = made.state.last(TaxScheme)
    if declared is None or declared.scheme != "margin":
        return ()  # what the shop earns on commission is no matter of the buyer's
    return (about.invoice_margin.say(),)


def _sale(made: Making) -> LastSale:
    found = last_sale(made.state)
    if found is None:
        raise InputError(
            "no price is agreed", where=_tag(made), remedy="Enter the sale up to agreed under Sale."
        )
    return found


def _lines(made: Making, sale: LastSale, due: Decimal) -> Settlement:
    """The settlement, by those of the terms that lead to the sum entered as due."""
    kept = Money.of(sale.kept, sale.currency)
    for terms in made.agreed_terms:
        found = terms.settled(kept)
        if found.net.amount == due:
            return found
    raise ConflictError(
        "no terms known here lead to the sum that is due",
        where=_tag(made),
        received=f"{due} {sale.currency} of {kept}",
        remedy="Bring the terms back under which it became final; then print it again.",
    )


def _facts(made: Making, sale: LastSale) -> list[tuple[str, str]]:
    return [
        ("Sale", _number(made, sale)),
        ("Buyer", sale.agreed.party),
        *made.identity(masked=True),
    ]


def _left(sale: LastSale) -> tuple[str, str]:
    left = sale.left_to_pay
    name = "Still to pay" if left >= 0 else "Still to be given back to you"
    return name, _told(sale, abs(left))


def _ended(made: Making, sale: LastSale) -> tuple[str, ...]:
    return (about.sale_ended.say(day=made.day_words(sale.ended)),) if sale.ended else ()


def _number(made: Making, sale: LastSale) -> str:
    return f"{_tag(made)}/{sale.number}"


def _tag(made: Making) -> str:
    return made.state.instrument.tag


def _told(sale: LastSale, sum_: Decimal) -> str:
    return Money.of(sum_, sale.currency).exact()
