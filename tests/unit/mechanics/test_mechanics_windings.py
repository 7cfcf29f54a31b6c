"""Mass per metre: by hand, in limits, and in its order of size."""

import math
from itertools import pairwise

import pytest

from heelstamp.errors import InputError
from heelstamp.mechanics.cores import assumed_core_mm
from heelstamp.mechanics.estimate import Estimate, exact
from heelstamp.mechanics.windings import (
    Construction,
    WireMaterial,
    Wrap,
    mass_per_metre,
    weighed_off_cut,
    wound,
)

STEEL = WireMaterial("steel", 7850.0, 25.0, 2.05e11, "test")
NICKEL = WireMaterial("nickel", 8908.0, 20.0, 2.0e11, "test")


def test_plain_wire_is_density_times_section():
    mass = mass_per_metre(Construction(exact(0.2286), STEEL))
    assert mass.value == pytest.approx(7850 * math.pi * 0.1143e-3**2)
    assert mass.uncertainty / mass.value == pytest.approx(25 / 7850)


def test_round_wrap_by_hand():
    # core 0.3302, wrap 0.1397: π² · 0.1397 · 0.4699 / 4 mm² of wrap
    string = wound(exact(0.6096), exact(0.3302), STEEL, STEEL)
    by_hand = 7850e-6 * (math.pi / 4 * 0.3302**2 + math.pi**2 / 4 * 0.1397 * 0.4699)
    assert mass_per_metre(string).value == pytest.approx(by_hand)
    assert string.diameter_mm.value == pytest.approx(0.6096)


def test_a_flat_wrap_fills_the_ring_and_a_round_one_pi_quarters_of_it():
    flat = mass_per_metre(wound(exact(1.0), exact(0.4), STEEL, STEEL, flat=True)).value
    solid = mass_per_metre(Construction(exact(1.0), STEEL)).value
    core = mass_per_metre(Construction(exact(0.4), STEEL)).value
    assert flat == pytest.approx(solid)
    coiled = mass_per_metre(wound(exact(1.0), exact(0.4), STEEL, STEEL)).value
    assert (coiled - core) / (solid - core) == pytest.approx(math.pi / 4)


def test_two_layers_weigh_as_one_of_the_same_outer_size():
    one = mass_per_metre(wound(exact(2.0), exact(0.6), STEEL, STEEL)).value
    layers = (Wrap(exact(0.3), STEEL), Wrap(exact(0.4), STEEL))
    two = Construction(exact(0.6), STEEL, layers)
    assert two.diameter_mm.value == pytest.approx(2.0)
    assert mass_per_metre(two).value == pytest.approx(one)


def test_hexagonal_core_carries_the_wrap_on_its_corners():
    string = wound(exact(1.0), exact(0.4), STEEL, NICKEL, hexagonal=True)
    assert string.wraps[0].thickness_mm.value == pytest.approx((1 - 0.8 / math.sqrt(3)) / 2)
    assert string.core_area_mm2.value == pytest.approx(math.sqrt(3) / 2 * 0.16)


def test_weighed_off_cut():
    mass = weighed_off_cut(Estimate.of(0.583, 0.01, "g"), Estimate.of(300.0, 0.5, "mm"))
    assert mass.value == pytest.approx(0.583 / 300)
    assert mass.uncertainty / mass.value == pytest.approx(math.hypot(0.01 / 0.583, 0.5 / 300))


def test_impossible_strings_are_refused():
    with pytest.raises(InputError, match="without thickness"):
        wound(exact(0.5), exact(0.5), STEEL, STEEL)
    with pytest.raises(InputError, match="off-cut"):
        weighed_off_cut(exact(0.0), exact(300.0))
    with pytest.raises(InputError, match="diameter"):
        assumed_core_mm(0.0)


def test_assumed_cores_grow_with_the_string_and_stay_within_it():
    sizes = [0.4 + 0.02 * step for step in range(150)]
    cores = [assumed_core_mm(size) for size in sizes]
    assert all(a <= b + 1e-12 for a, b in pairwise(cores))
    assert all(core < size for core, size in zip(cores, sizes, strict=True))
