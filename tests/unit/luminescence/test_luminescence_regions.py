"""Regions on drawn residuals: areas, edges, kinds, causes, confidence."""

import itertools

import cv2
import numpy as np
import pytest

from heelstamp.luminescence import causes, coat_model, confidence, regions
from heelstamp.luminescence.candidates import find_all, kind_of
from heelstamp.luminescence.findings import Kind
from heelstamp.luminescence.linear import lab

PER_MM = 3.0
SHAPE = (600, 800)


def body():
    outline = np.zeros(SHAPE, np.uint8)
    cv2.ellipse(outline, (400, 300), (370, 270), 0, 0, 360, 1, -1)
    parts = np.zeros(SHAPE, np.uint8)
    cv2.rectangle(parts, (350, 250), (450, 350), 1, -1)
    return coat_model.coat_geometry(outline > 0, parts > 0, PER_MM)


COAT = body()


def scene(draw, *, ratio=(0.45, 0.45, 0.45), soft=0.0, seen=0.0, noise=0.01, seed=3):
    """A lamp's fall-off over an even coat with one drawn patch; linear visible and UV light."""
    rng = np.random.default_rng(seed)
    ys, xs = np.mgrid[0 : SHAPE[0], 0 : SHAPE[1]].astype(np.float32)
    lamp = 0.5 / (1 + ((xs - 250) ** 2 + (ys - 200) ** 2) / 600.0**2)
    patch = np.zeros((SHAPE[0] * 4, SHAPE[1] * 4), np.uint8)
    draw(patch)
    m = cv2.resize(patch.astype(np.float32), SHAPE[::-1], interpolation=cv2.INTER_AREA)
    m = cv2.GaussianBlur(m, (0, 0), soft) if soft else m
    change = 1 + m[..., None] * (np.array(ratio, np.float32) - 1)
    uv = lamp[..., None] * np.array([0.6, 0.8, 0.4], np.float32) * change
    uv *= np.exp(noise * rng.standard_normal((*SHAPE, 1)).astype(np.float32))
    visible = np.full((*SHAPE, 3), 0.3, np.float32) * (1 + m[..., None] * seen)
    visible *= np.exp(0.01 * rng.standard_normal(visible.shape)).astype(np.float32)
    return visible.astype(np.float32), uv.astype(np.float32), float(m.sum())


def rectangle(x, y, w, h):
    return lambda image: cv2.rectangle(
        image, (4 * x, 4 * y), (4 * (x + w) - 1, 4 * (y + h) - 1), 1, -1
    )


def disc(x, y, radius):
    return lambda image: cv2.circle(image, (4 * x, 4 * y), 4 * radius, 1, -1)


def only(found):
    assert len(found) == 1
    return found[0]


@pytest.mark.parametrize(
    "draw",
    [
        rectangle(520, 200, 90, 60),
        disc(200, 300, 45),
        disc(560, 380, 24),
        rectangle(150, 220, 40, 130),
    ],
)
@pytest.mark.parametrize("ratio", [0.45, 1.6])
def test_areas_of_drawn_shapes_within_two_percent(draw, ratio):
    visible, uv, area = scene(draw, ratio=(ratio,) * 3)
    one = only(find_all(visible, uv, COAT, PER_MM))
    assert one.area_mm2 == pytest.approx(area / PER_MM**2, rel=0.02)
    assert np.exp(one.contrast[0]) == pytest.approx(ratio, rel=0.03)
    assert one.edge > 0.6
    assert one.surrounded > 0.9


def test_an_even_coat_under_an_uneven_lamp_has_no_region():
    visible, uv, _ = scene(lambda image: None)
    assert find_all(visible, uv, COAT, PER_MM) == []


def test_a_soft_patch_is_gradual():
    visible, uv, _ = scene(disc(200, 300, 50), ratio=(0.6, 0.6, 0.6), soft=22.0)
    one = only(find_all(visible, uv, COAT, PER_MM))
    assert kind_of(one) == Kind.GRADUAL


@pytest.mark.parametrize(
    ("ratio", "kind"),
    [
        ((0.5, 0.5, 0.5), Kind.DARKER),
        ((1.5, 1.5, 1.5), Kind.BRIGHTER),
        ((0.97, 0.97, 1.9), Kind.OTHER_HUE),
    ],
)
def test_kinds(ratio, kind):
    visible, uv, _ = scene(disc(560, 380, 40), ratio=ratio)
    assert kind_of(only(find_all(visible, uv, COAT, PER_MM))) == kind


def test_visible_wear_is_not_explained_away_by_its_colour():
    visible, uv, area = scene(disc(200, 300, 60), ratio=(0.2, 0.2, 0.2), seen=0.9, soft=3.0)
    one = only(find_all(visible, uv, COAT, PER_MM))
    assert one.colour.difference > 6
    assert next(iter(causes.support(one))) == causes.WEAR
    assert one.area_mm2 == pytest.approx(area / PER_MM**2, rel=0.06)


@pytest.mark.parametrize("haze", [0.07, 0.16, 0.25])
def test_a_cloudy_film_on_a_dark_coat_is_not_explained_away_by_its_haze(haze):
    """Its grey lightens the coat to the eye, while the glow under it is weaker."""
    ground, grey = 0.04, 0.4
    visible, uv, area = scene(disc(200, 300, 70), ratio=(0.8, 0.8, 0.82), soft=14.0)
    share, _, _ = scene(disc(200, 300, 70), soft=14.0, seen=1.0, noise=0.0)
    covered = np.clip(share / 0.3 - 1, 0, 1)
    visible = visible / 0.3 * ground
    visible = visible + haze * covered * (grey - visible)
    one = only(find_all(visible.astype(np.float32), uv, COAT, PER_MM))
    assert kind_of(one) == Kind.GRADUAL
    assert next(iter(causes.support(one))) == causes.FILM
    assert one.colour.visible
    assert one.area_mm2 == pytest.approx(area / PER_MM**2, rel=0.12)
    assert confidence.confidence(one, stray_known=True) >= confidence.REPORTED


def test_a_colour_change_of_the_ground_that_explains_the_glow_is_no_region():
    visible, _, _ = scene(lambda image: None)
    xs = np.arange(SHAPE[1], dtype=np.float32)[None, :, None]
    visible = visible * (0.4 + 0.6 * (np.sin(xs / 60) + 1))
    _, uv, _ = scene(lambda image: None)
    uv = uv * (1 + visible) / 2
    assert find_all(visible.astype(np.float32), uv.astype(np.float32), COAT, PER_MM) == []


@pytest.mark.parametrize(
    ("draw", "ratio", "soft", "seen", "cause"),
    [
        (disc(560, 380, 25), (0.42, 0.45, 0.6), 0.0, 0.02, causes.TOUCH_UP),
        (disc(560, 380, 14), (1.6, 1.8, 2.8), 0.0, 0.0, causes.OVERSPRAY),
        (disc(200, 300, 70), (0.72, 0.74, 0.78), 14.0, 0.06, causes.FILM),
    ],
)
def test_causes_of_textbook_patches(draw, ratio, soft, seen, cause):
    visible, uv, _ = scene(draw, ratio=ratio, soft=soft, seen=seen, noise=0.005)
    found = causes.support(only(find_all(visible, uv, COAT, PER_MM)))
    assert next(iter(found)) == cause
    assert sum(found.values()) == pytest.approx(1.0)
    assert max(found.values()) <= 0.80
    assert "original" not in found


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_a_removed_parts_place_is_darker_or_brighter_and_never_sure(ratio):
    visible, uv, _ = scene(rectangle(520, 170, 114, 75), ratio=(ratio,) * 3, seen=0.12, noise=0.005)
    found = causes.support(only(find_all(visible, uv, COAT, PER_MM)))
    assert 0.05 <= found[causes.SHADE] <= 0.60
    round_one, uv, _ = scene(disc(560, 330, 50), ratio=(ratio,) * 3, seen=0.12, noise=0.005)
    assert causes.SHADE not in causes.support(only(find_all(round_one, uv, COAT, PER_MM)))


def test_no_share_passes_its_cap_whatever_is_seen():
    names = {question: tuple(answers) for question, answers in causes.TABLE.items()}
    for seen in itertools.product(*names.values()):
        told = dict(zip(names, seen, strict=True))
        assert all(causes.cap(cause, told) <= 0.80 for cause in (*causes.CAUSES, causes.NONE))


def test_a_place_of_another_hue_alone_is_given_no_cause():
    visible, uv, _ = scene(disc(560, 380, 25), ratio=(1.0, 1.0, 1.35), noise=0.005)
    one = only(find_all(visible, uv, COAT, PER_MM))
    assert abs(one.contrast[0]) < 0.1
    assert causes.support(one) == {causes.UNTOLD: 1.0}


def test_the_table_of_causes_adds_up():
    assert sum(causes.PRIOR.values()) == pytest.approx(1.0)
    for question, answers in causes.TABLE.items():
        for cause in causes.CAUSES:
            total = sum(row[cause] for row in answers.values())
            assert total == pytest.approx(1.0, abs=1e-6), (question, cause)


def test_a_thread_of_lint_is_no_region():
    def thread(image):
        cv2.polylines(image, [np.array([(2080, 900), (2200, 1010), (2290, 980)])], False, 1, 3)

    visible, uv, _ = scene(thread, ratio=(1.5, 1.8, 3.0))
    assert find_all(visible, uv, COAT, PER_MM) == []


def test_confidence_grows_with_contrast_and_falls_without_a_grey_standard():
    sure = []
    for ratio in (0.88, 0.8, 0.6):
        visible, uv, _ = scene(disc(560, 380, 30), ratio=(ratio,) * 3, noise=0.04)
        one = find_all(visible, uv, COAT, PER_MM)[0]
        sure.append(confidence.confidence(one, stray_known=True))
        assert confidence.confidence(one, stray_known=False) <= sure[-1]
    assert sure == sorted(sure)
    assert sure[-1] > confidence.REPORTED


def test_too_little_coat_gives_no_residuals():
    tiny = np.zeros(SHAPE, bool)
    tiny[300:310, 400:410] = True
    coat = coat_model.coat_geometry(tiny, np.zeros(SHAPE, bool), PER_MM)
    visible, uv, _ = scene(lambda image: None)
    left = coat_model.fit(coat_model.log_glow(uv), coat, visible)
    assert not left.values.any()
    assert regions.find(left, coat, lab(visible), PER_MM) == []


@pytest.mark.parametrize("place", [(180, 200), (560, 180), (600, 400), (250, 440), (150, 320)])
def test_a_touch_up_of_three_millimetres_is_found(place):
    visible, uv, area = scene(disc(*place, 5), ratio=(0.5, 0.5, 0.5), noise=0.02, seed=place[0])
    one = only(find_all(visible, uv, COAT, PER_MM))
    assert confidence.confidence(one, stray_known=True) >= confidence.REPORTED
    assert one.area_mm2 == pytest.approx(area / PER_MM**2, rel=0.2)


def test_a_pale_shadow_is_held_over_centimetres():
    """Weaker than any single place may be held by: 20 % brighter, noise and lumps of 4 %."""
    visible, uv, area = scene(rectangle(520, 170, 114, 75), ratio=(1.2, 1.2, 1.2), noise=0.04)
    rng = np.random.default_rng(8)
    lumps = cv2.GaussianBlur(rng.standard_normal(SHAPE).astype(np.float32), (0, 0), 6)
    uv = uv * np.exp(0.04 * lumps / lumps.std())[..., None]
    found = [c for c in find_all(visible, uv.astype(np.float32), COAT, PER_MM) if c.area_mm2 > 300]
    assert only(found).area_mm2 == pytest.approx(area / PER_MM**2, rel=0.15)


def test_a_narrow_dark_strip_along_the_rim_is_not_assessed_but_a_wide_one_is():
    for width, count in ((9, 0), (30, 1)):

        def arc(image, width=width):
            axes = (4 * (370 - 4 - width // 2), 4 * (270 - 4 - width // 2))
            cv2.ellipse(image, (1600, 1200), axes, 0, 20, 70, 1, 4 * width)

        visible, uv, _ = scene(arc, ratio=(0.5, 0.5, 0.5))
        assert len(find_all(visible, uv, COAT, PER_MM)) == count, width
