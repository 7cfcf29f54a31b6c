"""Settlements by hand, to the cent."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.valuation.money import Money, total
from heelstamp.valuation.price_cuts import ageing, payment_day, price_cuts
from heelstamp.valuation.settlement import (
    Charge,
    SettlementTerms,
    Tax,
    Tier,
    commission_on,
    least_price_for,
    settle,
)


def usd(text: str) -> Money:
    return Money.parse(text, "USD")


TIERS = (Tier(usd("5000"), Decimal("0.22")), Tier(None, Decimal("0.14")))
CHARGES = (Charge("agreed bench work", usd("185")), Charge("carriage and cover", usd("128")))


def terms(**changes: object) -> SettlementTerms:
    return SettlementTerms(**{"currency": "USD", "tiers": TIERS, "charges": CHARGES, **changes})  # type: ignore[arg-type]


def test_the_worked_example() -> None:
    # 22 % of 5,000 is 1,100; 14 % of 4,100 is 574; 9,100 - 1,674 - 185 - 128 = 7,113
    found = settle(usd("9100"), terms())
    assert found.commission == usd("1674")
    assert found.net == usd("7113")
    assert [one.name for one in found.lines] == [
        "commission",
        "agreed bench work",
        "carriage and cover",
    ]
    assert found.lines[0].basis == "22 % up to 5,000 USD, 14 % above"
    assert found.told == ()


@pytest.mark.parametrize(
    ("price", "commission"),
    [
        ("0", "0"),
        ("5000", "1100"),
        ("4999.99", "1100"),
        ("5000.01", "1100"),
        ("0.02", "0"),
        ("0.03", "0.01"),
        ("5003.57", "1100.50"),
        ("5003.58", "1100.50"),
    ],
)
def test_commission_at_the_edges(price: str, commission: str) -> None:
    # 4999.99 x 0.22 = 1099.9978; 5003.57: 1100 + 0.4998; 5003.58: 1100 + 0.5012
    assert commission_on(usd(price), terms()) == usd(commission)


def test_least_commission_is_never_above_the_price() -> None:
    least = terms(least_commission=usd("250"))
    assert commission_on(usd("600"), least) == usd("250")
    assert commission_on(usd("100"), least) == usd("100")
    assert "at least 250 USD" in settle(usd("600"), least).lines[0].basis


def test_tax_added_and_tax_inside() -> None:
    # added: 20 % of 1,674 + 185 + 128 = 397.40
    added = settle(usd("9100"), terms(tax=Tax("added", Decimal("0.2"))))
    assert added.lines[-1].amount == -usd("397.40")
    assert added.net == usd("6715.60")
    # inside: 1,674 x 20/120 = 279.00, told and not taken off again
    inside = settle(usd("9100"), terms(tax=Tax("inside", Decimal("0.2"))))
    assert inside.net == usd("7113")
    assert inside.told[0].amount == usd("279")


def test_a_price_may_not_cover_the_charges_and_says_so() -> None:
    assert settle(usd("100"), terms()).net == usd("100") - usd("22") - usd("313")


def test_terms_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="must reach any price"):
        terms(tiers=(Tier(usd("5000"), Decimal("0.2")),))
    with pytest.raises(InputError, match="must rise"):
        terms(
            tiers=(Tier(usd("5000"), Decimal("0.2")), Tier(usd("4000"), Decimal("0.1")), TIERS[1])
        )
    with pytest.raises(InputError, match="another currency"):
        settle(Money(1, "EUR"), terms())
    with pytest.raises(InputError, match="below nought"):
        settle(Money(-1, "USD"), terms())


@given(st.integers(0, 10**8))
def test_price_and_lines_add_up_to_the_net(minor: int) -> None:
    found = settle(Money(minor, "USD"), terms(tax=Tax("added", Decimal("0.19"))))
    assert found.price + total((one.amount for one in found.lines), "USD") == found.net


@given(st.integers(0, 10**7))
def test_the_least_price_for_a_net_is_the_least(minor: int) -> None:
    net = Money(minor, "USD")
    price = least_price_for(net, terms())
    assert net <= settle(price, terms()).net
    assert settle(Money(price.minor - 1, "USD"), terms()).net < net


def test_no_price_nets_anything_when_all_goes_in_commission() -> None:
    with pytest.raises(InputError, match="no price nets"):
        least_price_for(usd("10"), terms(tiers=(Tier(None, Decimal(1)),)))


def test_price_cuts_fall_to_the_floor_and_stay() -> None:
    steps = price_cuts(
        usd("9900"),
        usd("9000"),
        first=date(2026, 11, 15),
        every_days=30,
        cut=Decimal("0.04"),
        step=usd("50"),
    )
    # 9,900 x 0.96 = 9,504, to whole fifties 9,500; x 0.96 = 9,120 -> 9,100; x 0.96 -> the floor
    assert [str(one.price) for one in steps] == ["9,900 USD", "9,500 USD", "9,100 USD", "9,000 USD"]
    assert steps[-1].day == date(2027, 2, 13)


def test_cuts_smaller_than_a_step_still_fall() -> None:
    steps = price_cuts(
        usd("1000"),
        usd("900"),
        first=date(2026, 1, 1),
        every_days=7,
        cut=Decimal("0.01"),
        step=usd("50"),
    )
    assert [one.price.minor for one in steps] == [100000, 95000, 90000]


def test_schedules_that_cannot_be_are_refused() -> None:
    day = date(2026, 1, 1)
    with pytest.raises(InputError, match="floor is above"):
        price_cuts(usd("1"), usd("2"), first=day, every_days=1, cut=Decimal("0.1"), step=usd("1"))
    with pytest.raises(InputError, match="cuts by a share"):
        price_cuts(usd("2"), usd("1"), first=day, every_days=0, cut=Decimal("0.1"), step=usd("1"))
    with pytest.raises(InputError, match="never ends"):
        price_cuts(
            usd("9000"), usd("1"), first=day, every_days=1, cut=Decimal("0.001"), step=usd("0.01")
        )


def test_ageing_and_payment() -> None:
    age = ageing(date(2026, 11, 2), 180, date(2026, 11, 25))
    assert (age.days, age.left, age.ends) == (23, 157, date(2027, 5, 1))
    assert ageing(date(2026, 1, 1), 30, date(2026, 3, 1)).left == -29
    assert payment_day(date(2026, 12, 20), 14) == date(2027, 1, 3)
    with pytest.raises(InputError, match="younger"):
        ageing(date(2026, 11, 2), 180, date(2026, 11, 1))
