"""The case stays shut until it is safe: simulated cases, waiting, refusals."""

import math

import numpy as np
import pytest

from heelstamp.errors import InputError
from heelstamp.mechanics.condensation import MARGIN_K, CaseReading, dew_point_c, safe_to_open
from heelstamp.mechanics.estimate import Estimate

SEED = 20_261_126
"""On which nothing was tuned; the same at each run, so that a failure can be repeated."""

ROOM, HUMIDITY = Estimate.of(23.0, 0.2, "room"), Estimate.of(52.0, 1.0, "humidity")


def case(hours, celsius, error=0.2):
    return CaseReading(hours, Estimate.of(celsius, error, f"case at {hours}"))


def test_a_cold_case_stays_shut():
    one = safe_to_open((case(0.0, 11.5),), ROOM, HUMIDITY)
    assert not one.open_now
    assert one.wait_h is None
    assert "Keep the case shut" in one.reasons[0]
    assert "two readings" in one.reasons[1]


def test_a_warm_case_may_be_opened():
    one = safe_to_open((case(0.0, 11.5), case(6.0, 21.5)), ROOM, HUMIDITY)
    assert one.open_now
    assert one.wait_h == 0.0


def test_two_readings_give_the_time_constant_and_the_wait():
    tau = 3.0
    temperature = [23.0 - 11.5 * math.exp(-t / tau) for t in (0.0, 1.0)]
    one = safe_to_open(
        (case(0.0, temperature[0], 0.01), case(1.0, temperature[1], 0.01)),
        Estimate.of(23.0, 0.01, "room"),
        Estimate.of(52.0, 0.1, "humidity"),
    )
    assert one.time_constant_h.value == pytest.approx(tau, rel=0.01)
    safe = dew_point_c(23.0, 52.0) + MARGIN_K
    true = tau * math.log(11.5 / (23.0 - safe)) - 1.0
    assert one.wait_h == pytest.approx(true, abs=0.11)
    assert one.wait_h <= one.wait_to_h < one.wait_h + 0.5


def test_waiting_the_longer_time_is_safe_in_about_95_of_100_simulated_cases():
    seed = SEED
    rng = np.random.default_rng(seed)
    safe, told = 0, 0
    for _ in range(250):
        tau, start = rng.uniform(1.5, 5.0), rng.uniform(4.0, 12.0)
        room, humid = rng.uniform(20.0, 24.0), rng.uniform(35.0, 55.0)
        seen = [
            case(t, room - (room - start) * math.exp(-t / tau) + 0.2 * rng.standard_normal())
            for t in (0.0, 1.5)
        ]
        one = safe_to_open(
            tuple(seen),
            Estimate.of(room + 0.2 * rng.standard_normal(), 0.2, "room"),
            Estimate.of(humid + 1.0 * rng.standard_normal(), 1.0, "humidity"),
        )
        if one.wait_to_h is None:
            continue
        told += 1
        then = room - (room - start) * math.exp(-(1.5 + one.wait_to_h) / tau)
        safe += then >= dew_point_c(room, humid) + MARGIN_K
    assert told > 200, f"seed {seed}"
    assert safe / told >= 0.90, f"seed {seed}: {safe} of {told}"


def test_readings_that_do_not_tell():
    same = safe_to_open((case(0.0, 11.5), case(0.2, 11.6)), ROOM, HUMIDITY)
    assert same.time_constant_h is None
    assert "no more than their error" in same.reasons[-1]
    damp = safe_to_open((case(0.0, 18.0),), ROOM, Estimate.of(90.0, 1.0, "humidity"))
    assert "too damp" in damp.reasons[-1]


def test_refusals():
    with pytest.raises(InputError, match="no temperature"):
        safe_to_open((), ROOM, HUMIDITY)
    with pytest.raises(InputError, match="not later"):
        safe_to_open((case(2.0, 11.5), case(2.0, 12.5)), ROOM, HUMIDITY)
    with pytest.raises(InputError, match="no dew point"):
        dew_point_c(21.0, 0.0)
