"""Quantities: exact conversions, uncertainty in quadrature, digits that say no more than known."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.units import Quantity, UnitError


def test_defined_factors_are_exact() -> None:
    # International inch 25.4 mm, avoirdupois pound 453.59237 g: agreement of 1959.
    assert Quantity(1.0, "in").to("mm").value == 25.4
    assert Quantity(1.0, "lb").to("g").value == 453.59237
    # SI Brochure, 9th ed. 2019, table 4: 0 degrees Celsius is 273.15 K.
    assert Quantity(0.0, "°C").to("K").value == 273.15
    assert Quantity(212.0, "°F").to("°C").value == pytest.approx(100.0, abs=1e-12)


@given(st.floats(-1e6, 1e6), st.floats(0, 1e3))
def test_conversion_there_and_back_keeps_value_and_uncertainty(value: float, spread: float) -> None:
    there = Quantity(value, "mm", spread).to("in").to("mm")
    assert there.value == pytest.approx(value, rel=1e-12, abs=1e-9)
    assert there.uncertainty == pytest.approx(spread, rel=1e-12, abs=1e-12)


def test_independent_uncertainties_combine_in_quadrature() -> None:
    # JCGM 100:2008, 5.1.2, for a sum of independent inputs.
    total = Quantity(10.0, "mm", 0.3) + Quantity(1.0, "cm", 0.04)
    assert total.value == 20.0
    assert total.uncertainty == pytest.approx(math.hypot(0.3, 0.4))
    assert (Quantity(1.0, "g") - Quantity(1.0, "g")).value == 0


def test_kinds_do_not_mix_and_units_must_be_known() -> None:
    with pytest.raises(UnitError, match="unit of mass"):
        Quantity(1.0, "g").to("mm")
    with pytest.raises(UnitError, match="unknown unit") as caught:
        Quantity(1.0, "furlong")
    assert "mm" in caught.value.remedy
    with pytest.raises(InputError, match="finite"):
        Quantity(math.nan, "mm")
    with pytest.raises(InputError, match="negative"):
        Quantity(1.0, "mm", -0.1)


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        (Quantity(3284.0, "g", 2.0), "3284 ± 2 g"),
        (Quantity(0.46, "mm", 0.03), "0.46 ± 0.03 mm"),
        (Quantity(6.42, "kohm", 0.013), "6.420 ± 0.013 kΩ"),
        (Quantity(0.049, "uF"), "0.049 µF"),
        (Quantity(19.0, "1/turn"), "19 1/turn"),
        (Quantity(2.0, ""), "2"),
    ],
)
def test_a_quantity_is_written_to_the_digits_it_has(quantity: Quantity, text: str) -> None:
    assert str(quantity) == text
