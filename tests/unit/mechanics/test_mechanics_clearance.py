"""Clearance and buzz: the swing against a string moved in small steps, and planted high frets."""

import numpy as np
import pytest

from heelstamp.errors import InputError
from heelstamp.mechanics.clearance import Pluck, StringLine, buzz_rows
from heelstamp.mechanics.estimate import Estimate, exact
from heelstamp.mechanics.neck import NeckShape

SHAPE = NeckShape(641.4, 16, 21)


def line(raised=None, relief=0.25, action=1.8, level=0.005):
    raised = raised or {}
    profile = SHAPE.profile(relief)
    tops = tuple(
        Estimate.of(profile[f] + raised.get(f, 0.0), level, f"fret {f}") for f in range(1, 22)
    )
    return StringLine(
        641.4, tops, Estimate.of(0.45, level, "first"), Estimate.of(action, level, "a")
    )


def test_the_open_string_has_the_readings_it_was_fixed_by():
    one = line()
    assert one.clearance_mm(0, 1).value == pytest.approx(0.45)
    assert one.clearance_mm(0, 12).value == pytest.approx(1.8)


def test_swing_is_the_envelope_of_the_travelling_waves():
    """d'Alembert by brute force: half the sum of the odd periodic shape moved left and right."""
    length, pluck, height = 641.4, 130.0, 1.0
    x = np.linspace(0.0, length, 401)  # from the saddle

    def shape(at):
        at = np.mod(at, 2 * length)
        sign = np.where(at > length, -1.0, 1.0)
        at = np.where(at > length, 2 * length - at, at)
        rising, falling = at / pluck, (length - at) / (length - pluck)
        return sign * height * np.minimum(rising, falling)

    swings = [0.5 * (shape(x - c) + shape(x + c)) for c in np.linspace(0, 2 * length, 2000)]
    deepest = np.maximum(np.max(swings, axis=0), -np.min(swings, axis=0))
    one = Pluck(height, pluck)
    for fret in range(1, 22):
        here = length * 2 ** (-fret / 12)
        assert one.depth_mm(length, 0, fret) == pytest.approx(
            float(np.interp(here, x, deepest)), abs=0.005
        )


def test_shorter_strings_swing_less():
    pluck = Pluck(1.0, 130.0)
    deepest = [
        max(pluck.depth_mm(641.4, held, over) for over in range(held + 1, 22))
        for held in (0, 5, 12, 19)
    ]
    assert sorted(deepest, reverse=True) == deepest


def test_a_high_fret_is_found_from_the_fret_before_it():
    rows = buzz_rows(line({9: 0.30}), Pluck(0.3, 130.0))
    buzzing = {row.held: row.over for row in rows if row.verdict == "buzzes"}
    assert buzzing[8] == 9
    assert set(buzzing.values()) == {9}
    assert not any(held > 8 for held in buzzing)


def test_verdicts_follow_margin_and_error():
    assert {row.verdict for row in buzz_rows(line(), Pluck(0.3, 130.0))} == {"clear"}
    assert "buzzes" in {row.verdict for row in buzz_rows(line(action=0.8), Pluck(1.0, 130.0))}
    rough = buzz_rows(line(level=0.2), Pluck(0.3, 130.0))
    assert "too close to call" in {row.verdict for row in rough}
    still = buzz_rows(line(), Pluck(0.0, 130.0))
    assert all(row.margin_mm.value == pytest.approx(row.clearance_mm.value) for row in still)


def test_refusals():
    with pytest.raises(InputError, match="height and a place"):
        buzz_rows(line(), Pluck(1.0, 0.0))
    with pytest.raises(InputError, match="reach beyond"):
        StringLine(641.4, (exact(0.0),) * 5, exact(0.4), exact(1.8))
