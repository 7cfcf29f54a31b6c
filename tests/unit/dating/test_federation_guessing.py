"""What can be guessed of single instruments from a shop's tables; docs/methods/federation.md."""

import numpy as np

from fakes.federated_census import GROUPS, SPAN, drawn, wherry
from fakes.month_guessing import Guesser, share_found
from heelstamp.dating.change_quadrature import CurveGrid
from heelstamp.dating.federation.tables import CENTRES_APART, in_nats, in_steps, tabulated


def guessed(count: int, blur: float, repeats: int) -> tuple[float, float]:
    """Share of months found, and share of months drawn from production that are as near."""
    model = wherry()
    guesser = Guesser(CurveGrid(model.completion, SPAN, CENTRES_APART), blur=blur)
    production = np.arange(len(model.prior)) + model.completion.first
    found, chance = [], []
    for repeat in range(repeats):
        shop = drawn(count, 500 + repeat)
        blurred = dict.fromkeys(GROUPS, blur)
        tables = tabulated(model, [one.seen for one in shop], GROUPS, SPAN, blurred=blurred)
        sent = [in_nats(in_steps(one.log)) for one in tables.values()]
        true = [float(one.completed) for one in shop]
        found.append(share_found(guesser.months_in(sent, count), true))
        rng = np.random.default_rng(repeat)
        for _ in range(20):
            drawn_months = rng.choice(production, count, p=model.prior).tolist()
            chance.append(share_found(drawn_months, true))
    return float(np.mean(found)), float(np.mean(chance))


def test_one_instrument_is_found_in_its_tables() -> None:
    """Why the difference of two tables is bound as a table is."""
    found, chance = guessed(1, 0.0, 12)
    assert found > 0.8
    assert chance < 0.15


def test_who_came_in_is_found_in_the_difference_of_two_sets_of_tables() -> None:
    """Thirty instruments, then one more: the difference is a table of that one, rounded."""
    model = wherry()
    guesser = Guesser(CurveGrid(model.completion, SPAN, CENTRES_APART))
    near = []
    for repeat in range(4):
        shop = drawn(31, 900 + repeat)
        before, after = (
            tabulated(model, [one.seen for one in some], GROUPS, SPAN) for some in (shop[:-1], shop)
        )
        more = [
            in_nats(in_steps(after[group].log)) - in_nats(in_steps(before[group].log))
            for group in GROUPS
        ]
        near.append(share_found(guesser.months_in(more, 1), [float(shop[-1].completed)]))
    assert np.mean(near) >= 0.75


def test_five_instruments_are_found_far_more_often_than_by_chance() -> None:
    """Why five are no protection."""
    found, chance = guessed(5, 0.0, 6)
    assert found > chance + 0.25


def test_twenty_blurred_instruments_are_found_little_more_often_than_by_chance() -> None:
    """What is left of the guess where a table is allowed: the page says that it is not nothing."""
    sharp, chance = guessed(20, 0.0, 4)
    blurred, _ = guessed(20, 6.0, 4)
    assert blurred < sharp
    assert blurred < chance + 0.2
