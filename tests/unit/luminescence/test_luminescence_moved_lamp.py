"""UV-A frames with the lamp on opposite sides: what the light made drops out of them."""

import functools

import cv2
import numpy as np
import pytest

from fakes.finish_moved import lit_from
from fakes.finish_simulator import simulate
from fakes.finish_surfaces import Planted
from heelstamp.luminescence import (
    GreyStandard,
    Kind,
    Masks,
    assess,
    coat_model,
    lamp_direction,
    moved_lamp,
    one_frame,
)

FILM = Planted("film", (-75, 110), (60, 40), 0.74, edge=5.0)
FILL = Planted("fill", (75, 150), (26, 20), 1.7, hue=0.3)
SHADOW = (430.0, 330.0, 60.0, 0.4)


@functools.cache
def body():
    return simulate(
        43,
        difficulty="easy",
        width=1000,
        style="lozenge",
        finish="solid light",
        side="back",
        planted=(FILM, FILL),
    )


def judged(*frames, **more):
    one = body()
    wanted = {"brushed": True, "masks": Masks(one.outline, one.parts)} | more
    return assess(
        one.visible,
        frames[0],
        further=frames[1:],
        px_per_mm=one.px_per_mm,
        greys=(GreyStandard(one.grey, one.grey_reflectance),),
        **wanted,
    )


@functools.cache
def opposite():
    return judged(lit_from(body(), 20), lit_from(body(), 195, shade=(SHADOW,)))


def codes(found):
    return [one.code for one in found.reasons]


def test_what_the_coat_has_is_told_soft_or_brighter_and_a_shadow_of_one_frame_is_not():
    one, found = body(), opposite()
    assert found.verdict == "assessed", found.reasons
    assert found.places == 2
    labels = found.label_map()
    for defect in one.defects:
        assert (labels[one.labels == defect.label] > 0).mean() > 0.6
    false = [r for r in found.regions if not one.labels[labels == r.number].any()]
    assert false == []
    assert {region.kind for region in found.regions} & {Kind.BRIGHTER}
    assert "one place of the lamp" not in {limit.code for limit in found.limits}
    # where the shadow lies the frames do not agree: told as not tested
    assert "lit unevenly" in {limit.code for limit in found.limits}
    assert found.untested_px > 0


def test_from_the_first_frame_alone_both_are_left_open():
    found = judged(lit_from(body(), 20))
    assert found.regions == ()
    assert len(found.doubts) >= 2


def test_small_bright_places_that_were_not_brushed_may_be_dust():
    spots = Planted("fill", (60, 120), (9, 8), 1.8, hue=0.3)
    one = simulate(
        43,
        difficulty="easy",
        width=1000,
        style="lozenge",
        finish="solid light",
        side="back",
        planted=(spots,),
    )
    for brushed, count in ((True, 1), (False, 0)):
        found = assess(
            one.visible,
            lit_from(one, 20),
            further=(lit_from(one, 200),),
            brushed=brushed,
            masks=Masks(one.outline, one.parts),
            px_per_mm=one.px_per_mm,
            greys=(GreyStandard(one.grey, one.grey_reflectance),),
        )
        assert len(found.regions) == count
        if not brushed:
            assert [doubt.why for doubt in found.doubts] == [one_frame.Why.DUST]


@pytest.mark.parametrize("turn", [35.0, 90.0])
def test_a_lamp_that_was_not_moved_far_enough_is_refused_with_the_step_that_mends_it(turn):
    found = judged(lit_from(body(), 20), lit_from(body(), 20 + turn))
    assert codes(found) == ["lamp not moved"]
    assert "opposite side" in found.reasons[0].remedy
    assert found.regions == ()


def test_frames_that_do_not_go_together_are_refused():
    one = body()
    first, second = lit_from(one, 20), lit_from(one, 200)
    assert codes(judged(first, lit_from(one, 200, level=0.35))) == ["other exposure"]
    assert codes(judged(first, second[:-8])) == ["other size"]
    assert codes(judged(first, second, flats=(np.full_like(first, 200),))) == [
        "a flat frame is missing"
    ]
    small = np.full((600, 800, 3), 200, np.uint8)
    assert codes(judged(first, second, flats=(small, small))) == ["other size"]
    white = np.full_like(first, 255)
    assert codes(judged(first, second, flats=(white, white))) == ["clipped flat frame"]
    assert codes(judged(first, second, first, second)) == ["too many frames"]


def test_a_flat_frame_takes_the_lamps_fall_off_away():
    one = body()
    h, w = one.uv.shape[:2]
    xs = np.linspace(-1, 1, w, dtype=np.float32)[None, :] * np.ones((h, 1), np.float32)
    flats = []
    for sign in (1, -1):
        code = np.round(150 * np.exp(sign * 0.1 * xs)).astype(np.uint8)
        flats.append(np.repeat(code[..., None], 3, axis=2))
    found = judged(lit_from(one, 0), lit_from(one, 180), flats=tuple(flats))
    assert found.verdict == "assessed", found.reasons
    assert len(found.regions) >= 2


@pytest.mark.parametrize("degrees", [0.0, 75.0, 160.0, 250.0, 330.0])
def test_the_direction_of_the_lamp_is_read_off_rim_and_fall_off(degrees):
    """Lambert: on a rounded rim, drawn, light falls with the angle to the lamp."""
    outline = np.zeros((600, 800), np.uint8)
    cv2.ellipse(outline, (400, 300), (370, 270), 0, 0, 360, 1, -1)
    coat = coat_model.coat_geometry(outline > 0, np.zeros_like(outline) > 0, 3.0)
    turn = np.radians(degrees)
    facing = np.cos(turn) * coat.normal_x + np.sin(turn) * coat.normal_y
    light = 0.15 * facing * np.exp(-coat.rim / 2.5)
    light += np.random.default_rng(5).normal(0, 0.01, light.shape)
    found = lamp_direction.towards(light.astype(np.float32), coat)
    assert abs((found.degrees - degrees + 180) % 360 - 180) < 6


def test_without_a_rim_or_fall_off_no_direction_is_told():
    outline = np.zeros((600, 800), np.uint8)
    cv2.ellipse(outline, (400, 300), (370, 270), 0, 0, 360, 1, -1)
    coat = coat_model.coat_geometry(outline > 0, np.zeros_like(outline) > 0, 3.0)
    even = np.random.default_rng(5).normal(0, 0.01, outline.shape).astype(np.float32)
    assert lamp_direction.towards(even, coat) is None
    reason = moved_lamp.not_moved([None, None])
    assert reason.code == "place of the lamp unknown"
