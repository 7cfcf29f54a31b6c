"""The whole way from two photographs to regions, likelihoods and a map."""

import functools

import cv2
import numpy as np
import pytest

from fakes.finish_simulator import simulate
from fakes.finish_surfaces import Planted
from heelstamp.luminescence import (
    Assessment,
    GreyStandard,
    Kind,
    Masks,
    assess,
    causes,
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


def test_three_planted_patches_come_out_as_planted():
    one, found, _ = judged(TOUCH_UP, FILL, SHADE)
    assert found.verdict == "assessed"
    assert len(found.regions) == 3
    labels = found.label_map()
    assert labels.shape == one.labels.shape
    expected = {
        1: (Kind.DARKER, causes.TOUCH_UP),
        2: (Kind.BRIGHTER, causes.OVERSPRAY),
        3: (Kind.BRIGHTER, causes.SHADE),
    }
    for defect in one.defects:
        here = labels[one.labels == defect.label]
        region = found.regions[int(np.bincount(here[here > 0]).argmax()) - 1]
        kind, cause = expected[defect.label]
        assert region.kind == kind
        assert next(iter(region.causes)) == cause
        assert region.ratio == pytest.approx(defect.ratio, rel=0.06)
        assert region.area_mm2 == pytest.approx(defect.area_mm2, rel=0.06)
        assert abs(region.area_mm2 - defect.area_mm2) < 3 * region.area_uncertainty_mm2
        assert region.area_cm2 == region.area_mm2 / 100
        assert region.confidence > 0.9
        inside = cv2.pointPolygonTest(region.polygon.astype(np.float32), region.centre, False)
        assert inside > 0
        drawn = cv2.contourArea(region.polygon.astype(np.float32))
        assert drawn == pytest.approx(region.area_px, rel=0.12)
    assert not found.regions[0].visible or found.regions[0].visible_difference >= 2.3


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
    assert told["shaded by something removed"] < 1


def test_what_nobody_drew_is_believed_half():
    _, found, _ = judged(TOUCH_UP)
    (region,) = found.regions
    whole = place_ratio(region, masks_proposed=False)
    assert place_ratio(region, masks_proposed=True) == pytest.approx(1 + (whole - 1) / 2)


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
    # masks that a person handed in are believed: there a part not drawn is a region
    believed = assess(one.visible, one.uv, masks=bare, px_per_mm=one.px_per_mm, greys=grey)
    assert len(believed.regions) == 4
