"""Pictures judged for their frames: each fault alone, with its measure and what to do."""

from __future__ import annotations

from dataclasses import replace

import pytest

from heelstamp.casework.first_call.usable import judge_picture
from heelstamp.casework.photo_care import Framing, PhotoMeasures
from heelstamp.reference.first_call import load_first_call

ASKED = load_first_call()
WHOLE = ASKED.frame("overall-front")
DETAIL = ASKED.frame("head-back")
GOOD = PhotoMeasures(4000, 3000, 2.4, 0.2, 0.7, 0.0, 0.0, framing=Framing(True, 0.9, 0.4, 0.3))


def faults(measures: PhotoMeasures, frame=WHOLE) -> list[str]:  # type: ignore[no-untyped-def]
    judged = judge_picture(measures, frame).judged
    assert [one.of for one in judged] == ["sharp", "lit", "framed", "scale"]
    assert all(one.measure for one in judged)
    assert all(one.remedy for one in judged if one.verdict == "fault")
    return [one.of for one in judged if one.verdict == "fault"]


def test_a_good_picture_has_no_fault() -> None:
    assert faults(GOOD) == []
    assert faults(GOOD, DETAIL) == []
    assert judge_picture(GOOD, WHOLE).usable


@pytest.mark.parametrize(
    ("changed", "of"),
    [
        ({"edge_width": 7.1}, "sharp"),
        ({"clipped_high": 0.05}, "lit"),
        ({"high": 0.1}, "lit"),
        ({"middle": 0.001}, "lit"),
        ({"framing": Framing(True, 0.9, 1.0, 0.4, ("top",))}, "framed"),
        ({"framing": Framing(True, 0.3, 0.2, 0.06)}, "framed"),
        ({"width": 1000, "height": 750}, "scale"),
    ],
)
def test_each_fault_alone(changed: dict[str, object], of: str) -> None:
    assert of in faults(replace(GOOD, **changed))  # type: ignore[arg-type]
    if of != "framed":
        assert faults(replace(GOOD, **changed)) == [of]  # type: ignore[arg-type]


def test_a_detail_may_run_out_of_the_picture_but_not_be_lost_in_it() -> None:
    near = replace(GOOD, framing=Framing(True, 1.0, 1.0, 0.8, ("top", "left")))
    assert faults(near, DETAIL) == []
    assert faults(replace(GOOD, framing=Framing(True, 0.2, 0.2, 0.04)), DETAIL) == ["framed"]


def test_what_cannot_be_told_is_no_fault_and_says_so() -> None:
    blank = replace(GOOD, edge_width=None, framing=Framing(False))
    judged = judge_picture(blank, WHOLE)
    assert judged.usable
    assert [one.verdict for one in judged.judged] == ["cannot tell", "good", "cannot tell", "good"]


def test_scale_goes_by_the_subject_where_it_was_found_and_by_the_picture_else() -> None:
    small = replace(GOOD, framing=Framing(True, 0.35, 0.2, 0.06))
    assert "scale" in faults(small)  # 1400 px over 1050 mm
    assert "scale" not in faults(replace(small, framing=Framing(False)))


def test_the_ten_frames_are_slots_of_the_photo_plan() -> None:
    from heelstamp.reference.photo_plan import load_photo_plan

    plan = load_photo_plan()
    assert len(ASKED.frames) == 10
    assert all(plan.slot_of(one.slot) is not None for one in ASKED.frames)
    for one in ASKED.frames:
        assert one.px_per_mm <= (plan.slot_of(one.slot).px_per_mm or 0)  # type: ignore[union-attr]
