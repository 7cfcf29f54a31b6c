"""The consignor's statement: what was done, what is left, what they net, on one page.

Plain values for the PDF paper and for programs, and the same as text. Sums come from the
settlement, exact; the page says what the price is (sold, offered, or a middle nobody has paid).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import msgspec

from heelstamp.casework.appraisal.consignment import Terms
from heelstamp.valuation.money import ROUNDING_RULE, Money
from heelstamp.valuation.price_cuts import payment_day

CAUTION = "Not an appraisal under any licence, and neither tax nor legal advice."
_NAME, _SUM = 44, 20


class ConsignorPage(msgspec.Struct, frozen=True, kw_only=True):
    """The page.

    Attributes
    ----------
    rows
        Name, how it was worked out, exact sum: the price first, then what is taken off.
    told
        Sentences about sums that are stated and not taken off.
    notes
        Rounding, payment day, age of the consignment.
    done, left
        Acts of the shop; what was not done or examined.
    clauses
        Title and text of each term, in the shop's words.
    """

    instrument: str
    price: str
    basis: str
    rows: list[tuple[str, str, str]]
    net: str
    told: list[str]
    notes: list[str]
    done: list[str]
    left: list[str]
    clauses: list[tuple[str, str]]
    caution: str = CAUTION

    def lines(self) -> list[str]:
        """Return the page as lines of text."""
        lines = [f"Statement to the consignor: {self.instrument}", ""]
        lines.append(f"{f'Price, {self.basis}':<{_NAME}}{self.price:>{_SUM}}")
        for name, basis, sum_ in self.rows:
            lines.append(f"{_short(f'{name}: {basis}'):<{_NAME}}{sum_:>{_SUM}}")
        lines += [f"{'Net to you':<{_NAME}}{self.net:>{_SUM}}", *self.told, "", *self.notes]
        for title, texts in (
            ("What was done:", self.done),
            ("What was not done or examined:", self.left),
            ("Terms:", [f"{title}: {text}" for title, text in self.clauses]),
        ):
            if texts:
                lines += ["", title, *(f"  {one}" for one in texts)]
        return [*lines, "", self.caution]


def consignor_page(
    terms: Terms,
    price: Money,
    *,
    instrument: str,
    basis: str,
    done: Sequence[str] = (),
    left: Sequence[str] = (),
    today: date | None = None,
    sold: date | None = None,
) -> ConsignorPage:
    """Make the page.

    Parameters
    ----------
    instrument
        What it is called.
    basis
        What the price is: sold, offered or estimated.
    done, left
        Acts of the shop, and what was not examined or done.
    today, sold
        Days for the age of the consignment and for the payment day.
    """
    found = terms.settled(price)
    pay = terms.document.pay_days
    notes = [f"Rounding: {ROUNDING_RULE}."]
    if sold is not None:
        notes.append(f"Paid by {payment_day(sold, pay).isoformat()}.")
    else:
        notes.append(f"Paid within {pay} days of the sale.")
    age = None if today is None else terms.age(today)
    if age is not None:
        over = f"{age.left} days left" if age.left >= 0 else f"over since {-age.left} days"
        notes.append(f"Here for {age.days} days; the term ends {age.ends.isoformat()}, {over}.")
    return ConsignorPage(
        instrument=instrument,
        price=price.exact(),
        basis=basis,
        rows=[(one.name, one.basis, one.amount.exact()) for one in found.lines],
        net=found.net.exact(),
        told=[
            f"{one.name} ({one.basis}), not deducted: {one.amount.exact()}" for one in found.told
        ],
        notes=notes,
        done=list(done),
        left=list(left),
        clauses=[(one.title, one.text) for one in terms.document.clause],
    )


def _short(text: str) -> str:
    return text if len(text) < _NAME else f"{text[: _NAME - 2]}…"
