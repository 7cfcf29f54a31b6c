"""Settlements of 5,000 random terms, against whole cents added up by other code.

The other code knows rates as ten-thousandths and sums as integers of cents, and rounds by integer
division, half away from nought. The least price for a floor is found by trying every price below.
"""

from __future__ import annotations

import random
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest

from heelstamp.errors import InputError
from heelstamp.valuation.money import Money
from heelstamp.valuation.settlement import (
    Charge,
    SettlementTerms,
    Tax,
    Tier,
    least_price_for,
    settle,
)

WHOLE = 10_000


def rounded(over: int, under: int) -> int:
    """Divide, half away from nought."""
    sign = -1 if over < 0 else 1
    return sign * ((2 * abs(over) + under) // (2 * under))


def in_cents(price: int, drawn: dict[str, Any]) -> tuple[int, int, int, int]:
    """Commission, tax added, tax inside and net, in cents."""
    begin = exact = 0
    for end, rate in drawn["tiers"]:
        top = price if end is None else min(price, end)
        if top > begin:
            exact += rate * (top - begin)
            begin = top
    commission = min(price, max(drawn["least"], rounded(exact, WHOLE)))
    charges = sum(drawn["charges"])
    tax, added, inside = drawn["tax"], 0, 0
    if drawn["scheme"] == "added":
        added = rounded((commission + charges) * tax, WHOLE)
    elif drawn["scheme"] == "inside":
        inside = rounded(commission * tax, WHOLE + tax)
    return commission, added, inside, price - commission - charges - added


def draw(chance: random.Random, most: int) -> dict[str, Any]:
    count = chance.randint(0, 3)
    ends = sorted(chance.sample(range(1, most), count))
    return {
        "tiers": [(end, chance.randint(0, 6000)) for end in [*ends, None]],
        "least": chance.choice([0, 0, chance.randint(1, most // 4)]),
        "charges": [chance.randint(0, most // 20) for _ in range(chance.randint(0, 3))],
        "scheme": chance.choice(["none", "added", "inside"]),
        "tax": chance.choice([700, 1900, 2000, 2500, chance.randint(1, 3000)]),
    }


def terms_of(drawn: dict[str, Any]) -> SettlementTerms:
    return SettlementTerms(
        "USD",
        [
            Tier(None if end is None else Money(end, "USD"), Decimal(rate) / WHOLE)
            for end, rate in drawn["tiers"]
        ],
        Money(drawn["least"], "USD") if drawn["least"] else None,
        [Charge(f"charge {n}", Money(sum_, "USD")) for n, sum_ in enumerate(drawn["charges"])],
        Tax(drawn["scheme"], Decimal(drawn["tax"]) / WHOLE),
    )


def test_five_thousand_terms_to_the_cent() -> None:
    chance = random.Random(5000)
    for _ in range(5000):
        drawn = draw(chance, 3_000_000)
        price = chance.randint(0, 4_000_000)
        found = settle(Money(price, "USD"), terms_of(drawn))
        commission, added, inside, net = in_cents(price, drawn)
        taxes = sum(-one.amount.minor for one in found.lines if one.name == "tax")
        told = sum(one.amount.minor for one in found.told)
        assert (found.commission.minor, taxes, told, found.net.minor) == (
            commission,
            added,
            inside,
            net,
        ), (price, drawn)


def test_the_least_price_for_a_floor_is_the_least() -> None:
    # by trying every price: rounding makes the net fall by a cent where price and tax both round up
    chance = random.Random(77)
    fell = 0
    for _ in range(400):
        drawn = draw(chance, 900)
        floor = chance.randint(1, 700)
        terms = terms_of(drawn)
        nets = [in_cents(price, drawn)[3] for price in range(4000)]
        fell += any(later < before for before, later in pairwise(nets))
        wanted = next((price for price, net in enumerate(nets) if net >= floor), None)
        if wanted is None:
            continue
        assert least_price_for(Money(floor, "USD"), terms).minor == wanted, (floor, drawn)
    assert fell > 100


def test_tax_that_eats_the_price_is_told() -> None:
    terms = SettlementTerms("USD", [Tier(None, Decimal("0.9"))], tax=Tax("added", Decimal("0.2")))
    with pytest.raises(InputError, match="no price nets so much"):
        least_price_for(Money(100, "USD"), terms)


def test_half_a_cent_of_tax_inside_is_rounded_from_the_exact_ratio() -> None:
    # 0.03 at 20 %: a sixth of three cents is half a cent, away from nought one cent
    terms = SettlementTerms("USD", [Tier(None, Decimal(1))], tax=Tax("inside", Decimal("0.2")))
    (told,) = settle(Money(3, "USD"), terms).told
    assert told.amount.minor == 1
