"""The whole way from two photographs to regions, likelihoods and a map."""

import functools

import cv2
import numpy as np
import pytest

from fakes.finish_simulator import simulate
from fakes.finish_surfaces import Planted
from heelstamp.casework.finish.places import finish_likelihoods
from heelstamp.luminescence import (
    Assessment,
    GreyStandard,
    Kind,
    Masks,
    assess,
    causes,
    one_frame,
    outline,
    place_ratios,
)
from heelstamp.luminescence.likelihoods import place_ratio
from heelstamp.luminescence.scale import Scale

TOUCH_UP = Planted("touch-up", (-75, 90), (34, 24), 0.42, hue=0.2, visible=0.02, outline="ragged")
FILL = Planted("fill", (75, 150), (16, 12), 1.9, hue=0.5)
SHADE = Planted("shade", (-60, 150), (38, 25), 1.3, visible=0.15, outline="straight")


@functools.cache
def pair(*planted):
    return simulate(
        41,
        difficulty="easy",
        width=1400,
        style="lozenge",
        finish="solid light",
        side="front",
        planted=planted,
    )


@functools.cache
def judged(*planted, masks=True):
    one = pair(*planted)
    stages = []
    found = assess(
        one.visible,
        one.uv,
        masks=Masks(one.outline, one.parts) if masks else None,
        px_per_mm=Scale(one.px_per_mm, 0.01 * one.px_per_mm, "given"),
        greys=(GreyStandard(one.grey, one.grey_reflectance),),
        progress=stages.append,
    )
    return one, found, stages


def test_of_three_planted_patches_one_frame_claims_the_dark_crisp_one():
    one, found, _ = judged(TOUCH_UP, FILL, SHADE)
    assert found.verdict == "assessed"
    assert len(found.regions) == 1
    labels = found.label_map()
    assert labels.shape == one.labels.shape
    for defect in one.defects[:1]:
        here = labels[one.labels == defect.label]
        region = found.regions[int(np.bincount(here[here > 0]).argmax()) - 1]
        assert region.kind == Kind.DARKER
        assert next(iter(region.causes)) == causes.TOUCH_UP
        assert max(region.causes.values()) <= 0.80
        assert sum(region.causes.values()) == pytest.approx(1.0)
        assert region.ratio == pytest.approx(defect.ratio, rel=0.06)
        assert region.area_mm2 == pytest.approx(defect.area_mm2, rel=0.06)
        assert abs(region.area_mm2 - defect.area_mm2) < 3 * region.area_uncertainty_mm2
        assert region.area_cm2 == region.area_mm2 / 100
        assert 0.9 < region.confidence <= 0.95
        inside = cv2.pointPolygonTest(region.polygon.astype(np.float32), region.centre, False)
        assert inside > 0
        drawn = cv2.contourArea(region.polygon.astype(np.float32))
        assert drawn == pytest.approx(region.area_px, rel=0.12)
    assert not found.regions[0].visible or found.regions[0].visible_difference >= 2.3
    # what is brighter could be dust, gloss or light thrown by a part: a place, and no more
    assert [(doubt.kind, doubt.why) for doubt in found.doubts] == [
        (Kind.BRIGHTER, one_frame.Why.LIGHT),
        (Kind.BRIGHTER, one_frame.Why.DUST),
    ]
    for doubt, defect in zip(found.doubts, (one.defects[2], one.defects[1]), strict=True):
        x, y = (round(value) for value in doubt.centre)
        assert one.labels[y, x] == defect.label
    assert "one place of the lamp" in {limit.code for limit in found.limits}


def test_progress_has_stages_in_order_and_an_early_preview():
    _, _, stages = judged(TOUCH_UP, FILL, SHADE)
    shares = [stage.share for stage in stages]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    previews = [stage for stage in stages if stage.preview is not None]
    assert [p.share for p in previews] == [0.25]
    assert max(previews[0].preview.shape) <= 480


def test_the_same_pair_gives_the_same_answer():
    one, found, _ = judged(TOUCH_UP, FILL, SHADE)
    again = assess(
        one.visible.copy(),
        one.uv.copy(),
        masks=Masks(one.outline, one.parts),
        px_per_mm=one.px_per_mm,
        greys=(GreyStandard(one.grey, one.grey_reflectance),),
    )
    assert np.array_equal(again.labels, found.labels)
    assert [r.confidence for r in again.regions] == [r.confidence for r in found.regions]


def test_sixteen_bits_give_the_same_regions():
    one, found, _ = judged(TOUCH_UP, FILL, SHADE)
    deep = [image.astype(np.uint16) * 257 for image in (one.visible, one.uv)]
    again = assess(*deep, masks=Masks(one.outline, one.parts), px_per_mm=one.px_per_mm)
    assert len(again.regions) == len(found.regions)


def test_a_place_of_later_material_is_told_from_wear():
    _, found, _ = judged(TOUCH_UP, FILL, SHADE)
    ratios = place_ratios(found)
    assert len(ratios) == len(found.regions)
    told = {
        max(one.causes, key=lambda c: one.causes[c]): ratio
        for one, ratio in zip(found.regions, ratios, strict=True)
    }
    assert told["touch-up"] > 2


def test_what_nobody_drew_is_believed_half():
    _, found, _ = judged(TOUCH_UP)
    (region,) = found.regions
    whole = place_ratio(region, masks_proposed=False)
    assert place_ratio(region, masks_proposed=True) == pytest.approx(1 + (whole - 1) / 2)


def test_what_is_left_open_weighs_nothing():
    _, found, _ = judged(SHADE)
    assert found.regions == ()
    assert len(found.doubts) == 1
    assert set(finish_likelihoods(found).values()) == {1.0}


def test_a_refused_pair_says_nothing():
    assert set(finish_likelihoods(Assessment("refused", ())).values()) == {1.0}


def test_proposed_masks_find_the_same_patches_and_say_so():
    one, found, _ = judged(TOUCH_UP, masks=False)
    assert found.verdict == "assessed"
    assert found.masks_proposed
    assert "masks proposed" in [limit.code for limit in found.limits]
    assert (found.label_map()[one.labels == 1] > 0).mean() > 0.8


def test_empty_label_map():
    assert Assessment("refused", (), frame=(4, 5)).label_map().shape == (4, 5)


def test_a_part_that_the_proposal_missed_is_no_region_but_is_told_and_drawn(monkeypatch):
    one = pair(TOUCH_UP)
    bare = Masks(one.outline, tuple(p for p in one.parts if not p[0].startswith("pickup")))
    grey = (GreyStandard(one.grey, one.grey_reflectance),)
    monkeypatch.setattr(outline, "propose", lambda visible: bare)
    found = assess(one.visible, one.uv, px_per_mm=one.px_per_mm, greys=grey)
    missed = [polygon for name, polygon in found.masks.parts if name.startswith("no_glow")]
    pickups = np.zeros(one.labels.shape, np.uint8)
    for name, polygon in one.parts:
        if name.startswith("pickup"):
            cv2.fillPoly(pickups, [np.round(polygon).astype(np.int32)], 1)
    assert len(missed) == 3  # one pickup is cut in two by the neck
    for polygon in missed:
        told = cv2.fillPoly(np.zeros_like(pickups), [np.round(polygon).astype(np.int32)], 1)
        assert np.count_nonzero(told & pickups) > 0.9 * np.count_nonzero(told)
    assert "parts not drawn" in {limit.code for limit in found.limits}
    assert [region.kind for region in found.regions] == [Kind.DARKER]
    assert 0.3 < found.regions[0].ratio < 0.6
    # masks that a person handed in are believed: there a crisp part not drawn is a region
    believed = assess(one.visible, one.uv, masks=bare, px_per_mm=one.px_per_mm, greys=grey)
    assert len(believed.regions) >= 2
    assert len(believed.regions) + len(believed.doubts) == 4
