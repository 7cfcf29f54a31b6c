"""Joined tables: bad shops found and borne, shops taken out bit for bit, sums under masks."""

from functools import cache

import numpy as np
import pytest

from fakes.federated_census import GROUPS, SPAN, shops_of, wherry
from heelstamp.dating import FeatureSeen, Transition
from heelstamp.dating.change_quadrature import CurveGrid
from heelstamp.dating.federation.joining import contaminated, product, shifted
from heelstamp.dating.federation.masks import mask_of, masked, summed
from heelstamp.dating.federation.misfit import misfits
from heelstamp.dating.federation.tables import (
    CENTRES_APART,
    in_nats,
    in_steps,
    learned_from,
    prior_of,
    tabulated,
)
from heelstamp.dating.model import Array

Shop = dict[str, Array]
BAD = 37
EXCHANGED = GROUPS[:14:2]


@cache
def grid() -> CurveGrid:
    return CurveGrid(wherry().completion, SPAN, CENTRES_APART)


@cache
def hundred() -> tuple[Shop, ...]:
    """100 shops of 20 instruments, seven features; one has a third of its variants wrong."""
    shops = shops_of((20,) * 100, 21)
    rng = np.random.default_rng(5)
    features = {one.name: one for one in wherry().features}

    def turned(one: object) -> object:
        if not isinstance(one, FeatureSeen) or rng.random() > 0.3:
            return one
        old, new = features[one.feature].variants[:2]
        return FeatureSeen(one.feature, new if one.variant == old else old)

    shops[BAD] = [tuple(turned(one) for one in seen) for seen in shops[BAD]]  # type: ignore[misc]
    return tuple(
        {
            group.names[0]: in_nats(in_steps(table.log))
            for group, table in tabulated(wherry(), rows, EXCHANGED, SPAN).items()
        }
        for rows in shops
    )


def errors(posteriors: dict[str, Array]) -> float:
    away = []
    for name, posterior in posteriors.items():
        truth = next(one for one in wherry().features if one.name == name).transitions[0]
        assert isinstance(truth, Transition)
        away.append(abs(learned_from(grid(), posterior).centre_mean - truth.centre))
    return float(np.mean(away))


def joined(shops: tuple[Shop, ...] | list[Shop], way=contaminated) -> dict[str, Array]:  # type: ignore[no-untyped-def]
    names = [group.names[0] for group in EXCHANGED]
    prior = prior_of(grid())
    return {name: way([one[name] for one in shops if name in one], prior) for name in names}


def test_one_bad_shop_of_a_hundred_is_found_and_nobody_else() -> None:
    found = misfits(hundred(), prior_of(grid()), grid().step)
    assert [place for place, one in enumerate(found) if one.is_asked] == [BAD]


def test_a_hundred_shops_are_off_by_less_than_half_a_month() -> None:
    """The method's measured figure for a hundred honest shops is 0.48 month."""
    assert errors(joined(hundred())) <= 0.48
    assert errors(joined(hundred(), product)) <= 0.48


def test_ten_shops_whose_dates_are_late_are_borne() -> None:
    """The method's measured figures are 1.35 months contaminated, 4.06 as a product."""
    late = int(18 / grid().step)
    shops = list(hundred())
    for place in range(10):
        shops[place] = {
            name: np.concatenate([np.repeat(table[:1], late, axis=0), table[:-late]])
            for name, table in shops[place].items()
        }
    assert errors(joined(shops)) <= 1.35
    assert errors(joined(shops)) < errors(joined(shops, product))
    asked = [
        place
        for place, one in enumerate(misfits(shops, prior_of(grid()), grid().step))
        if one.is_asked
    ]
    assert asked == [*range(10), BAD]


def test_shops_that_all_shift_widen_what_is_said() -> None:
    """The method's measured figure is 1.04 months with shifts of sd 6, in sixty shops.

    The drawn shifts have a mean of 0: what they have in common no way of joining can tell.
    """
    drawn = np.random.default_rng(8).normal(0, 6.0, 100)
    shops = []
    for shop, by in zip(hundred(), np.rint(drawn - drawn.mean()).astype(int), strict=True):
        own = {}
        for name, table in shop.items():
            places = np.clip(np.arange(len(table)) - by, 0, len(table) - 1)
            own[name] = table[places]
        shops.append(own)
    names, prior = list(shops[0]), prior_of(grid())
    tables = [[one[name] for one in shops] for name in names]
    found = dict(zip(names, shifted(tables, prior, grid().step), strict=True))
    plain = joined(shops)
    assert errors(found) <= 1.04
    sds = [
        np.mean([learned_from(grid(), one).centre_sd for one in some.values()])
        for some in (found, plain)
    ]
    assert sds[0] > 1.05 * sds[1]


def test_taking_a_shop_out_gives_the_state_before_bit_for_bit() -> None:
    shops = list(hundred()[:12])
    before = joined(shops[:11])
    joined(shops)
    after = joined(shops[:11])
    assert all(before[name].tobytes() == after[name].tobytes() for name in before)
    table = shops[0]["f07"]
    total = sum(one["f07"] for one in shops[1:]) + table
    assert (total - table).tobytes() != sum(one["f07"] for one in shops[1:]).tobytes()


def test_a_shop_alone_is_held_against_nobody() -> None:
    (only,) = misfits([hundred()[BAD]], prior_of(grid()), grid().step)
    assert (only.shift, only.any_curve) == (0, 0)
    assert not only.is_asked


def test_masks_cancel_and_hide() -> None:
    rng = np.random.default_rng(2)
    tables = {name: -rng.integers(0, 10**6, (30, 10)) for name in "abcde"}

    def secret(one: str, other: str) -> bytes:
        return "".join(sorted(one + other)).encode() * 16

    parts = {
        name: masked(
            table, name, {other: secret(name, other) for other in tables if other != name}, b"f07"
        )
        for name, table in tables.items()
    }
    assert (summed(parts.values()) == sum(tables.values())).all()
    lacking = summed(one for name, one in parts.items() if name != "c")
    assert (np.abs(lacking) > 10**9).mean() > 0.99
    assert not (mask_of(b"s", b"f07", 50) == mask_of(b"s", b"f13", 50)).any()
    top = (parts["a"] >> np.uint64(63)).mean()
    assert 0.35 < top < 0.65
    with pytest.raises(ValueError, match="nothing to add"):
        summed([])
