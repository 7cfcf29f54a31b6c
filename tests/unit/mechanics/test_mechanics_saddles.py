"""Saddles, shim and nut: geometry by hand and by brute force."""

import math

import pytest

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate, exact
from heelstamp.mechanics.nut import nut_slot, slot_places
from heelstamp.mechanics.saddles import Board, action_targets, saddle_heights, saddle_rise
from heelstamp.mechanics.shim import shim_effect

SCALE, POCKET = exact(641.4), exact(76.0)


def test_saddle_moves_twice_the_action_at_the_octave():
    rise = saddle_rise(Estimate.of(-0.328, 0.05, "action"))
    assert (rise.value, rise.uncertainty) == (pytest.approx(-0.656), pytest.approx(0.1))
    with pytest.raises(InputError, match="at a fret"):
        saddle_rise(exact(0.1), 0)


def heights(board, actions=(1.6, 1.7, 1.8, 1.9, 2.0, 2.1)):
    return saddle_heights(
        board, nut_spread_mm=36.0, saddle_spread_mm=52.0, actions_mm=actions, nut_clearance_mm=0.5
    )


def test_flat_board_leaves_the_actions_alone():
    flat = heights(Board(None, None, 21))
    assert [one.height_mm for one in flat] == pytest.approx(
        [0.5 + 2 * (a - 0.5) for a in (1.6, 1.7, 1.8, 1.9, 2.0, 2.1)]
    )


@pytest.mark.parametrize("radii", [(184.0, 184.0), (184.0, 305.0)])
def test_round_boards_put_each_string_at_its_action(radii):
    board = Board(*radii, 21)
    actions = action_targets(1.6, 2.1, 6)
    for one, action in zip(heights(board, actions), actions, strict=True):
        across = 0.5 - (one.number - 1) / 5
        nut_y, saddle_y = 36 * across, 52 * across
        nut = 0.5 - board.drop_mm(0.0, nut_y)
        at_12 = (nut + one.height_mm) / 2  # a straight string, half-way
        assert at_12 + board.drop_mm(0.5, (nut_y + saddle_y) / 2) == pytest.approx(action)
    assert heights(board)[2].height_mm > heights(board)[0].height_mm  # the middle stands higher


def test_even_actions_on_a_cone_give_saddles_on_the_cone():
    """Equal clearance at nut and octave on a conical board: the saddles follow its radius there."""
    board = Board(184.0, 305.0, 21)
    even = saddle_heights(
        board,
        nut_spread_mm=36.0,
        saddle_spread_mm=52.0,
        actions_mm=(1.0,) * 6,
        nut_clearance_mm=1.0,
    )
    for one in even:
        # a straight line lies on a cone only through its tip; six strings that spread do nearly
        assert one.height_mm == pytest.approx(1.0 - board.drop_mm(1.0, one.aside_mm), abs=0.05)


def test_board_refusals():
    with pytest.raises(InputError, match="two radii"):
        Board(184.0, None, 21)
    with pytest.raises(InputError, match="outside the board's radius"):
        Board(7.25, 7.25, 21).drop_mm(0.5, 20.0)
    with pytest.raises(InputError, match="two strings"):
        action_targets(1.6, 2.0, 1)
    with pytest.raises(InputError, match="two strings"):
        heights(Board(None, None, 21), actions=(1.6,))


@pytest.mark.parametrize(
    ("thickness", "angle", "at_saddles"), [(0.25, 0.19, 0.63), (0.40, 0.30, 1.00)]
)
def test_shim(thickness, angle, at_saddles):
    """0.25 mm in a 76 mm pocket: 0.19° and about 0.6 mm; 0.40 mm: 0.30° and about 1.0 mm."""
    done = shim_effect(exact(thickness), POCKET, SCALE, last_fret=21, joint_fret=16)
    assert done.angle_deg.value == pytest.approx(angle, abs=0.005)
    assert done.at_saddles_mm.value == pytest.approx(at_saddles, abs=0.005)
    assert done.saddles_up_mm.value > done.at_saddles_mm.value


def test_shim_uncertainty_and_refusal():
    done = shim_effect(Estimate.of(0.4, 0.02, "shim"), POCKET, SCALE, last_fret=21, joint_fret=16)
    assert done.angle_deg.uncertainty == pytest.approx(math.degrees(0.02 / 76), rel=1e-3)
    with pytest.raises(InputError, match="pocket"):
        shim_effect(exact(0.4), exact(0.0), SCALE, last_fret=21, joint_fret=16)


@pytest.mark.parametrize(
    ("clearance", "verdict"),
    [(0.12, "usual"), (-0.02, "low"), (0.40, "high"), (0.03, "too close to call")],
)
def test_nut_slot(clearance, verdict):
    slot = nut_slot(Estimate.of(clearance, 0.03, "feeler"))
    assert slot.verdict == verdict
    assert slot.height_mm.value == pytest.approx(1.545 * clearance, rel=2e-3)


def test_nut_refusal_and_equal_gaps():
    with pytest.raises(InputError, match="beyond the first"):
        nut_slot(exact(0.1), 1)
    sizes = (0.23, 0.28, 0.41, 0.61, 0.81, 1.07)
    places = slot_places(sizes, first_edge_mm=3.0, last_edge_mm=39.0)
    gaps = [
        (b - sb / 2) - (a + sa / 2)
        for a, b, sa, sb in zip(places, places[1:], sizes, sizes[1:], strict=False)
    ]
    assert gaps == pytest.approx([gaps[0]] * 5)
    assert places[0] - sizes[0] / 2 == pytest.approx(3.0)
    assert places[-1] + sizes[-1] / 2 == pytest.approx(39.0)
    with pytest.raises(InputError, match="do not fit"):
        slot_places(sizes, first_edge_mm=3.0, last_edge_mm=5.0)
