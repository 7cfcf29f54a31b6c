"""What numbers of a photograph mean, and that care says it in one line."""

from dataclasses import replace

import pytest

from heelstamp.casework.photo_care import GreyRow, PhotoMeasures, care_of
from heelstamp.casework.photo_plan import Slot

GOOD = PhotoMeasures(4000, 3000, 2.4, 0.2, 0.7, 0.0, 0.0)
MARK = Slot(
    id="pot-tone-code",
    label="tone pot, code",
    stage="guard off",
    ends=("refit guard",),
    lost="a mark",
    covers_mm=40.0,
    px_per_mm=40.0,
)


def test_a_good_photograph_has_nothing_to_take_again() -> None:
    care = care_of(GOOD, slot=MARK)
    assert care.faults == ()
    assert care.px_per_mm == 100.0
    assert care.line == (
        "care: nothing to take again (edges 2.4 px, clipped 0.0 %, middle 0.20, about 100.0 px/mm)"
    )


@pytest.mark.parametrize(
    ("changes", "light", "told"),
    [
        ({"edge_width": 6.1}, "visible", "soft or shaken"),
        ({"clipped_high": 0.02}, "visible", "2.0 % burnt out"),
        ({"clipped_high": 0.02}, "UV-A", "2.0 % burnt out"),
        ({"high": 0.1}, "visible", "dark: expose longer"),
        ({"high": 0.01}, "UV-A", "hardly any glow"),
        ({"grey_row": GreyRow(6, 6, 1.2, 0.9, 0.01)}, "visible", "red needs × 1.20, blue × 0.90"),
        ({"grey_row": GreyRow(6, 6, 1.0, 1.0, 0.2)}, "visible", "grey patches disagree by 20 %"),
        ({"grey_row": GreyRow(6, 0, None, None, None)}, "visible", "no grey patch can be used"),
    ],
)
def test_each_fault_says_what_to_do(changes: dict[str, object], light: str, told: str) -> None:
    care = care_of(replace(GOOD, **changes), light=light)
    assert len(care.faults) == 1
    assert told in care.faults[0]
    assert told in care.line
    assert list(care.faults) == care.data()["faults"]


def test_a_dark_frame_is_what_the_lamp_gives() -> None:
    assert care_of(replace(GOOD, middle=0.01, high=0.1), light="UV-A").faults == ()


def test_what_cannot_be_measured_is_no_fault() -> None:
    care = care_of(replace(GOOD, edge_width=None))
    assert care.faults == ()
    assert "edges not measurable" in care.line


def test_resolution_is_that_of_the_purpose() -> None:
    coarse = care_of(replace(GOOD, width=1200, height=900), slot=MARK)
    assert "about 30.0 px/mm where 40 are wanted" in coarse.faults[0]
    assert care_of(replace(GOOD, width=1200, height=1560), slot=MARK).faults == ()
    assert care_of(replace(GOOD, width=1200, height=900)).faults == ()
