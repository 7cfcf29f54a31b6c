"""What the eye sees: a region's colour against what the ground does anyway."""

import cv2
import numpy as np
import pytest

from heelstamp.luminescence import seen_colour
from heelstamp.luminescence.seen_colour import JUST_NOTICEABLE, compare

SHAPE = (220, 320)
HEART = np.zeros((60, 60), bool)
HEART[20:40, 18:42] = True
RING = cv2.dilate(HEART.astype(np.uint8), np.ones((25, 25), np.uint8)).astype(bool) & ~HEART
AT = (80, 130)


def ground(grain=0.0, seed=1):
    """An even Lab ground, with lines of *grain* along the long side when asked."""
    rng = np.random.default_rng(seed)
    lab = np.tile(np.array([52.0, 12.0, 25.0], np.float32), (*SHAPE, 1))
    lines = cv2.GaussianBlur(rng.standard_normal((SHAPE[0], 1)).astype(np.float32), (1, 9), 2.5)
    lab[..., 0] += grain * lines / lines.std()
    return lab + rng.normal(0, 0.4, lab.shape).astype(np.float32)


def changed(lab, by):
    """The ground with the region made lighter by *by*, and where the glow does not differ."""
    lab = lab.copy()
    free = np.ones(SHAPE, bool)
    box = np.s_[AT[0] : AT[0] + 60, AT[1] : AT[1] + 60]
    lab[box][HEART] += (by, 0, 0)
    free[box][HEART] = False
    return lab, free


def of(lab, free):
    return compare(lab, free, HEART, RING, at=AT)


def test_on_an_even_ground_the_just_noticeable_difference_decides():
    for by, seen in ((0.0, False), (1.5, False), (4.0, True)):
        one = of(*changed(ground(), by))
        assert one.usual < 0.5
        assert one.visible is seen
        assert one.difference == pytest.approx(by, abs=0.3)


def test_grain_beside_a_small_place_is_not_its_colour():
    """Judged by the difference alone, grain makes many such places visible."""
    alone, judged = 0, 0
    for seed in range(60):
        one = of(*changed(ground(grain=6.0, seed=seed), 0.0))
        alone += one.difference >= JUST_NOTICEABLE
        judged += one.visible
    assert alone > 15
    assert judged <= 0.1 * 60


def test_a_plain_difference_is_seen_on_grain_too():
    seen = [of(*changed(ground(grain=3.0, seed=seed), 12.0)).visible for seed in range(30)]
    assert np.mean(seen) >= 0.95


def test_a_slope_of_colour_does_not_hide_a_patch_on_it():
    lab = ground()
    lab[..., 0] += np.linspace(0, 30, SHAPE[1], dtype=np.float32)[None, :]
    assert of(*changed(lab, 4.0)).visible
    assert not of(*changed(lab, 0.0)).visible


def test_where_hardly_any_place_fits_the_just_noticeable_difference_decides_alone():
    lab, _ = changed(ground(grain=6.0), 3.0)
    nothing_free = np.zeros(SHAPE, bool)
    one = of(lab, nothing_free)
    assert one.usual == 0.0
    assert one.visible is (one.difference >= JUST_NOTICEABLE)


def test_other_places_that_differ_do_not_count_as_ground():
    """A second, far more coloured place beside it would else raise what is usual."""
    lab, free = changed(ground(), 4.0)
    other = np.s_[AT[0] + 20 : AT[0] + 40, AT[1] + 44 : AT[1] + 68]
    lab[other] += (30, 20, 0)
    assert of(lab, free).usual > 4.0
    free[other] = False
    assert of(lab, free).usual < 1.0
    assert of(lab, free).visible


def test_large_masks_are_sampled_evenly_and_places_at_the_frame_are_left_out():
    rows, columns = seen_colour._sampled(np.ones((100, 100), bool), (5, 7))
    assert len(rows) <= 2 * seen_colour.SAMPLES
    assert (rows.min(), columns.min()) == (5, 7)
    corner = compare(ground(), np.ones(SHAPE, bool), HEART, RING, at=(0, 0))
    assert corner.difference < 1.0
