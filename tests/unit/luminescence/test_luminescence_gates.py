"""Each gate refuses its own fault and lets the sound pair through."""

import functools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from fakes.finish_simulator import Faults, of_another, simulate
from heelstamp.errors import InputError
from heelstamp.luminescence import GreyStandard, Masks, assess, gates

WIDTH = 1400


@functools.cache
def pair(faults=None, side="front", style="two horns", seed=31):
    return simulate(
        seed,
        difficulty="easy",
        width=WIDTH,
        style=style,
        finish="transparent",
        side=side,
        clean=True,
        faults=faults,
    )


def judged(one, **more):
    grey = GreyStandard(one.grey, one.grey_reflectance)
    masks = Masks(one.outline, one.parts)
    return assess(one.visible, one.uv, masks=masks, px_per_mm=one.px_per_mm, greys=(grey,), **more)


def codes(found):
    assert found.verdict == "refused"
    assert all(reason.remedy and reason.found for reason in found.reasons)
    return [reason.code for reason in found.reasons]


def test_a_careful_pair_passes():
    found = judged(pair())
    assert (found.verdict, found.reasons) == ("assessed", ())
    assert found.registration is not None


@pytest.mark.parametrize(
    ("faults", "code"),
    [
        (Faults(overexposed=2.5), "clipped UV photograph"),
        (Faults(leak=0.2), "stray light"),
        (Faults(blur=5.0), "blurred"),
        (Faults(shake=15), "shaken"),
        (Faults(shake=21), "shaken"),
        (Faults(shake=29), "shaken"),
        (Faults(fall_off=9.0), "uneven lamp"),
        (Faults(overexposed=0.02, leak=0.0), "too dark"),
    ],
)
def test_faults_of_the_photographer(faults, code):
    assert codes(judged(pair(faults))) == [code]


def test_clipping_is_said_before_fall_off():
    assert codes(judged(pair(Faults(overexposed=4.0, fall_off=9.0)))) == ["clipped UV photograph"]


def test_same_photograph_twice_also_darker():
    one = pair()
    darker = (one.visible * 0.7).astype(np.uint8)
    for second in (one.visible, darker):
        assert codes(judged(replace(one, uv=second))) == ["same photograph twice"]


def test_swapped():
    one = pair()
    assert codes(judged(replace(one, visible=one.uv, uv=one.visible))) == ["swapped pair"]


def test_wrong_side_and_mirrored():
    one = pair()
    assert codes(judged(of_another(one, pair(side="back")))) == ["wrong side"]
    mirrored = np.ascontiguousarray(one.uv[:, ::-1])
    assert codes(judged(replace(one, uv=mirrored))) == ["wrong side"]


def test_another_instrument_of_the_same_model():
    """Two bodies with one outline, guard and hardware: many edges agree, but scatter."""
    one, other = (
        simulate(seed, difficulty="medium", style="shifted", width=1600, clean=clean)
        for seed, clean in ((510064, True), (510082, False))
    )
    assert codes(judged(of_another(one, other))) == ["position unsure"]


@pytest.mark.parametrize("style", ["lozenge", "shifted"])
def test_another_instrument(style):
    found = codes(judged(of_another(pair(), pair(style=style, seed=57))))
    assert found[0] in {"different instrument", "position does not hold", "wrong side"}


def test_upside_down_is_turned_and_said():
    found = judged(pair(Faults(uv_turned=True)))
    assert found.verdict == "assessed"
    assert "turned" in [limit.code for limit in found.limits]


def test_without_scale_no_areas_and_without_grey_less_confidence():
    one = pair()
    found = assess(one.visible, one.uv, masks=Masks(one.outline, one.parts))
    assert found.verdict == "assessed"
    assert {limit.code for limit in found.limits} == {
        "no scale",
        "stray light unknown",
        "one place of the lamp",
    }
    assert found.coat_mm2 is None
    assert all(region.area_mm2 is None for region in found.regions)


def test_masks_that_leave_no_coat():
    one = pair()
    whole = np.array([(0.0, 0.0), (1400.0, 0.0), (1400.0, 1050.0), (0.0, 1050.0)])
    covered = replace(one, parts=(("sheet", whole),))
    assert codes(judged(covered)) == ["no coat left"]


def test_other_formats_and_tiny_frames():
    wide, tall = np.zeros((500, 900, 3), np.uint8), np.zeros((500, 600, 3), np.uint8)
    assert codes(assess(wide, tall)) == ["other format"]
    assert codes(assess(wide[:1, :1], wide[:1, :1])) == ["too small"]


def test_impossible_masks_and_scales_are_errors():
    one = pair()
    with pytest.raises(InputError, match="corners"):
        Masks(np.zeros((2, 2)))
    with pytest.raises(InputError, match="no numbers"):
        Masks(np.full((4, 2), np.nan))
    with pytest.raises(InputError, match="scale"):
        assess(one.visible, one.uv, px_per_mm=0.0)


@settings(max_examples=40, deadline=None)
@given(
    arrays=st.tuples(
        *[
            hnp.arrays(
                dtype=hnp.scalar_dtypes(),
                shape=hnp.array_shapes(min_dims=0, max_dims=4, min_side=0, max_side=9),
            )
        ]
        * 2
    )
)
def test_no_array_of_any_shape_crashes(arrays):
    found = assess(*arrays)
    assert codes(found)[0] in {"no photograph", "too small", "other format"}


@settings(max_examples=12, deadline=None)
@given(
    seed=st.integers(0, 2**16),
    kind=st.sampled_from(["noise", "flat", "ramp", "checks", "half"]),
    other=st.sampled_from(["noise", "flat", "ramp", "checks", "half"]),
    dtype=st.sampled_from([np.uint8, np.uint16, np.float32, np.float64]),
)
def test_nonsense_pictures_are_refused_without_crashing(seed, kind, other, dtype):
    rng = np.random.default_rng(seed)
    found = assess(_picture(kind, rng, dtype), _picture(other, rng, dtype))
    assert found.verdict == "refused"
    assert found.reasons


def _picture(kind, rng, dtype):
    h, w = 420, 560
    ys, xs = np.mgrid[0:h, 0:w]
    image = {
        "noise": rng.random((h, w)),
        "flat": np.full((h, w), rng.random()),
        "ramp": (xs + ys) / (h + w),
        "checks": ((xs // 40 + ys // 40) % 2).astype(float),
        "half": (xs > w / 2).astype(float),
    }[kind]
    top = 1.0 if np.dtype(dtype).kind == "f" else np.iinfo(dtype).max
    return (image[..., None].repeat(3, axis=2) * top).astype(dtype)


def test_a_position_that_may_be_far_off_is_refused_by_its_own_word():
    found = judged(pair()).registration
    assert found.stated < 1.0
    for doubtful in (replace(found, expected=0.9), replace(found, rival=1.8)):
        reason = gates.position(doubtful, WIDTH)
        assert reason is not None
        assert reason.code == "position unsure"
        assert "card" in reason.remedy
    assert gates.position(replace(found, expected=float("inf")), WIDTH) is not None


def test_points_marked_far_from_the_truth_are_refused():
    one = pair()
    here = np.array([(300.0, 250.0), (1150.0, 260.0), (1100.0, 800.0), (350.0, 780.0)])
    off = here + np.array([35.0, -28.0])
    found = judged(one, points=[(tuple(a), tuple(b)) for a, b in zip(here, off, strict=True)])
    assert codes(found) == ["position does not hold"]


def test_limits_in_numbers():
    assert gates.fall_off(3.9) is None
    assert gates.fall_off(4.1) is not None
    assert gates.stray(None) is None
    assert gates.stray(0.081) is not None
    assert gates.clipping(0.009, "x") is None
    assert gates.clipping(0.011, "x") is not None
    assert gates.blur(None) is None
    assert gates.position(None, 2000) is not None
