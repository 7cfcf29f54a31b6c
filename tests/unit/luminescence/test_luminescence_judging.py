"""What a candidate is judged by: marks are new in form, light keeps the form that is there."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from heelstamp.luminescence.linear import Float
from heelstamp.luminescence.visits.bands import NAMES, bands_of
from heelstamp.luminescence.visits.judging import ONE_LIGHT, TWO_LIGHTS, answers_of

PER_MM = 5.0
SHAPE = (120, 160)


def coat(seed: int = 4) -> Float:
    """A coat of faint texture with one dark old mark in its middle."""
    rng = np.random.default_rng(seed)
    grain = cv2.GaussianBlur(rng.standard_normal(SHAPE).astype(np.float32), (0, 0), 2)
    light = 0.3 * np.exp(0.1 * grain / grain.std())[..., None] * np.array([1.0, 0.7, 0.4])
    return disc(light.astype(np.float32), (80, 60), 9, (0.3, 0.3, 0.3))


def disc(light: Float, at: tuple[int, int], radius: int, share: tuple[float, ...]) -> Float:
    mask = np.zeros(SHAPE, np.float32)
    cv2.circle(mask, at, radius, 1.0, -1, cv2.LINE_AA)
    tint = 1 + mask[..., None] * (np.array(share, np.float32) - 1)
    return np.asarray(light * tint, np.float32)


def lit(light: Float, angle: float) -> Float:
    """The same under a lamp that falls off in a direction."""
    ys, xs = np.mgrid[-1 : 1 : SHAPE[0] * 1j, -1 : 1 : SHAPE[1] * 1j]
    fall = 1 + 0.3 * (np.cos(angle) * xs + np.sin(angle) * ys)
    return np.asarray(light * fall[..., None], np.float32)


def odds(before: list[Float], after: list[Float], at: tuple[int, int], radius: int) -> float:
    """Log odds of a disc that is seen after."""
    mask = np.zeros(SHAPE, np.uint8)
    cv2.circle(mask, at, radius, 1, -1)
    maps = {name: np.full(SHAPE, 1.0, np.float32) for name in NAMES}
    own, other = ([bands_of(one, PER_MM) for one in side] for side in (after, before))
    answers = answers_of(mask > 0, maps, own, other, PER_MM)
    weights = TWO_LIGHTS if len(before) > 1 else ONE_LIGHT
    assert set(answers) == set(weights.by)
    return weights.log_odds(answers)


@pytest.mark.parametrize("lights", [1, 2])
def test_a_mark_that_came_is_judged_above_an_old_one_under_other_light(lights: int) -> None:
    old, at = coat(), (40, 60)
    chipped = disc(old, at, 9, (1.6, 1.4, 1.0))
    before = [lit(old, angle) for angle in (0.0, 2.0)][:lights]
    after = [lit(chipped, angle) for angle in (1.0, 3.0)][:lights]
    came = odds(before, after, at, 9)
    stayed = odds(before, [lit(old, angle) for angle in (1.0, 3.0)][:lights], (80, 60), 9)
    assert came > stayed + 3


def test_a_veil_or_a_shift_keeps_the_form_that_is_there() -> None:
    old = coat()
    before = [lit(old, 0.0), lit(old, 2.0)]
    clear = odds(before, [lit(disc(old, (40, 60), 9, (1.6, 1.4, 1.0)), 1.0)] * 2, (40, 60), 9)
    veiled = [np.asarray(lit(old, angle) + 0.15, np.float32) for angle in (1.0, 3.0)]
    beside = [np.asarray(np.roll(one, 5, axis=1), np.float32) for one in before]
    assert odds(before, veiled, (80, 60), 9) < clear - 3
    assert odds(before, beside, (80, 60), 9) < clear - 3


def test_a_reflection_in_one_of_two_photographs_is_not_taken_for_a_mark() -> None:
    old, at = coat(), (40, 60)
    shine = np.asarray(disc(lit(old, 1.0), at, 9, (1.6, 1.7, 1.9)), np.float32)
    before = [lit(old, 0.0), lit(old, 2.0)]
    assert odds(before, [shine, lit(old, 3.0)], at, 9) < 0
