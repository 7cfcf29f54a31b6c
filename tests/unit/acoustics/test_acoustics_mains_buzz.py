"""Buzz found, followed and taken away; the whitened residual."""

import numpy as np
import pytest

from fakes.crackle_simulator import background, room, still_take
from heelstamp.acoustics.mains_buzz import envelope, find_buzz, stretches, without_buzz
from heelstamp.acoustics.whitening import high_pass, predictor, residual, robust_spread
from heelstamp.errors import InputError

FRESH = 20_261_125
"""A seed on which nothing was tuned; the same at each run, so that a failure can be repeated."""


def test_buzz_is_found_and_taken_away_down_to_the_hiss() -> None:
    place = room(FRESH, buzz_db=25.0)
    samples, high = background(place, FRESH, 4.0)
    passed = high_pass(samples, place.rate)
    buzz = find_buzz(passed, place.rate)
    assert buzz is not None
    assert place.rate / buzz.period == pytest.approx(place.mains, abs=0.1)
    cleaned = without_buzz(passed, buzz)
    assert np.abs(passed).max() > 15 * high
    assert np.abs(cleaned).max() < 7 * high
    assert robust_spread(cleaned) == pytest.approx(high, rel=0.15)


def test_no_buzz_is_found_in_hiss_and_hum() -> None:
    for seed in range(FRESH, FRESH + 6):
        place = room(seed)
        take = still_take(place, seed)
        assert find_buzz(high_pass(take.samples, place.rate), place.rate) is None, seed


def test_the_envelope_is_that_of_the_phase() -> None:
    place = room(FRESH, buzz_db=25.0)
    samples, _ = background(place, FRESH, 3.0)
    buzz = find_buzz(high_pass(samples, place.rate), place.rate)
    assert buzz is not None
    at = 6 * np.arange(len(samples) // 6)
    phase = np.interp(at, buzz.starts, np.arange(len(buzz.starts))) % 1.0
    level = np.where(np.abs(phase - 0.5) < 0.05, 3.0, 1.0)
    told = envelope(level, 6, buzz)
    assert np.all(told[np.abs(phase - 0.5) < 0.04] == 3.0)
    assert np.all(told[np.abs(phase - 0.5) > 0.08] == 1.0)


def test_stretches_cover_a_take_once() -> None:
    for count in (44_100, 352_800, 352_801, 5_000_000):
        pieces = stretches(count, 44_100)
        assert pieces[0].start == 0
        assert pieces[-1].stop == count
        assert [a.stop for a in pieces[:-1]] == [b.start for b in pieces[1:]]
        assert max(p.stop - p.start for p in pieces) <= 8 * 44_100 + 1


def test_the_predictor_of_a_known_process() -> None:
    """x[n] = 1.6 x[n−1] − 0.8 x[n−2] + e[n]: its coefficients come back, clicks or not."""
    rng = np.random.default_rng(FRESH)
    drive = rng.normal(size=30_000)
    x = np.zeros_like(drive)
    for n in range(2, len(x)):
        x[n] = 1.6 * x[n - 1] - 0.8 * x[n - 2] + drive[n]
    assert predictor(x, order=2) == pytest.approx([1.6, -0.8], abs=0.02)
    clicked = x.copy()
    clicked[1000::1000] += 200.0
    error = residual(clicked, order=2)
    assert robust_spread(error) == pytest.approx(1.0, abs=0.03)
    assert set(np.argsort(np.abs(error))[-29:] % 1000) <= {0, 1, 2}
    assert np.abs(error[1000::1000]).min() > 100


def test_high_pass_keeps_what_lies_above_and_where_it_lies() -> None:
    rate = 44_100
    time = np.arange(rate) / rate
    low, high = np.sin(2 * np.pi * 200 * time), np.sin(2 * np.pi * 8000 * time)
    passed = high_pass(low + high, rate)
    inside = slice(2000, -2000)
    assert passed[inside] == pytest.approx(high[inside], abs=2e-3)


def test_too_short_a_take_is_refused() -> None:
    with pytest.raises(InputError, match="too short"):
        residual(np.ones(100))
