"""Readings as a meter shows them."""

import math

import pytest

from heelstamp.electrics.meter import Accuracy, Reading, read_meter
from heelstamp.errors import InputError


@pytest.mark.parametrize(
    ("text", "ohm", "digit"),
    [
        ("6.42k", 6420.0, 10.0),
        ("61.90 kΩ", 61900.0, 10.0),
        ("61.9kohm", 61900.0, 100.0),
        ("1.2M", 1.2e6, 1e5),
        ("640", 640.0, 1.0),
        ("640 \u2126", 640.0, 1.0),
        (" 7.5k ", 7500.0, 100.0),
    ],
)
def test_the_last_digit_written_is_the_last_shown(text: str, ohm: float, digit: float) -> None:
    reading = read_meter(text)
    assert reading.ohm == pytest.approx(ohm, rel=1e-12)
    assert reading.limit == pytest.approx(0.005 * ohm + digit, rel=1e-12)
    # JCGM 100:2008, 4.3.7: half-width over the root of three
    assert reading.standard == pytest.approx(reading.limit / math.sqrt(3), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("6,42k", "comma"),
        ("OL", "not a reading"),
        ("-6.42k", "not a reading"),
        ("6.42 µF", "not a reading"),
        ("", "not a reading"),
        ("6.42kk", "not a reading"),
        ("0.00k", "nothing"),
        ("1e3", "not a reading"),
        ("99999999k", "not a reading"),
    ],
)
def test_anything_else_is_refused(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_meter(text, where="--full")


def test_another_meter_has_other_limits() -> None:
    assert read_meter("6.42k", Accuracy(0.001, 2)).limit == pytest.approx(6.42 + 20)
    for wrong in ((-0.1, 1), (0.6, 1), (0.1, -1), (math.nan, 1)):
        with pytest.raises(InputError, match="accuracy"):
            Accuracy(*wrong)


def test_a_known_uncertainty_is_kept() -> None:
    assert Reading.known(6420.0, 40.0).standard == 40.0
    for ohm, standard in ((0.0, 1.0), (math.inf, 1.0), (1.0, -1.0), (math.nan, 0.0)):
        with pytest.raises(InputError, match="not a resistance"):
            Reading.known(ohm, standard)
