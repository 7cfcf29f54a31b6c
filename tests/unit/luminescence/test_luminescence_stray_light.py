"""Stray-light arithmetic on worked numbers."""

import numpy as np
import pytest

from heelstamp.errors import InputError
from heelstamp.luminescence.stray_light import GreyStandard, measure, share_of_glow, subtract

LEAK = np.array([0.02, 0.01, 0.06], np.float32)


def frame():
    """A grey of 0.18 on the left, coat of reflectance 0.5, 0.3, 0.1 and glow 0.4, 0.5, 0.2."""
    reflectance = np.empty((20, 40, 3), np.float32)
    reflectance[:, :20], reflectance[:, 20:] = 0.18, (0.5, 0.3, 0.1)
    glow = np.zeros_like(reflectance)
    glow[:, 20:] = (0.4, 0.5, 0.2)
    visible = 0.9 * reflectance
    return visible, glow + LEAK * reflectance, glow


def test_worked_numbers():
    visible, uv, glow = frame()
    stray = measure(visible, uv, [GreyStandard((2, 2, 18, 18), 0.18)])
    assert stray is not None
    assert stray.per_reflectance == pytest.approx(LEAK, rel=1e-5)
    # coat: 0.02 * 0.5, 0.01 * 0.3, 0.06 * 0.1
    assert stray.at(visible)[5, 30] == pytest.approx([0.010, 0.003, 0.006], rel=1e-5)
    assert subtract(uv, visible, stray) == pytest.approx(glow, abs=1e-6)
    inside = np.zeros(uv.shape[:2], bool)
    inside[:, 20:] = True
    assert share_of_glow(uv, visible, stray, inside) == pytest.approx(0.019 / 1.1, rel=1e-4)


def test_two_standards_by_least_squares():
    visible, uv, _ = frame()
    visible[:, :10], uv[:, :10] = 0.9 * 0.5, LEAK * 0.5
    greys = [GreyStandard((1, 1, 9, 19), 0.5), GreyStandard((11, 1, 19, 19), 0.18)]
    stray = measure(visible, uv, greys)
    assert stray is not None
    assert stray.per_reflectance == pytest.approx(LEAK, rel=1e-5)


def test_boxes_are_scaled_and_may_lie_outside():
    visible, uv, _ = frame()
    stray = measure(visible, uv, [GreyStandard((4, 4, 36, 36), 0.18)], scale=0.5)
    assert stray is not None
    assert stray.per_reflectance == pytest.approx(LEAK, rel=1e-5)
    assert measure(visible, uv, [GreyStandard((900, 900, 950, 950), 0.18)]) is None
    assert measure(visible, uv, []) is None


def test_nothing_goes_below_nought():
    visible, uv, _ = frame()
    stray = measure(visible, uv, [GreyStandard((2, 2, 18, 18), 0.18)])
    assert stray is not None
    assert subtract(uv * 0.01, visible, stray).min() == 0.0


@pytest.mark.parametrize(
    ("box", "reflectance"), [((5, 5, 5, 9), 0.2), ((0, 0, 9, 9), 0.0), ((0, 0, 9, 9), 1.5)]
)
def test_impossible_standards(box, reflectance):
    with pytest.raises(InputError, match="grey standard"):
        GreyStandard(box, reflectance)
