"""Buzz predicted from heights, relief and action, against a plain numerical string over frets."""

from itertools import count

import numpy as np
import pytest

from fakes.string_over_frets import margins
from heelstamp.errors import InputError
from heelstamp.mechanics.clearance import Pluck, StringLine, buzz_rows
from heelstamp.mechanics.estimate import Estimate, exact

SCALE, FRETS = 648.0, 21
HELD = (0, 1, 5, 9, 14)
NECKS = 45


def neck(rng: np.random.Generator) -> tuple[np.ndarray, tuple[float, float]]:
    """Fret tops with relief and wear, and the open string's heights at nut and saddle, mm."""
    place = 1.0 - 2.0 ** (-np.arange(1, FRETS + 1) / 12.0)
    relief = rng.uniform(0.0, 0.35)
    tops = -relief * np.sin(np.pi * np.minimum(place / 0.7, 1.0)) + rng.normal(0, 0.03, FRETS)
    for fret in rng.integers(0, FRETS, 2):  # one worn low, one standing proud
        tops[fret] += rng.uniform(-0.25, 0.25)
    nut = tops[0] + rng.uniform(0.1, 0.5)
    return tops, (nut, nut + rng.uniform(1.5, 5.0))


def line(tops: np.ndarray, ends: tuple[float, float], error: float = 0.0) -> StringLine:
    number = count()

    def known(value: float) -> Estimate:
        source = f"reading {next(number)}"  # of one source readings would err alike
        return Estimate.of(float(value), error, source) if error else exact(float(value))

    def string(fret: int) -> float:
        return ends[0] + (ends[1] - ends[0]) * (1.0 - 2.0 ** (-fret / 12.0))

    return StringLine(
        SCALE,
        tuple(known(one) for one in tops),
        known(string(1) - tops[0]),
        known(string(12) - tops[11]),
    )


def test_buzz_is_predicted_where_a_plain_string_over_frets_has_it_and_hardly_elsewhere() -> None:
    rng = np.random.default_rng(1717)
    has, predicted, clear, false = 0, 0, 0, 0
    for _ in range(NECKS):
        tops, ends = neck(rng)
        amplitude, place = rng.uniform(0.4, 2.0), rng.uniform(60.0, 160.0)
        rows = {one.held: one for one in buzz_rows(line(tops, ends), Pluck(amplitude, place))}
        for held in HELD:
            met = margins(SCALE, tops, ends, (amplitude, place), held).min() < 0.0
            said = rows[held].verdict == "buzzes"
            has, predicted = has + met, predicted + (met and said)
            clear, false = clear + (not met), false + (said and not met)
    assert has > 40
    assert clear > 40
    assert predicted >= 0.95 * has, (predicted, has)
    assert false <= 0.02 * clear, (false, clear)


def test_readings_that_are_not_known_well_leave_close_cases_open_and_say_nothing_false() -> None:
    rng = np.random.default_rng(1718)
    false, clear, left = 0, 0, 0
    for _ in range(20):
        tops, ends = neck(rng)
        rows = {one.held: one for one in buzz_rows(line(tops, ends, 0.03), Pluck(1.0, 120.0))}
        for held in HELD[:3]:
            met = margins(SCALE, tops, ends, (1.0, 120.0), held).min() < 0.0
            clear += not met
            false += rows[held].verdict == "buzzes" and not met
            left += rows[held].verdict == "too close to call"
    assert false <= 0.02 * clear
    assert left > 0


def test_heights_that_cross_are_refused() -> None:
    tops = np.zeros(FRETS)
    with pytest.raises(InputError, match="heights that cross"):
        line(tops, (0.9, -0.5))
