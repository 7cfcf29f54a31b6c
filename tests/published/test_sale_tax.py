"""Tax on a margin and on a price, against examples that tax authorities publish."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from heelstamp.errors import InputError
from heelstamp.valuation.money import Money
from heelstamp.valuation.sale_tax import tax_inside, taxed

TWENTY = Decimal("0.20")


def gbp(text: str) -> Money:
    return Money.parse(text, "GBP")


def test_the_margin_example_of_the_uk_authority() -> None:
    # gov.uk, "VAT margin schemes", overview, as published again by East Cambridgeshire District
    # Council (eastcambs.gov.uk/content/vat-margin-schemes): a work of art bought for 1,500 pounds
    # and sold for 2,000; one sixth (16.67 %) of the difference of 500 is 83.33 pounds
    found = taxed("margin", gbp("2000"), gbp("1500"), TWENTY)
    assert (found.earned, found.tax) == (gbp("500"), gbp("83.33"))
    assert found.base + found.tax == found.earned


@pytest.mark.parametrize(
    ("rate", "fraction"),
    [
        ("0.20", Fraction(1, 6)),  # HMRC, margin scheme for vehicles, 3.3: margin x 1/6
        ("0.175", Fraction(7, 47)),  # the UK's VAT fraction at 17.5 %; from memory
        ("0.23", Fraction(23, 123)),  # the Irish standard rate; from memory
    ],
)
def test_the_fraction_of_a_rate(rate: str, fraction: Fraction) -> None:
    whole = Money(fraction.denominator * 1_000_00, "EUR")
    assert tax_inside(whole, Decimal(rate)).minor == fraction.numerator * 1_000_00


def test_a_loss_bears_no_tax() -> None:
    # HMRC, margin scheme for vehicles, 3.3: VAT is due only where it is sold for more than it cost
    found = taxed("margin", gbp("950"), gbp("1200"), TWENTY)
    assert found.tax == gbp("0")
    assert found.earned == -gbp("250")


def test_a_purchase_taxes_the_whole_price() -> None:
    # Directive 2006/112/EC, article 73: on the whole price; 1,200 holds 200 at 20 %
    found = taxed("purchase", gbp("1200"), gbp("1000"), TWENTY)
    assert (found.base, found.tax) == (gbp("1000"), gbp("200"))


def test_what_was_not_bought_has_no_margin() -> None:
    with pytest.raises(InputError, match="paid for it is not known"):
        taxed("margin", gbp("1200"), None, TWENTY)
