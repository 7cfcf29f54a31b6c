"""Copper at 20 °C, wire, turns, capacitor and ranges seen."""

import math

import numpy as np
import pytest

from heelstamp.electrics.capacitor import against_mark
from heelstamp.electrics.seen import SeenRange, place_in
from heelstamp.electrics.temperature import to_twenty
from heelstamp.electrics.winding import Range, turns
from heelstamp.errors import InputError


def test_seven_and_a_half_kilohms_at_28_degrees() -> None:
    assert to_twenty(7500.0, 28.0).ohm == pytest.approx(7271.0, abs=0.5)
    assert to_twenty(6596.0, 24.5).ohm == pytest.approx(6481.0, abs=0.5)


def test_the_reading_at_20_degrees_is_left_alone() -> None:
    found = to_twenty(6500.0, 20.0, standard=10.0, temperature_standard=0.0)
    assert (found.ohm, found.standard) == (6500.0, 10.0)


def test_the_uncertainty_of_the_thermometer_counts() -> None:
    rng = np.random.default_rng(5)
    drawn = [
        to_twenty(6500.0 + rng.normal(0, 20), 27.0 + rng.normal(0, 1.0)).ohm for _ in range(4000)
    ]
    told = to_twenty(6500.0, 27.0, standard=20.0, temperature_standard=1.0)
    assert told.standard == pytest.approx(np.std(drawn), rel=0.06)


@pytest.mark.parametrize("temperature", [-40.0, 80.0, math.nan])
def test_no_temperature_of_a_room(temperature: float) -> None:
    with pytest.raises(InputError, match="no temperature of a room"):
        to_twenty(6500.0, temperature)


def test_turns_are_length_of_wire_over_length_of_a_turn() -> None:
    """8000 turns of 150 mm are 1200 m; at 5.4715 ohms a metre 6566 ohms."""
    one = turns(Range(6565.8, 6565.8), Range(5.4715, 5.4715), Range(150.0, 150.0))
    assert (one.low, one.high) == pytest.approx((8000, 8000), rel=1e-4)
    wide = turns(Range(6500, 6600), Range(5.44, 5.48), Range(140, 160))
    assert wide.low < 8000 < wide.high


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (2.0, 1.0), (1.0, math.inf)])
def test_a_range_has_two_ends(low: float, high: float) -> None:
    with pytest.raises(InputError, match="range"):
        Range(low, high)


@pytest.mark.parametrize(
    ("read", "mark", "spread", "tolerance", "standing"),
    [
        (0.049, 0.047, 0.0005, 0.20, "inside"),
        (0.070, 0.050, 0.0005, 0.20, "outside"),
        (0.020, 0.047, 0.0005, 0.20, "outside"),
        (0.0565, 0.047, 0.0005, 0.20, "at the edge"),
        (0.0490, 0.047, 0.0000, 0.04, "outside"),
    ],
)
def test_a_capacitor_against_its_mark(
    read: float, mark: float, spread: float, tolerance: float, standing: str
) -> None:
    found = against_mark(read * 1e-6, mark * 1e-6, standard=spread * 1e-6, tolerance=tolerance)
    assert found.standing == standing
    assert found.share == pytest.approx(read / mark - 1)


def test_no_capacitance_is_refused() -> None:
    for read, mark, tolerance in ((0.0, 1.0, 0.1), (1.0, -1.0, 0.1), (1.0, 1.0, 0.0)):
        with pytest.raises(InputError, match="positive"):
            against_mark(read, mark, tolerance=tolerance)


def test_inside_or_outside_and_no_more() -> None:
    seen = SeenRange(6.3, 7.1, 30)
    assert place_in(6.481, 0.03, seen) == "inside"
    assert place_in(6.31, 0.03, seen) == "at the edge of"
    assert place_in(5.9, 0.03, seen) == "outside"
    assert place_in(7.2, 0.03, seen) == "outside"


def test_one_more_of_the_kind_falls_outside_as_often_as_told() -> None:
    """Wilks (1941): 2/(n + 1), whatever the distribution."""
    rng = np.random.default_rng(11)
    drawn = rng.gamma(3.0, size=(20_000, 10))
    outside = (drawn[:, 9] < drawn[:, :9].min(1)) | (drawn[:, 9] > drawn[:, :9].max(1))
    assert outside.mean() == pytest.approx(SeenRange(0, 1, 9).chance_outside, abs=0.01)
    assert SeenRange(0, 1).chance_outside is None


def test_a_range_seen_has_two_values_at_least() -> None:
    for low, high, count in ((7.1, 6.3, 30), (6.3, 6.3, 30), (6.3, 7.1, 1)):
        with pytest.raises(InputError):
            SeenRange(low, high, count)
