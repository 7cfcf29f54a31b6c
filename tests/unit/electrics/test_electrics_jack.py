"""Two readings, two unknowns: forwards by a nodal solver, backwards by the engine."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.nodal import jack_network
from heelstamp.electrics.jack import (
    TRACK_END,
    WIPER,
    WIRINGS,
    at_wiper,
    parallel_leak,
    roots,
    solve,
    track_end,
)
from heelstamp.electrics.meter import Reading, read_meter
from heelstamp.errors import InputError

POTS = st.floats(80e3, 1.2e6)
PICKUPS = st.floats(2e3, 30e3)


def readings(pot: float, pickup: float, wiring: str) -> tuple[float, float, float]:
    """Turn the knob of a network in small steps; give full, greatest and least-volume reading."""
    shares = np.concatenate([np.linspace(0, 1, 41), [(pot + pickup) / (2 * pot)]])
    swept = [
        jack_network(pot, pickup, float(share), wiring).resistance("J", "0")
        for share in shares
        if share <= 1
    ]
    return swept[40], max(swept), swept[0]


@settings(max_examples=15, deadline=None)
@given(POTS, PICKUPS, st.sampled_from(WIRINGS))
def test_a_network_turned_by_hand_gives_back_pot_and_pickup(
    pot: float, pickup: float, wiring: str
) -> None:
    full, sweep, zero = readings(pot, pickup, wiring)
    found = solve(Reading.known(full, 1e-3), Reading.known(sweep, 1e-3), zero_ohm=zero)
    assert found.wiring == wiring
    assert found.told_by == "volume at nothing"
    chosen = found.chosen
    assert chosen is not None
    assert chosen.pot.ohm == pytest.approx(pot, rel=1e-5)
    assert chosen.pickup.ohm == pytest.approx(pickup, rel=1e-4)


@given(POTS, PICKUPS)
def test_both_wirings_give_back_their_own_numbers(pot: float, pickup: float) -> None:
    full = pot * pickup / (pot + pickup)
    assert track_end(full, (pot + pickup) / 4) == pytest.approx((pot, pickup), rel=1e-9)
    assert at_wiper(full, pot) == pytest.approx((pot, pickup), rel=1e-9)


@given(POTS, PICKUPS)
def test_the_smaller_root_as_pot_contradicts_the_sweep(pot: float, pickup: float) -> None:
    """Why the larger root is the pot: exchanged, no place of the knob reads above full."""
    full = pot * pickup / (pot + pickup)
    small, large = pickup, pot
    shares = np.linspace(1e-6, 1, 200)
    exchanged = shares * small * ((1 - shares) * small + large) / (small + large)
    assert exchanged.max() <= full * (1 + 1e-12)


def test_worked_numbers_of_the_trade() -> None:
    """The first pair: worked by hand for a 268 kΩ pot and a 6.62 kΩ pickup; second: the demo."""
    assert roots(6460.0, 68650.0) == pytest.approx((267_980.0, 6_620.0), rel=1e-3)
    found = solve(read_meter("6.42k"), read_meter("61.90k"))
    assert found.chosen is not None
    assert found.chosen.pot.ohm == pytest.approx(241.0e3, rel=1e-4)
    assert found.chosen.pickup.ohm == pytest.approx(6596, abs=0.5)
    assert found.chosen.pot.most / found.chosen.pot.ohm - 1 < 0.015


def test_a_sweep_off_by_one_per_cent_hardly_moves_the_pickup() -> None:
    """A 1 % error in the sweep moves p by 2 Ω: worked out by hand as a bench rule."""
    moved = track_end(6460.0, 68650.0 * 1.01)[1] - track_end(6460.0, 68650.0)[1]
    assert abs(moved) == pytest.approx(2, abs=0.7)


def test_the_nominal_value_tells_the_wiring_or_does_not() -> None:
    by_value = solve(read_meter("6.42k"), read_meter("61.90k"))
    assert (by_value.wiring, by_value.told_by) == (TRACK_END, "nominal value of the pot")
    # 1 MΩ with the pickup at its end, or 250 kΩ with the pickup at its wiper
    both = solve(read_meter("6.55k"), read_meter("251.6k"))
    assert both.wiring is None
    assert both.fitting == WIRINGS
    told = solve(read_meter("6.55k"), read_meter("251.6k"), zero_ohm=251.5e3)
    assert told.wiring == WIPER
    assert solve(read_meter("6.55k"), read_meter("251.6k"), zero_ohm=40.0).wiring == TRACK_END


def test_readings_that_no_wiring_explains_fit_none() -> None:
    found = solve(read_meter("6.42k"), read_meter("61.90k"), zero_ohm=30e3)
    assert (found.wiring, found.fitting) == (None, ())
    odd = solve(read_meter("6.42k"), read_meter("36.00k"))  # 137 kΩ or 36 kΩ
    assert odd.fitting == ()


@pytest.mark.parametrize(
    ("full", "sweep", "zero", "words"),
    [
        ("61.90k", "6.42k", None, "below the one with the volume full"),
        ("6.42k", "6.45k", None, "cannot be told apart"),
        ("6.42k", "61.90k", 80e3, "more with the volume at nothing"),
        ("6.42k", "61.90k", math.nan, "not a resistance"),
    ],
)
def test_impossible_readings_are_refused(
    full: str, sweep: str, zero: float | None, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        solve(read_meter(full), read_meter(sweep), zero_ohm=zero)


@settings(max_examples=25, deadline=None)
@given(POTS, PICKUPS, st.integers(0, 2**32 - 1))
def test_propagated_uncertainty_is_that_of_drawn_errors(
    pot: float, pickup: float, seed: int
) -> None:
    """Linear propagation against 4000 draws within the meter's limits (JCGM 101:2008)."""
    full, sweep = pot * pickup / (pot + pickup), (pot + pickup) / 4
    first, second = (
        Reading(value, 0.005 * value / math.sqrt(3), 0.005 * value) for value in (full, sweep)
    )
    chosen = solve(first, second, zero_ohm=0.0).chosen
    assert chosen is not None
    rng = np.random.default_rng(seed)
    drawn = [
        track_end(full * (1 + a), sweep * (1 + b)) for a, b in rng.uniform(-0.005, 0.005, (4000, 2))
    ]
    spread = np.std(drawn, axis=0)
    assert chosen.pot.standard == pytest.approx(spread[0], rel=0.08)
    assert chosen.pickup.standard == pytest.approx(spread[1], rel=0.08)
    low, high = np.min(drawn, axis=0), np.max(drawn, axis=0)
    for found, least, most in zip((chosen.pot, chosen.pickup), low, high, strict=True):
        assert found.least <= least * (1 + 1e-9)
        assert found.most >= most * (1 - 1e-9)


def test_a_leak_lowers_what_is_read() -> None:
    net = jack_network(250e3, 6596.0, 1.0, TRACK_END)
    net.add("R", "A", "0", 1.25e6)
    seen = net.resistance("J", "0")
    leaky = parallel_leak(6596.0, 1.25e6)
    assert seen == pytest.approx(250e3 * leaky / (250e3 + leaky), rel=1e-6)
