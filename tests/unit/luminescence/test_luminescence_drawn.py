"""A lamp at one side moves rims and shades: the position keeps to the edges that it does not move.

The pictures are drawn here by geometry alone: a body with three parts in even light, and the same
under a lamp from the left, whose rim ends early on the right and whose parts throw a shade there.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from heelstamp.luminescence import consensus, registration, structure
from heelstamp.luminescence.drawn import Drawn
from heelstamp.luminescence.edge_match import Matches

SHAPE = (600, 840)
MIDDLE, AXES = np.array([420.0, 300.0]), np.array([350.0, 225.0])
PARTS = ((300, 290, 40, 130), (470, 310, 60, 60), (560, 200, 34, 34))
MOVED = np.array([(1.0, 0.002, 2.0), (-0.002, 1.0, -1.5), (0.0, 0.0, 1.0)])


def ellipse(shrink=0.0):
    turn = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    return MIDDLE + (AXES - shrink) * np.column_stack([np.cos(turn), np.sin(turn)])


def box(x, y, w, h):
    return np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], float) - (w / 2, h / 2)


def filled(polygon):
    mask = np.zeros(SHAPE, np.uint8)
    cv2.fillPoly(mask, [np.round(polygon * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    return (mask / 255.0).astype(np.float32)


def drawn_body():
    return Drawn(ellipse(), tuple(box(*one) for one in PARTS))


def encoded(light, seed):
    noisy = light + np.random.default_rng(seed).normal(0, 0.002, light.shape)
    calm = cv2.GaussianBlur(noisy.astype(np.float32), (0, 0), 0.8)
    code = np.clip(calm, 0, 1) ** (1 / 2.2)
    return np.round(255 * np.repeat(code[..., None], 3, axis=2)).astype(np.uint8)


def visible():
    light = 0.08 + 0.35 * filled(ellipse())
    for k, one in enumerate(PARTS):
        here = filled(box(*one))
        light = light * (1 - here) + here * (0.8, 0.05, 0.7)[k]
    return encoded(light, 1)


def under_lamp_from_left():
    """The rim is lost by 4 px on the right, and 7 px of coat right of each part are in shade."""
    rim = cv2.distanceTransform((filled(ellipse()) > 0.5).astype(np.uint8), cv2.DIST_L2, 5)
    _, xs = np.mgrid[0 : SHAPE[0], 0 : SHAPE[1]]
    facing = (xs - MIDDLE[0]) / AXES[0]
    lost = rim < 4.0 * np.clip(facing, 0, 1)
    light = 0.01 + 0.5 * filled(ellipse()) * (1 - 0.2 * facing)
    light *= 1 + 0.4 * np.clip(-facing, -1, 1) * np.exp(-rim / 6.0) * (rim > 0)
    light[lost] = 0.01
    for one in PARTS:
        shade = filled(box(*one) + np.array([7.0, 0.0]))
        light = light * (1 - 0.95 * shade)
        here = filled(box(*one))
        light = light * (1 - here) + 0.02 * here
    pushed = cv2.warpPerspective(light.astype(np.float32), MOVED, SHAPE[::-1])
    return encoded(pushed, 2)


def off(found):
    away = structure.apply(found.transform, structure.apply(MOVED, ellipse())) - ellipse()
    return float(np.sqrt((away**2).sum(axis=1).mean()))


@pytest.fixture(scope="module")
def with_what_is_drawn():
    return registration.register(visible(), under_lamp_from_left(), drawn=drawn_body())


def test_what_is_drawn_keeps_the_position_where_shade_moves_the_edges(with_what_is_drawn):
    without = registration.register(visible(), under_lamp_from_left())
    assert off(without) > 0.8
    assert off(with_what_is_drawn) < 0.5 * off(without)


def test_the_direction_of_the_lamp_is_told_with_the_position(with_what_is_drawn):
    told = with_what_is_drawn.lamp_from
    assert told is not None
    assert abs((told - 180.0 + 180.0) % 360.0 - 180.0) < 30.0


def test_edges_towards_the_lamp_count_and_those_turned_away_hardly():
    counts = drawn_body().bands(SHAPE).lit(180.0)  # from the left
    left, right = counts[300, 71], counts[300, 768]
    assert (left, right) == (1.0, pytest.approx(0.1))
    beside_left, beside_right = counts[290, 279], counts[290, 321]
    assert (beside_left, beside_right) == (1.0, pytest.approx(0.1))
    assert counts[120, 420] == 1.0  # in the open
    assert drawn_body().bands(SHAPE).lit(None).min() == 1.0


def test_a_string_throws_no_shade_that_counts():
    thin = Drawn(ellipse(), (box(420, 300, 500, 2),))
    assert thin.bands(SHAPE).lit(90.0)[301, 420] == 1.0


def test_a_rim_that_shade_displaces_is_no_movement():
    rng = np.random.default_rng(3)
    frame = consensus.Frame(MIDDLE, 420.0)
    turn = np.linspace(0, 2 * np.pi, 300, endpoint=False)
    outward = np.column_stack([np.cos(turn), np.sin(turn)])
    rim = MIDDLE + AXES * outward
    inner = rng.uniform(MIDDLE - 150, MIDDLE + 150, (80, 2))
    across = np.tile([(1.0, 0.0), (0.0, 1.0)], (40, 1))
    shift = np.concatenate([2.5 * np.clip(outward[:, 0], 0, 1), np.zeros(80)])
    shift += rng.normal(0, 0.05, 380)
    points, normals = np.vstack([rim, inner]), np.vstack([-outward, across])
    flat = np.vstack([outward, np.zeros((80, 2))])
    ones = np.ones(380)
    known = Matches(points, normals, shift, ones, ones, 380, flat, 1.5)
    blind = Matches(points, normals, shift, ones, ones, 380)

    def error(found):
        moved = structure.apply(frame.change(found.step), rim) - rim
        return float(np.sqrt((moved**2).sum(axis=1).mean()))

    told, without = (error(consensus.agree(one, frame, 0.6)) for one in (known, blind))
    assert told < 0.6 * without
