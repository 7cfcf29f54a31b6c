"""Dew point by the Magnus form of WMO-No. 8 against the ASHRAE formulation.

Source: ASHRAE Handbook, Fundamentals (2017), ch. 1, eq. 5 and 6, as programmed in psychrolib, an
independent library. The two worked values are those of the trade scenario: 21 °C, 45 % → 8.6 °C and
23 °C, 52 % → 12.6 °C.
"""

import psychrolib
import pytest

from heelstamp.mechanics.condensation import dew_point_c

psychrolib.SetUnitSystem(psychrolib.SI)


# below freezing ASHRAE speaks of frost over ice, this formula of dew over water
PAIRS = [
    (air, humidity)
    for air in (0.5, 5, 12, 21, 23, 30, 40)
    for humidity in (20, 35, 52, 70, 90, 100)
    if psychrolib.GetTDewPointFromRelHum(air, humidity / 100) >= 0
]


@pytest.mark.parametrize(("air", "humidity"), PAIRS)
def test_against_the_ashrae_formulation(air, humidity):
    expected = psychrolib.GetTDewPointFromRelHum(air, humidity / 100)
    assert dew_point_c(air, humidity) == pytest.approx(expected, abs=0.05)


def test_enough_pairs_are_above_freezing():
    assert len(PAIRS) >= 25


@pytest.mark.parametrize(("air", "humidity", "dew"), [(21, 45, 8.6), (23, 52, 12.6)])
def test_worked_values(air, humidity, dew):
    assert dew_point_c(air, humidity) == pytest.approx(dew, abs=0.05)
