"""What one UV-A frame may claim, on drawn coats: the lamp's doing is left open.

Shade changes the light and hardly the hue; dust and gloss only add light. The drawings are those of
a slab under one lamp, with what a lamp, a part or dust does to it.
"""

import cv2
import numpy as np
import pytest

from heelstamp.luminescence import coat_model, one_frame
from heelstamp.luminescence.candidates import find_all
from heelstamp.luminescence.one_frame import Why

PER_MM = 3.0
SHAPE = (600, 800)
GLOW = np.array([0.6, 0.8, 0.4], np.float32)


def body():
    outline = np.zeros(SHAPE, np.uint8)
    cv2.ellipse(outline, (400, 300), (370, 270), 0, 0, 360, 1, -1)
    parts = np.zeros(SHAPE, np.uint8)
    cv2.rectangle(parts, (350, 250), (450, 350), 1, -1)
    return coat_model.coat_geometry(outline > 0, parts > 0, PER_MM)


COAT = body()


def drawn(shape, *, soft=0.0):
    """A mask of what *shape* draws at four times the size, blurred by *soft* pixels."""
    big = np.zeros((SHAPE[0] * 4, SHAPE[1] * 4), np.uint8)
    shape(big)
    mask = cv2.resize(big.astype(np.float32), SHAPE[::-1], interpolation=cv2.INTER_AREA)
    return cv2.GaussianBlur(mask, (0, 0), soft) if soft else mask


def disc(x, y, radius):
    return lambda image: cv2.circle(image, (4 * x, 4 * y), round(4 * radius), 1, -1)


def scene(mask, ratio, *, seen=(1.0, 1.0, 1.0)):
    """Linear visible and UV light of a coat changed by *ratio*, that looks changed by *seen*."""
    rng = np.random.default_rng(7)
    ys, xs = np.mgrid[0 : SHAPE[0], 0 : SHAPE[1]].astype(np.float32)
    lamp = 0.5 / (1 + ((xs - 250) ** 2 + (ys - 200) ** 2) / 600.0**2)
    change = 1 + mask[..., None] * (np.array(ratio, np.float32) - 1)
    uv = lamp[..., None] * GLOW * change
    uv = uv * np.exp(0.006 * rng.standard_normal((*SHAPE, 1)))
    visible = 0.3 * (1 + mask[..., None] * (np.array(seen, np.float32) - 1))
    visible = visible * np.exp(0.01 * rng.standard_normal((*SHAPE, 3)))
    return visible.astype(np.float32), uv.astype(np.float32)


def told(mask, ratio, *, drawn_masks=True, **seen):
    """What is said of every candidate of the scene that is not too small."""
    visible, uv = scene(mask, ratio, **seen)
    found = find_all(visible, uv, COAT, PER_MM)
    calm = cv2.GaussianBlur(visible, (0, 0), 0.25 * PER_MM)
    return [
        one_frame.doubt(one, calm, uv, drawn=drawn_masks)
        for one in found
        if not one_frame.too_small(one, PER_MM)
    ]


def test_a_dark_place_with_a_crisp_border_all_around_is_claimed():
    assert told(drawn(disc(560, 380, 25)), (0.5, 0.5, 0.55)) == [None]


@pytest.mark.parametrize("soft", [8.0, 14.0, 25.0])
def test_a_soft_dark_place_is_light_or_shape(soft):
    assert told(drawn(disc(200, 300, 60), soft=soft), (0.7,) * 3) == [Why.LIGHT]


@pytest.mark.parametrize("ratio", [1.25, 1.9])
def test_nothing_brighter_is_claimed(ratio):
    assert told(drawn(disc(200, 300, 45)), (ratio,) * 3) == [Why.LIGHT]
    assert told(drawn(disc(200, 300, 12)), (ratio,) * 3) == [Why.DUST]


def test_a_shadow_that_begins_at_a_part_is_light():
    def shade(image):
        corners = np.array([(1800, 1000), (2060, 1060), (2060, 1400), (1800, 1400)])
        cv2.fillPoly(image, [corners], 1)

    assert Why.LIGHT in told(drawn(shade, soft=1.0), (0.5,) * 3)
    assert None not in told(drawn(shade, soft=1.0), (0.5,) * 3)


def test_ground_that_shows_is_claimed_although_its_border_is_soft():
    """Shade leaves the hue in ordinary light alone; bare wood beside a stain does not."""
    mask = drawn(disc(200, 300, 60), soft=10.0)
    assert told(mask, (0.3,) * 3, seen=(1.5, 1.2, 0.9)) == [None]
    assert told(mask, (0.3,) * 3, seen=(0.6, 0.6, 0.6)) == [Why.LIGHT]


@pytest.mark.parametrize(("radius", "count"), [(3.4, 0), (3.9, 0), (5.4, 1)])
def test_below_three_millimetres_nothing_is_reported(radius, count):
    """Discs of 2.3, 2.6 and 3.6 mm across."""
    assert len(told(drawn(disc(560, 380, radius)), (0.3,) * 3)) == count


def test_a_fibre_and_a_string_are_never_claimed():
    def thread(image):
        cv2.polylines(image, [np.array([(2080, 900), (2200, 1150), (2290, 1580)])], False, 1, 40)

    assert set(told(drawn(thread), (1.5, 1.8, 3.0))) <= {Why.DUST}
    assert None not in told(drawn(thread), (0.3, 0.3, 0.3))


def test_while_nobody_drew_the_masks_only_what_no_part_can_look_like_is_claimed():
    mask = drawn(disc(560, 380, 25))
    assert told(mask, (0.5,) * 3, drawn_masks=False) == [None]
    # the eye sees it, or it hardly glows: so would a part
    assert told(mask, (0.5,) * 3, drawn_masks=False, seen=(0.4, 0.5, 0.6)) == [Why.UNDRAWN]
    assert told(mask, (0.15,) * 3, drawn_masks=False) == [Why.UNDRAWN]


def test_green_falls_where_light_falls_and_hue_is_kept():
    """By the definition of relative luminance (ITU-R BT.709): equal ratios change green alike."""
    mask = drawn(disc(560, 380, 25))
    for ratio in ((0.5, 0.5, 0.5), (0.9, 0.6, 1.2), (1.4, 1.1, 0.5)):
        visible, uv = scene(mask, ratio)
        one = max(find_all(visible, uv, COAT, PER_MM), key=lambda c: c.area_mm2)
        assert one_frame.green_change(one, uv) == pytest.approx(np.log(ratio[1]), abs=0.03)
