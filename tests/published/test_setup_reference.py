"""The invented guitar's setup, number by number, from its own record.

Every value is of the invented scenario (`docs/methods/mechanics.md` tells how each is computed);
rounding is that of the scenario's tables.
"""

import pytest

from fakes.setup_records import demo_state
from heelstamp.casework.setup import Bench, Wishes, setup_sheet
from heelstamp.reference.string_tables import setup_practice, string_materials


@pytest.fixture(scope="module")
def sheet():
    bench = Bench(string_materials(), setup_practice("guitar"))
    return setup_sheet(demo_state(), bench, Wishes(), name="demo")


def row(sheet, measure):
    return next(one for one in sheet.rows if one.measure == measure)


def test_tensions(sheet):
    found, new = sheet.plan.found, sheet.plan.new
    assert [round(one.tension_n.value, 1) for one in found.strings] == [
        86.1,
        78.2,
        81.5,
        92.8,
        94.2,
        90.4,
    ]
    assert [round(one.tension_n.value, 1) for one in new.strings] == [
        57.6,
        48.3,
        64.4,
        69.0,
        67.5,
        64.0,
    ]
    assert (round(found.tension_n.value), round(new.tension_n.value)) == (523, 371)
    assert sheet.plan.change.ratio.value == pytest.approx(0.709, abs=5e-4)


def test_neck_and_relief(sheet):
    plan = sheet.plan
    assert plan.spring.compliance_mm_n.value == pytest.approx(0.00083, abs=5e-6)
    assert plan.relief_predicted.value == pytest.approx(0.33, abs=0.005)
    low, high = plan.relief_predicted.interval()
    assert low < 0.35 < high
    assert row(sheet, "relief").prediction_held
    assert plan.shape.action_per_relief().value == pytest.approx(1.72, abs=0.005)


def test_action_and_saddles(sheet):
    plan = sheet.plan
    assert round(plan.action_predicted["treble"].value, 1) == 2.1
    assert round(plan.action_predicted["bass"].value, 1) == 2.6
    assert round(plan.saddles_mm["treble"].value, 2) == -0.66
    assert round(plan.saddles_mm["bass"].value, 2) == -0.86


def test_rod_and_shim(sheet):
    plan = sheet.plan
    assert (plan.rod.act, plan.rod.turns) == ("turn", 0.125)
    assert plan.rod_now.act == "leave"
    assert plan.rod_now.response_mm_turn.value == pytest.approx(0.8)
    assert plan.shim.angle_deg.value == pytest.approx(0.30, abs=0.005)
    assert plan.shim.at_saddles_mm.value == pytest.approx(1.0, abs=0.05)
    assert any("Shim: left" in one for one in sheet.left_alone)


def test_weight_and_case(sheet):
    assert sheet.plan.change.mass_g.value == pytest.approx(-5.0, abs=0.5)
    weight = row(sheet, "weight")
    assert (weight.final - weight.found).value == -5.0
    assert weight.agrees
    assert sheet.case.dew_point_c.value == pytest.approx(12.6, abs=0.05)
    assert sheet.case.open_now


def test_final_stands_beside_the_plan(sheet):
    for measure in ("relief", "action at 12, treble", "action at 12, bass"):
        assert row(sheet, measure).agrees
