"""The homography most points agree on: known answers with many points wrong together."""

from dataclasses import replace

import numpy as np
import pytest

from heelstamp.luminescence import consensus, structure
from heelstamp.luminescence.edge_match import Matches

FRAME = consensus.Frame(np.array([1000.0, 750.0]), 1000.0)
STEP = np.array([0.002, -0.001, 0.0015, 0.001, -0.0015, -0.001, 0.0008, -0.0006])


def matches(rng, *, wrong=0.0, inwards=4.0, noise=0.1, tone=0.0, count=800):
    """Points round an ellipse and along bars inside it; the first ones on the ellipse are wrong."""
    outline = np.linspace(0, 2 * np.pi, count // 2, endpoint=False)
    normals = np.column_stack([np.cos(outline), np.sin(outline)])
    points = FRAME.middle + normals * (800.0, 600.0)
    inner = rng.uniform((500, 450), (1500, 1050), (count // 2, 2))
    across = np.tile([(1.0, 0.0), (0.0, 1.0)], (count // 4, 1))
    points, normals = np.vstack([points, inner]), np.vstack([-normals, across])
    shift = FRAME.equations(points, normals) @ STEP + tone + rng.normal(0, noise, count)
    shift[: int(wrong * count)] += inwards + rng.normal(0, 0.5, int(wrong * count))
    ones = np.ones(count)
    return Matches(points, normals, shift, ones, rng.choice([-1.0, 1.0], count), count)


def error(found):
    grid = np.array([(x, y) for x in range(300, 1800, 200) for y in range(250, 1300, 200)], float)
    off = structure.apply(FRAME.change(found.step), grid) - structure.apply(
        FRAME.change(STEP), grid
    )
    return float(np.sqrt((off**2).sum(axis=1).mean()))


def test_change_is_what_the_equations_say_to_first_order():
    points = np.array([(200.0, 300.0), (1700.0, 1200.0), (900.0, 100.0)])
    moved = structure.apply(FRAME.change(STEP), points) - points
    for axis, normal in enumerate([(1.0, 0.0), (0.0, 1.0)]):
        told = FRAME.equations(points, np.tile(normal, (3, 1))) @ STEP
        assert told == pytest.approx(moved[:, axis], abs=0.02)


@pytest.mark.parametrize("wrong", [0.0, 0.2, 0.4])
def test_points_that_are_wrong_together_do_not_drag_it(wrong):
    one = matches(np.random.default_rng(4), wrong=wrong)
    found = consensus.agree(one, FRAME, 0.6)
    assert error(found) < 0.15
    assert np.mean(found.weights > 0.1) == pytest.approx(1 - wrong, abs=0.03)


def test_least_squares_would_be_dragged():
    one = matches(np.random.default_rng(4), wrong=0.4)
    design = FRAME.equations(one.points, one.normals)
    step = np.linalg.lstsq(design, one.shift, rcond=None)[0]
    off = FRAME.equations(one.points, one.normals) @ (step - STEP)
    assert np.sqrt((off**2).mean()) > 0.8


def test_a_shift_of_all_edges_by_the_tone_curve_is_no_movement():
    found = consensus.agree(matches(np.random.default_rng(5), tone=0.6), FRAME, 0.6)
    assert error(found) < 0.15
    assert found.step[8] == pytest.approx(0.6, abs=0.1)


def test_the_same_matches_give_the_same_answer():
    one = matches(np.random.default_rng(6), wrong=0.3)
    steps = [consensus.agree(one, FRAME, 0.6).step for _ in range(2)]
    assert np.array_equal(*steps)


def test_expected_error_is_larger_with_fewer_points_and_covers_the_error():
    errors, told = [], []
    for seed in range(6):
        one = matches(np.random.default_rng(seed), wrong=0.2)
        found = consensus.agree(one, FRAME, 0.6)
        errors.append(error(found))
        told.append(consensus.expected_error(one, found, FRAME))
    assert max(errors) < 2 * max(told)
    few = matches(np.random.default_rng(9), count=80)
    thin = consensus.expected_error(few, consensus.agree(few, FRAME, 0.6), FRAME)
    assert thin > 2 * float(np.median(told))


def test_without_agreeing_points_no_error_is_promised():
    one = matches(np.random.default_rng(7))
    found = consensus.agree(one, FRAME, 0.6)
    none = replace(found, weights=0 * found.weights)
    assert consensus.expected_error(one, none, FRAME) == float("inf")
