"""Events of a control against simulated takes on fresh seeds, and what is refused."""

import numpy as np
import pytest

from fakes.crackle_simulator import (
    Room,
    Take,
    above,
    matched,
    ringing,
    room,
    still_take,
    sweep_take,
)
from heelstamp.acoustics.control_noise import ControlNoise, control_noise
from heelstamp.errors import InputError

FRESH = 20_261_125
"""A seed on which nothing was tuned; the same at each run, so that a failure can be repeated."""


def judged(place: Room, seed: int, sweep: Take, **more: object) -> ControlNoise:
    still = still_take(place, seed)
    return control_noise(sweep.samples, place.rate, still.samples, place.rate, **more)  # type: ignore[arg-type]


def rates(buzz_db: float | None, levels: tuple[float, float], count: int) -> tuple[float, float]:
    """Recall and precision over takes of fresh seeds."""
    hits = missed = extra = 0
    for seed in range(FRESH, FRESH + count):
        place = room(seed, buzz_db=buzz_db)
        sweep = sweep_take(place, seed, levels_db=levels)
        found = judged(place, seed, sweep)
        assert found.verdict == "assessed", (seed, found.reasons)
        one = matched(np.array([event.at_s for event in found.events]), sweep.times)
        hits, missed, extra = hits + one[0], missed + one[1], extra + one[2]
    return hits / (hits + missed), hits / (hits + extra)


def test_muted_events_of_18_db_and_more_are_found() -> None:
    recall, precision = rates(None, (18.0, 40.0), 8)
    assert recall >= 0.99, FRESH
    assert precision >= 0.99, FRESH


def test_events_of_24_db_and_more_are_found_in_buzz_of_25() -> None:
    recall, precision = rates(25.0, (24.0, 40.0), 8)
    assert recall >= 0.99, FRESH
    assert precision >= 0.99, FRESH


def test_turns_rate_and_level_are_told() -> None:
    place = room(FRESH)
    sweep = sweep_take(place, FRESH, sweeps=4)
    found = judged(place, FRESH, sweep)
    assert (found.turns, found.turns_from) == (4.0, "counted")
    assert found.per_turn == pytest.approx(len(sweep.times) / 4, abs=0.5)
    assert found.per_turn_90 is not None
    assert found.per_turn_90[0] < len(sweep.times) / 4 < found.per_turn_90[1]
    # the loudest event over the rustle, which is 4 dB over the hiss; the filter rounds a peak
    assert found.loudest_db == pytest.approx(sweep.levels_db.max() + 4, abs=4)
    given = judged(place, FRESH, sweep, turns=8)
    assert (given.turns, given.turns_from) == (8.0, "given")
    assert {limit.code for limit in given.limits} == {"turns heard"}


def test_the_level_of_a_control_without_events_is_that_of_its_rustle() -> None:
    place = room(FRESH + 1)
    sweep = sweep_take(place, FRESH + 1, per_sweep=0.0, rustle_db=6.0)
    found = judged(place, FRESH + 1, sweep)
    assert found.events == ()
    assert found.loudest_db is None
    assert found.per_turn == 0.0
    assert found.level_db == pytest.approx(6.0, abs=1.0)


@pytest.mark.parametrize(("share", "raised"), [(0.1, 16.0), (0.06, 0.0)])
def test_the_dead_angle_is_that_share_of_the_turn(share: float, raised: float) -> None:
    place = room(FRESH + 2)
    sweep = sweep_take(
        place, FRESH + 2, per_sweep=3.0, rustle_db=8.0, dead=(0.4, 0.4 + share, raised)
    )
    found = judged(place, FRESH + 2, sweep)
    assert found.dead_angle_deg == pytest.approx(300 * share, abs=4.0)
    whole = judged(place, FRESH + 2, sweep_take(place, FRESH + 2, per_sweep=3.0, rustle_db=8.0))
    assert whole.dead_angle_deg == 0.0


def test_a_control_that_does_not_rustle_gives_no_turns_to_count() -> None:
    place = room(FRESH + 3)
    sweep = sweep_take(place, FRESH + 3, rustle_db=0.0)
    found = judged(place, FRESH + 3, sweep)
    assert (found.turns, found.per_turn, found.dead_angle_deg) == (None, None, None)
    assert len(found.events) > 0
    assert judged(place, FRESH + 3, sweep, turns=5).per_turn == len(found.events) / 5


def test_throws_of_a_switch_are_told_with_their_bounces() -> None:
    place = room(FRESH + 4)
    sweep = sweep_take(place, FRESH + 4, per_sweep=0.0, rustle_db=0.0)
    samples = sweep.samples.astype(float)
    noise = float(np.std(above(samples, place.rate)))
    clicks = [0.5, 0.504, 0.507, 2.0, 4.0, 4.006]
    for at in clicks:
        samples[round(at * place.rate)] += 100 * noise
    still = still_take(place, FRESH + 4).samples
    found = control_noise(samples, place.rate, still, place.rate, switch=True)
    assert [one.clicks for one in found.throws] == [3, 1, 2]
    assert [one.duration_s for one in found.throws] == pytest.approx([0.007, 0, 0.006], abs=3e-4)
    assert found.turns is None


def codes(found: ControlNoise) -> set[str]:
    assert found.verdict == "refused"
    assert found.per_turn is None
    assert all(reason.found and reason.remedy for reason in found.reasons)
    return {reason.code for reason in found.reasons}


@pytest.mark.parametrize("buzz_db", [None, 25.0])
def test_ringing_strings_are_refused(buzz_db: float | None) -> None:
    place = room(FRESH + 5, buzz_db=buzz_db)
    rest, sweep = ringing(place, FRESH + 5), sweep_take(place, FRESH + 5)
    found = control_noise(sweep.samples, place.rate, rest.samples, place.rate)
    assert codes(found) == {"not still"}


def test_a_knock_at_rest_is_refused_or_raises_the_threshold() -> None:
    place = room(FRESH + 6)
    sweep, still = sweep_take(place, FRESH + 6), still_take(place, FRESH + 6).samples
    noise = float(np.std(above(still.astype(float), place.rate)))
    for size, verdict in ((60, "refused"), (11, "assessed")):
        knocked = still.copy()
        knocked[place.rate] += size * noise
        found = control_noise(sweep.samples, place.rate, knocked, place.rate)
        assert found.verdict == verdict
        if verdict == "assessed":
            assert found.threshold > 2.0
            assert {limit.code for limit in found.limits} == {"restless"}
        else:
            assert codes(found) == {"a knock at rest"}


def test_clipped_silent_short_and_unlike_takes_are_refused() -> None:
    place = room(FRESH + 7)
    sweep, still = sweep_take(place, FRESH + 7).samples, still_take(place, FRESH + 7).samples
    rate = place.rate
    loud = np.clip(sweep * 0.9 / np.quantile(np.abs(sweep), 0.999), -1, 1)
    assert codes(control_noise(loud, rate, still, rate)) == {"clipped"}
    earlier = np.clip(sweep, *(s * np.quantile(np.abs(sweep), 0.995) for s in (-1, 1)))
    assert codes(control_noise(earlier, rate, still, rate)) == {"clipped"}
    gated = np.where(np.arange(len(sweep)) % rate < 0.6 * rate, 0.0, sweep)
    assert codes(control_noise(gated, rate, still, rate)) == {"silent"}
    assert codes(control_noise(sweep[: rate // 2], rate, still, rate)) == {"too short"}
    assert codes(control_noise(sweep, rate, still[:100], rate)) == {"too short"}
    assert codes(control_noise(sweep, rate, still, rate + 100)) == {"two rates"}


def test_another_gain_is_said() -> None:
    place = room(FRESH + 8)
    sweep, still = sweep_take(place, FRESH + 8), still_take(place, FRESH + 8)
    found = control_noise(sweep.samples * 0.5, place.rate, still.samples, place.rate)
    assert "another gain" in {limit.code for limit in found.limits}


@pytest.mark.parametrize("turns", [0.0, -3.0, float("nan"), 1e9])
def test_no_number_of_turns(turns: float) -> None:
    place = room(FRESH)
    with pytest.raises(InputError, match="no number of turns"):
        control_noise(np.ones(9), place.rate, np.ones(9), place.rate, turns=turns)
