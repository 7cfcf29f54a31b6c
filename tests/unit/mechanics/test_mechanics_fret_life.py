"""What is left of the frets, and the radius of a fingerboard."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.mechanics import Estimate
from heelstamp.mechanics.fret_life import board_radius_mm, fret_life


def mm(value: float, doubt: float = 0.02) -> Estimate:
    return Estimate.of(value, doubt, f"reading {value}")


def test_full_frets_bear_several_dressings_and_low_ones_none() -> None:
    full = fret_life({fret: (mm(1.2),) for fret in range(1, 22)})
    assert full.dressings >= 3
    assert full.worn == ()
    low = fret_life({fret: (mm(0.66),) for fret in range(1, 22)})
    assert low.dressings == 0


def test_the_lowest_place_of_the_lowest_fret_decides_and_is_named() -> None:
    heights = {fret: (mm(1.0), mm(1.01), mm(1.0)) for fret in range(1, 22)}
    heights[3] = (mm(1.0), mm(0.78), mm(0.99))
    found = fret_life(heights)
    assert (found.lowest_fret, found.lowest_mm.value, found.worn) == (3, 0.78, (3,))


@given(height=st.floats(0.61, 1.7), doubt=st.floats(0.001, 0.2))
def test_chances_fall_and_are_the_normal_ones(height: float, doubt: float) -> None:
    found = fret_life({1: (mm(height, doubt),)})
    assert list(found.chances) == sorted(found.chances, reverse=True)
    if found.chances:
        spread = math.hypot(doubt, 0.04)
        expected = 0.5 * math.erfc(-(height - 0.6 - 0.12) / spread / math.sqrt(2.0))
        assert found.chances[0] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("height", [0.0, -0.1, 2.5])
def test_a_height_that_no_fret_has_is_refused_by_fret(height: float) -> None:
    with pytest.raises(InputError, match="a height that no fret has") as caught:
        fret_life({1: (mm(1.0),), 7: (mm(height),)})
    assert caught.value.where == "fret 7"


@given(radius=st.floats(150.0, 600.0), chord=st.floats(40.0, 55.0))
def test_a_radius_comes_back_from_three_points_of_its_circle(radius: float, chord: float) -> None:
    rise = radius - math.sqrt(radius**2 - (chord / 2.0) ** 2)
    found = board_radius_mm(mm(chord, 0.1), mm(rise, 0.01))
    assert found.value == pytest.approx(radius, rel=1e-9)
    step = 1e-6
    slope = ((chord**2 / (8 * (rise + step)) + (rise + step) / 2) - radius) / step
    assert found.uncertainty >= abs(slope) * 0.01 * 0.999


def test_a_radius_that_cannot_be_is_refused() -> None:
    for chord, rise in ((50.0, 0.0), (50.0, 10.0), (50.0, 0.05)):
        with pytest.raises(InputError, match="cannot be"):
            board_radius_mm(mm(chord), mm(rise))
