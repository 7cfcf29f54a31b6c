"""Saddle moves and fretted shifts: closed loops, signs, limits."""

import math

import pytest

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate, exact
from heelstamp.mechanics.intonation import FrettedString, extension_mm, saddle_move_mm, set_back_mm

SCALE = 641.4


@pytest.mark.parametrize("fret", [5, 12, 19])
@pytest.mark.parametrize("cents", [-20.0, -3.0, 0.5, 7.0, 30.0])
def test_the_move_takes_the_cents_away(fret, cents):
    move = saddle_move_mm(exact(cents), exact(SCALE), fret=fret).value
    stop = SCALE * (1 - 2 ** (-fret / 12))
    before = 1200 * math.log2(SCALE / (SCALE - stop))
    after = 1200 * math.log2((SCALE + move) / (SCALE + move - stop))
    assert after - before == pytest.approx(-cents, abs=1e-9)
    assert math.copysign(1, move) == math.copysign(1, cents)  # sharp goes back


def test_small_moves_and_their_uncertainty():
    """L ln 2 / 1200 = 0.370 mm a cent at 641.4 mm."""
    move = saddle_move_mm(Estimate.of(7.0, 1.0, "tuner"), Estimate.of(SCALE, 0.5, "scale"))
    assert move.value == pytest.approx(7 * 0.3705, rel=0.01)
    assert move.uncertainty == pytest.approx(0.3705, rel=0.03)


def test_one_pass_reaches_two_cents_on_a_simulated_string():
    """Stretch and stiffness change with the move; after one pass the octave is within 2 cent."""
    for core, tension in ((0.23, 57.6), (0.41, 64.4), (0.41, 64.0)):
        string = FrettedString(SCALE, tension, core, 2.05e11)
        longer = extension_mm(SCALE, 12, nut_mm=0.45, fret_mm=0.0, saddle_mm=3.2)
        found = string.shift(12, longer).cents
        back = saddle_move_mm(exact(found), exact(SCALE)).value
        moved = FrettedString(SCALE, tension, core, 2.05e11, set_back_mm=back)
        assert found > 1.0
        assert abs(moved.shift(12, longer).cents) < 0.2


def test_higher_action_stretches_more_and_slack_shares_it():
    low = extension_mm(SCALE, 12, nut_mm=0.4, fret_mm=0.0, saddle_mm=2.8)
    high = extension_mm(SCALE, 12, nut_mm=0.4, fret_mm=0.0, saddle_mm=4.8)
    assert high > low > 0
    tight = FrettedString(SCALE, 60.0, 0.3, 2.05e11)
    slack = FrettedString(SCALE, 60.0, 0.3, 2.05e11, slack_mm=200.0)
    assert slack.tension_rise_n(low) < tight.tension_rise_n(low)
    assert tight.shift(0, 0.0).cents == 0.0


def test_refusals():
    with pytest.raises(InputError, match="too far out"):
        saddle_move_mm(exact(180.0), exact(SCALE))
    with pytest.raises(InputError, match="fretted note"):
        saddle_move_mm(exact(5.0), exact(SCALE), fret=0)
    with pytest.raises(InputError, match="no set-back"):
        set_back_mm(SCALE, 60.0, -5.0)
