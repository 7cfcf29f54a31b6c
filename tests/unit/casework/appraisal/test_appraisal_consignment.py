"""Terms of consignment as declared, and the consignor's page."""

import copy
import tomllib
from datetime import date
from itertools import pairwise
from typing import Any

import pytest

from heelstamp.casework.appraisal.consignment import parse_terms
from heelstamp.casework.appraisal.consignor_page import consignor_page
from heelstamp.errors import InputError
from heelstamp.reference.demonstration import demo_terms
from heelstamp.valuation.money import Money

DATA = tomllib.loads(demo_terms())


def changed(**changes: Any) -> dict[str, Any]:
    data = {**copy.deepcopy(DATA), **changes}
    return {key: value for key, value in data.items() if value is not None}


def usd(text: str) -> Money:
    return Money.parse(text, "USD")


def test_the_demonstrations_terms() -> None:
    terms = parse_terms(DATA, where="t")
    assert terms.settled(usd("9,100")).net == usd("7,113")
    # 6,300 net: (x - 5,000) * 0.86 + 3,900 - 313 = 6,300 -> x = 8,154.65
    assert terms.least_price == usd("8,154.65")
    steps = terms.schedule(date(2026, 11, 15))
    assert (steps[0].price, steps[-1].price) == (usd("9,900"), usd("8,200"))
    assert all(later.price < before.price for before, later in pairwise(steps))


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (changed(schema="x"), "not terms of consignment"),
        (changed(reserve="lots"), "field reserve"),
        (changed(commission=[{"rate": "150 %"}]), "not a share"),
        (changed(commission=[]), "must reach any price"),
        (changed(tax={"scheme": "flat"}), "no such tax scheme"),
        (changed(received="2026-02-30"), "field received"),
        (changed(charge=[{"name": "work", "amount": "1.005"}]), "charge work"),
        (changed(term_days=0), "term_days"),
        (changed(tip="10"), "tip"),
    ],
)
def test_bad_terms_are_refused(data: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_terms(data, where="terms.toml")
    assert told in str(caught.value)
    assert "terms.toml" in str(caught.value)


def test_the_consignors_page() -> None:
    lines = consignor_page(
        parse_terms(DATA, where="t"),
        usd("9,100"),
        instrument="Wherry, H-0001",
        basis="sold",
        done=["clean control"],
        left=["the date of the neck"],
        today=date(2026, 11, 25),
        sold=date(2026, 12, 1),
    ).lines()
    text = "\n".join(lines)
    assert len(lines) < 50
    net = next(line for line in lines if line.startswith("Net to you"))
    assert net.endswith("7,113.00 USD")
    for told in (
        "−1,674.00 USD",
        "Rounding: each line",
        "Paid by 2026-12-15.",
        "Here for 23 days; the term ends 2027-05-01, 157 days left.",
        "  clean control",
        "  the date of the neck",
        "Loss: Cover while here",
        "Not an appraisal under any licence",
    ):
        assert told in text


def test_a_term_that_is_over_and_tax_inside() -> None:
    terms = parse_terms(
        changed(term_days=10, clause=[], tax={"scheme": "inside", "rate": "20 %"}), where="t"
    )
    lines = consignor_page(
        terms, usd("9,100"), instrument="W", basis="offered", today=date(2026, 11, 25)
    ).lines()
    text = "\n".join(lines)
    assert "over since 13 days" in text
    assert "tax inside the commission (20 %), not deducted: 279.00 USD" in text
    assert "Paid within 14 days of the sale." in text


def test_no_schedule_without_a_cut() -> None:
    assert parse_terms(changed(cut=None), where="t").schedule(date(2026, 1, 1)) == ()
    assert parse_terms(changed(received=None), where="t").age(date(2026, 1, 1)) is None
