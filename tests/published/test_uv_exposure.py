"""UV-A eye limit: ICNIRP, Health Physics 87(2) (2004) 171-186: 10 000 J/m² in eight hours.

The rows are t = 10 000 / E; 10 W/m² over 1000 s is also the exempt limit of IEC 62471 (that one
from memory).
"""

import pytest

from heelstamp.errors import InputError
from heelstamp.luminescence.exposure import UVA_EYE_LIMIT_J_M2, dose, permitted_seconds


@pytest.mark.parametrize(
    ("irradiance", "minutes"), [(10.0, 16.67), (1.0, 166.7), (0.347, 480.0), (30.0, 333 / 60)]
)
def test_published_rows(irradiance, minutes):
    assert permitted_seconds(irradiance) / 60 == pytest.approx(minutes, rel=2e-3)


def test_a_thousand_seconds_at_ten_watts_is_the_whole_day():
    spent = dose(10.0, 1000.0)
    assert (spent.received, spent.share, spent.seconds_left) == (UVA_EYE_LIMIT_J_M2, 1.0, 0.0)
    assert not spent.over


def test_the_day_adds_up():
    spent = dose(20.0, 100.0, earlier=9_000.0)
    assert spent.received == 11_000.0
    assert spent.over


def test_a_weak_lamp_never_gives_more_than_a_working_day():
    assert permitted_seconds(0.01) == 8 * 3600


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_impossible_irradiance(value):
    with pytest.raises(InputError, match="irradiance"):
        permitted_seconds(value)


def test_negative_time():
    with pytest.raises(InputError, match="below nought"):
        dose(1.0, -1.0)
