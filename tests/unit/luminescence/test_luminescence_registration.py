"""Registration against known homographies: simulated pairs, drawn edges, points by hand."""

import functools

import cv2
import numpy as np
import pytest

from fakes.finish_simulator import Faults, simulate
from fakes.finish_truth import registration_rms
from heelstamp.errors import InputError
from heelstamp.luminescence import edge_fit, gates, structure, tile_check
from heelstamp.luminescence.registration import from_points, register

WIDTH = 1400


@functools.cache
def pair(seed, difficulty="easy", *, turned=False):
    return simulate(
        seed,
        difficulty=difficulty,
        width=WIDTH,
        style="one horn",
        finish="transparent",
        side="front",
        faults=Faults(uv_turned=turned),
    )


@pytest.mark.parametrize("difficulty", ["easy", "medium", "hard"])
def test_to_a_pixel_of_the_known_homography(difficulty):
    one = pair(11, difficulty)
    found = register(one.visible, one.uv)
    assert found is not None
    assert registration_rms(one, np.eye(3)) > 1.5
    assert registration_rms(one, found.transform) < 1.0
    assert found.correlation > 0.5
    assert found.mirrored < found.correlation


def test_upside_down_is_found_and_said():
    one = pair(12, turned=True)
    found = register(one.visible, one.uv)
    assert found is not None
    assert found.turned
    assert registration_rms(one, found.transform) < 1.0


def test_photographs_of_two_sizes():
    one = pair(11)
    smaller = cv2.resize(one.uv, None, fx=0.8, fy=0.8, interpolation=cv2.INTER_AREA)
    found = register(one.visible, smaller)
    assert found is not None
    to_full = structure.between(smaller.shape, one.uv.shape)
    assert registration_rms(one, found.transform @ np.linalg.inv(to_full)) < 1.0


def test_nothing_to_see_is_not_borne_out():
    grey = np.full((600, 800, 3), 90, np.uint8)
    found = register(grey, grey // 2)
    assert gates.position(found, 800) is not None


def test_noise_against_noise_is_not_borne_out():
    rng = np.random.default_rng(8)
    one, two = (rng.integers(0, 255, (600, 800, 3), dtype=np.uint8) for _ in range(2))
    found = register(one, two)
    assert found is None or found.correlation < 0.2


def test_four_points_marked_by_hand_to_five_pixels():
    one = pair(13)
    here = np.array([(300.0, 250.0), (1150.0, 260.0), (1100.0, 800.0), (350.0, 780.0)])
    there = structure.apply(np.linalg.inv(one.transform), here)
    there += np.array([(4, -3), (-5, 2), (3, 4), (-2, -4)])
    pairs = [(tuple(a), tuple(b)) for a, b in zip(here, there, strict=True)]
    found = from_points(one.visible, one.uv, pairs)
    assert found.by_points
    assert registration_rms(one, found.transform) < 1.0


@pytest.mark.parametrize(
    "points",
    [
        [],
        [((0, 0), (0, 0)), ((9, 9), (9, 9)), ((0, 9), (0, 9))],
        [((k, k), (k, k)) for k in (0, 100, 200, 300)],
    ],
)
def test_points_that_fix_nothing(points):
    one = pair(13)
    with pytest.raises(InputError, match="four points"):
        from_points(one.visible, one.uv, points)


def drawn():
    image = np.zeros((700, 900), np.float32)
    cv2.rectangle(image, (120, 90), (640, 500), 0.8, -1)
    cv2.circle(image, (500, 380), 140, 0.3, -1)
    cv2.ellipse(image, (330, 250), (110, 60), 30, 0, 360, 0.5, -1)
    return cv2.GaussianBlur(image, (0, 0), 1.2)


def test_edges_of_drawn_shapes_give_back_a_known_homography():
    image = drawn()
    known = np.array([[1.004, 0.012, -5.0], [-0.009, 0.998, 4.0], [4e-6, -3e-6, 1.0]])
    moved = cv2.warpPerspective(1.0 - image, known, image.shape[::-1], borderValue=1.0)
    found = edge_fit.refine(image, moved.astype(np.float32), np.eye(3))
    assert found is not None
    corners = np.array([(130.0, 100.0), (630.0, 100.0), (630.0, 490.0), (130.0, 490.0)])
    off = structure.apply(found.warp, corners) - structure.apply(known, corners)
    assert np.abs(off).max() < 0.15
    assert found.spread < 0.1


def coded(light, exponent=1.0):
    return (np.clip(light, 0, 1) ** (exponent / 2.2)).astype(np.float32)


@pytest.mark.parametrize("exponent", [1.0, 0.75, 1.4])
def test_an_edge_that_is_dark_on_the_other_side_stays_where_it_is(exponent):
    """Blur in light moves edges in code values; a tone curve of the camera moves them as well."""
    body = cv2.GaussianBlur(drawn(), (0, 0), 1.5)
    known = np.array([[1.002, 0.004, -3.0], [-0.003, 0.999, 2.0], [2e-6, -1e-6, 1.0]])
    other = cv2.warpPerspective(0.82 - body, known, body.shape[::-1], borderValue=0.82)
    codes = coded(body + 0.01, exponent), coded(other + 0.01, exponent)
    lights = tuple((code.astype(np.float32)) ** 2.2 for code in codes)
    found = edge_fit.refine(*codes, np.eye(3), light=lights)
    assert found is not None
    grid = np.array([(x, y) for x in range(130, 660, 60) for y in range(100, 510, 60)], float)
    off = structure.apply(found.warp, grid) - structure.apply(known, grid)
    assert np.sqrt((off**2).sum(axis=1).mean()) < 0.25
    assert found.rival < 0.25


def test_a_fit_is_as_sure_as_its_edges_allow():
    one = drawn()
    rich = edge_fit.refine(one, one, np.eye(3))
    bare = np.zeros_like(one)
    cv2.rectangle(bare, (400, 300), (470, 350), 0.8, -1)
    bare = cv2.GaussianBlur(bare, (0, 0), 1.2)
    poor = edge_fit.refine(bare, bare, np.eye(3))
    assert rich is not None
    assert rich.expected < 0.3
    assert poor is None or poor.expected > rich.expected


def test_tiles_see_a_shift_that_is_left():
    rng = np.random.default_rng(2)
    image = cv2.GaussianBlur(rng.random((700, 900), dtype=np.float32), (0, 0), 2.0)
    place = np.array([[1.0, 0.0, 3.0], [0.0, 1.0, -2.0], [0.0, 0.0, 1.0]])
    moved = cv2.warpPerspective(image, place, image.shape[::-1], borderMode=cv2.BORDER_REFLECT)
    edges = [structure.edges(i, floor=0.2) for i in (image, moved)]
    assert tile_check.residuals(*edges, np.eye(3)).median == pytest.approx(13**0.5, rel=0.05)
    there = tile_check.residuals(*edges, place)
    assert there.median < 0.1
    assert there.good_share > 0.9


def test_resizing_keeps_pixel_centres():
    place = structure.between((100, 200), (50, 100))
    assert structure.apply(place, np.array([(0.5, 0.5), (198.5, 98.5)])) == pytest.approx(
        np.array([(0.0, 0.0), (99.0, 49.0)])
    )
