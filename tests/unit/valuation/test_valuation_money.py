"""Money: whole cents, one rounding rule, nothing lost."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.valuation.money import Money, parse_rate, total


@pytest.mark.parametrize(
    ("text", "minor"),
    [
        ("9100", 910000),
        ("9,100", 910000),
        ("9 100.50", 910050),
        ("0.05", 5),
        ("1,234,567", 123456700),
    ],
)
def test_amounts_are_read(text: str, minor: int) -> None:
    assert Money.parse(text, "USD").minor == minor


@pytest.mark.parametrize(
    "text",
    ["", "9.100,50", "9,10", "1,2345", "$9100", "nine", "9100.505", "1e5", "9,100,50", "inf"],
)
def test_what_is_no_amount_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        Money.parse(text, "USD")


def test_currencies_have_their_own_decimals_and_never_mix() -> None:
    assert Money.parse("9100", "JPY").minor == 9100
    assert str(Money(9100, "JPY")) == "9,100 JPY"
    assert Money.parse("1.250", "KWD").minor == 1250
    with pytest.raises(InputError, match="more decimals"):
        Money.parse("9100.5", "JPY")
    for act in (lambda a, b: a + b, lambda a, b: a - b, lambda a, b: a < b, lambda a, b: a <= b):
        with pytest.raises(InputError, match="two currencies"):
            act(Money(1, "USD"), Money(1, "EUR"))
    with pytest.raises(InputError, match="not a currency"):
        Money(1, "usd")
    with pytest.raises(InputError, match="more money"):
        Money(10**16, "USD")


def test_rounding_is_half_away_from_zero() -> None:
    assert Money(5, "USD").share(Decimal("0.1")).minor == 1
    assert Money(-5, "USD").share(Decimal("0.1")).minor == -1
    assert Money(4, "USD").share(Decimal("0.1")).minor == 0
    assert Money.nearest(0.125, "USD").minor == 13
    assert Money(10_125_00, "USD").rounded_to(Money(250_00, "USD")).minor == 10_250_00
    assert Money(10_001_00, "USD").rounded_to(Money(500_00, "USD"), up=True).minor == 10_500_00
    assert Money(10_000_00, "USD").rounded_to(Money(500_00, "USD"), up=True).minor == 10_000_00
    with pytest.raises(InputError, match="above nought"):
        Money(1, "USD").rounded_to(Money(0, "USD"))


def test_written_with_and_without_decimals() -> None:
    assert str(Money(910000, "USD")) == "9,100 USD"
    assert str(Money(-910050, "USD")) == "−9,100.50 USD"
    assert Money(711300, "USD").exact() == "7,113.00 USD"


@given(st.lists(st.integers(-(10**9), 10**9)))
def test_sums_lose_nothing(minors: list[int]) -> None:
    assert total((Money(one, "USD") for one in minors), "USD").minor == sum(minors)


@given(st.integers(-(10**12), 10**12))
def test_exact_text_reads_back(minor: int) -> None:
    text = Money(minor, "USD").exact().removesuffix(" USD").replace("−", "-")
    assert Money.parse(text, "USD").minor == minor


def test_rates() -> None:
    assert parse_rate("22 %") == Decimal("0.22")
    assert parse_rate("0.14") == Decimal("0.14")
    for text in ("", "22", "-1 %", "nan", "x"):
        with pytest.raises(InputError, match="not a share"):
            parse_rate(text)
