"""Readings found by their quantity, and nothing else taken for one."""

import pytest

from fakes.setup_records import demo_state, folded, measured
from heelstamp.casework.setup.records import read_record, reading_of
from heelstamp.catalogue import Measurement, Place


def read(quantity, value=1.0, unit="mm", **more):
    body = {"id": "m", "quantity": quantity, "part": "neck", "value": value, "unit": unit}
    return reading_of(Measurement(**{**body, "stage": "found", **more}))


def at(**place):
    return {"at": Place(**place)}


def test_a_relief():
    one = read("relief", down=2.0, **at(fret=7, capo=2, held=16))
    assert (one.subject, one.fret, one.capo, one.held, one.down) == ("relief", 7, 2, 16, 2.0)
    assert (one.role, one.new_strings) == ("read", False)


def test_strings_off_pull_with_nothing():
    assert read("relief", strings="off").down is None


def test_roles_sides_and_strings():
    assert read("action", role="intended", **at(fret=12, side="bass")).role == "intended"
    assert read("action", role="predicted", **at(fret=12, side="bass")).side == "bass"
    assert read("relief", strings="new").new_strings
    assert read("clearance over the 1st fret", **at(held=3, string=6)).string == 6
    assert read("height of fret", **at(fret=17)).fret == 17
    assert read("saddle lowered", 0.66, **at(side="treble")).value.value == -0.66
    assert read("saddle raised", 0.66, **at(side="treble")).value.value == 0.66


def test_units_are_turned_and_a_missing_uncertainty_is_taken_and_said():
    inch = read("relief", 0.01, "in", uncertainty=0.001)
    assert inch.value.value == pytest.approx(0.254)
    assert not inch.uncertainty_taken
    bare = read("relief", 0.4)
    assert bare.value.uncertainty == 0.03
    assert bare.uncertainty_taken


def test_other_quantities_are_left_alone():
    assert read("capacitance at 1 kHz", 0.05, "µF") is None
    assert read("relief valve", 3.0, "kΩ") is None
    assert read("reliefs", 0.4) is None


def test_the_demonstration_is_read():
    record = read_record(demo_state())
    assert record.last("relief", role="read", new_strings=True).id == "m-relief-new-strings"
    assert record.last("relief", stage="found", down=2.0).id == "m-relief-tone-down"
    assert len(record.of("action")) == 10
    assert record.last("joint").value.value == 16


def test_a_correction_counts():
    state = folded(
        measured("r", "relief at the 8th fret", "neck", 0.46, "mm"),
        (
            "correction",
            {
                "id": "c",
                "corrects": "r",
                "reason": "stamp",
                "replacement": {
                    "quantity": "relief",
                    "part": "neck",
                    "value": 0.40,
                    "unit": "mm",
                    "stage": "found",
                },
            },
        ),
    )
    assert read_record(state).last("relief").value.value == 0.40
