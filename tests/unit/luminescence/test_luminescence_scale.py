"""Scale from given numbers, known lengths and drawn rulers."""

import cv2
import numpy as np
import pytest

from heelstamp.errors import InputError
from heelstamp.luminescence.scale import area_mm2, from_length, from_marks, given


def ruler(per_mm: float, *, turn: float = 0.0, noise: float = 3.0, tens: bool = True):
    """A white strip with a mark each millimetre, every tenth longer; the line across the marks."""
    h, w = 300, 900
    big = np.full((h * 4, w * 4), 120, np.uint8)
    cv2.rectangle(big, (0, 400), (w * 4, 800), 235, -1)
    for k in range(int((w - 40) / per_mm)):
        x = round(4 * (20 + k * per_mm))
        low = 640 if tens and k % 10 == 0 else 560 if tens and k % 5 == 0 else 500
        cv2.line(big, (x, 404), (x, low), 20, max(1, round(0.2 * 4 * per_mm)))
    image = cv2.resize(big, (w, h), interpolation=cv2.INTER_AREA)
    spin = cv2.getRotationMatrix2D((w / 2, h / 2), turn, 1.0)
    image = cv2.warpAffine(image, spin, (w, h), borderValue=120).astype(float)
    image += np.random.default_rng(4).normal(0, noise, image.shape)
    ends = np.array([(60.0, 115.0, 1.0), (w - 60.0, 115.0, 1.0)]) @ spin.T
    rgb = np.clip(image, 0, 255).astype(np.uint8)[..., None].repeat(3, axis=2)
    return rgb, tuple(ends.ravel())


@pytest.mark.parametrize("per_mm", [4.0, 5.37, 8.13, 11.9])
@pytest.mark.parametrize("turn", [0.0, 4.0])
def test_marks_to_a_fifth_of_a_percent(per_mm, turn):
    image, line = ruler(per_mm, turn=turn)
    found = from_marks(image, line)
    assert found.px_per_mm == pytest.approx(per_mm, rel=2e-3)
    assert 0 < found.uncertainty < 0.01 * per_mm


def test_marks_of_another_spacing():
    image, line = ruler(12.0, tens=False)
    assert from_marks(image, line, spacing_mm=2.0).px_per_mm == pytest.approx(6.0, rel=2e-3)


@pytest.mark.parametrize("line", [(60, 20, 840, 20), (0, 0, 5, 0), (-50, 115, 800, 115)])
def test_a_line_beside_the_marks_is_refused(line):
    image, _ = ruler(6.0)
    with pytest.raises(InputError, match="no marks"):
        from_marks(image, line)


def test_known_length():
    found = from_length((100, 100, 400, 500), 100.0)
    assert found.px_per_mm == pytest.approx(5.0)
    assert found.uncertainty == pytest.approx(1.5 * 2**0.5 / 100)
    with pytest.raises(InputError, match="too short"):
        from_length((0, 0, 1, 1), 100.0)


@pytest.mark.parametrize("value", [0.0, -2.0, float("nan")])
def test_given_scale_must_be_possible(value):
    with pytest.raises(InputError, match="scale"):
        given(value)


def test_area_and_its_uncertainty():
    area, doubt = area_mm2(10_000, 400, given(10.0))
    assert area == 100.0
    # 2 % from the scale, 400 / 3 pixels of 10 000 from the edge
    assert doubt == pytest.approx(100 * np.hypot(0.02, 400 / 3 / 10_000))
