"""The sheet: refused without evidence, honest about what it lacks, the same for the same record."""

import json

import pytest

from fakes.setup_records import demo_state, folded, measured, neck_readings, treated
from heelstamp.casework.setup import Bench, Wishes, describe_plan, setup_sheet, sheet_data
from heelstamp.errors import InputError
from heelstamp.reference.string_tables import setup_practice, string_materials
from heelstamp.wording.banned import find_banned

BENCH = Bench(string_materials(), setup_practice("guitar"))
SETS = {"found": "11 14 18 28w 38w 50w", "new": "9 11 16 24w 32w 42w"}


def sheet(*entries, **wishes):
    return setup_sheet(folded(*entries), BENCH, Wishes(**wishes), name="test")


def test_a_plan_before_anything_is_touched():
    one = sheet(*neck_readings(), **SETS, relief_mm=0.30, action_mm=(1.6, 2.0))
    plan = one.plan
    assert one.verdict == "issued"
    assert plan.relief_predicted.value == pytest.approx(0.333, abs=0.002)
    assert plan.rod.act == "leave"  # 0.33 ± 0.04 against 0.30
    # action 2.08 expected, the rod left: down by twice 0.48
    assert plan.saddles_mm["treble"].value == pytest.approx(-0.96, abs=0.02)
    assert plan.saddles_mm["treble"].uncertainty > 0.1
    assert any(told.startswith("Truss rod: The relief is") for told in one.left_alone)


def test_a_missing_before_refuses_the_sheet_and_says_what_to_record():
    acts = (treated("t", "turn rod", "rod", amount="1/8 turn tighter", before=["relief"]),)
    one = sheet(*neck_readings(), *acts, **SETS)
    assert one.verdict == "refused"
    assert one.rows == ()
    assert [(gap.id, gap.lacks) for gap in one.missing] == [("t", "nothing from after it")]
    data = sheet_data(one)
    assert data["missing"][0]["record"].startswith("Add a frame or a reading")
    assert data["rows"] == []


def test_what_is_not_known_is_withheld_with_the_entry_to_make():
    one = sheet(measured("r", "relief at the 8th fret", "neck", 0.4, "mm"))
    told = " ".join(one.plan.withheld)
    assert "scale length" in told
    assert "--found" in told
    assert "--new" in told
    assert "--joint" in told
    assert one.plan.relief_predicted is None
    assert [row.measure for row in one.rows] == ["relief"]


def test_nothing_read_is_an_empty_sheet():
    assert sheet().empty


def test_one_relief_reading_falls_back_on_a_beam_and_says_so():
    entries = [one for one in neck_readings() if one[1]["id"] != "down"]
    one = sheet(*entries, **SETS)
    assert one.plan.spring.basis == "beam"
    assert one.plan.relief_predicted.uncertainty > 0.06
    assert any("No reading tuned down" in told for told in one.assumed)


def test_strings_off_is_a_reading_at_no_tension():
    entries = [one for one in neck_readings() if one[1]["id"] != "down"]
    off = measured(
        "off", "relief at the 8th fret, strings off", "neck", 0.02, "mm", uncertainty=0.03
    )
    one = sheet(*entries, off, **SETS)
    assert one.plan.spring.compliance_mm_n.value == pytest.approx(0.44 / 523.2, rel=1e-3)
    assert one.plan.relief_predicted.uncertainty < 0.03


def test_a_material_that_is_no_set_is_withheld_not_a_crash():
    off = treated(
        "t",
        "take strings off",
        "strings",
        material="one old set",
        before=["relief"],
        after=["relief"],
    )
    consent = ("consent", {"id": "c", "act": "take strings off", "granted": True, "by": "owner"})
    one = sheet(consent, *neck_readings(), off, new=SETS["new"])
    assert any("The material of t is not a set" in told for told in one.plan.withheld)


def test_fret_places_nut_and_heights_are_judged():
    places = [
        measured(
            f"p{n}",
            f"place of fret {n}",
            "frets",
            641.4 * (1 - 2 ** (-n / 12)) + (0.9 if n == 7 else 0.0),
            "mm",
            uncertainty=0.1,
        )
        for n in range(13)
    ]
    heights = [
        measured(
            f"h{n}", f"height of fret {n}", "frets", 0.45 if n == 9 else 0.0, "mm", uncertainty=0.02
        )
        for n in range(1, 22)
    ]
    slot = "clearance over the 1st fret, held at the 3rd, 6th string"
    nut = measured("n", slot, "nut", 0.45, "mm", uncertainty=0.03)
    one = sheet(
        *neck_readings(), *places, *heights, nut, **SETS, relief_mm=0.25, action_mm=(1.6, 2.0)
    )
    best = one.board.fits[0]
    assert [(m.fret, round(m.off_mm.value, 1)) for m in best.misplaced] == [(7, 0.9)]
    assert dict(one.board.slots)["string 6"].verdict == "high"
    buzzing = {row.held for row in dict(one.board.buzz)["treble"] if row.verdict == "buzzes"}
    assert 8 in buzzing
    told = " ".join(one.left_alone)
    assert "Out of the usual: string 6. Price a nut" in told
    assert "Buzz is expected" in told
    assert "not moved" in told


def test_crowns_under_three_strings_tell_what_is_left_and_each_side_its_own_buzz():
    crowns = [
        (
            "measurement",
            {
                "id": f"c{string}.{fret}",
                "quantity": "height of the crown",
                "part": "frets",
                "value": 1.45 if (fret, string) == (9, 6) else 1.0,
                "unit": "mm",
                "stage": "found",
                "uncertainty": 0.02,
                "at": {"fret": fret, "string": string},
            },
        )
        for string in (1, 3, 6)
        for fret in range(1, 22)
    ]
    one = sheet(*neck_readings(), *crowns, **SETS, relief_mm=0.25, action_mm=(1.6, 2.0))
    buzz = {
        side: {row.held for row in rows if row.verdict == "buzzes"} for side, rows in one.board.buzz
    }
    assert 8 in buzz["bass"]
    assert 8 not in buzz["treble"]
    assert (one.board.life.lowest_mm.value, one.board.life.dressings) == (1.0, 2)
    told = " ".join(describe_plan(one).frets)
    assert "2 dressings can be counted on before it is under 0.6 mm (common practice)" in told


def test_readings_that_cannot_be_withhold_what_rests_on_them_and_nothing_else():
    crossing = measured("low", "clearance over the 1st fret, open, treble", "nut", 4.0, "mm")
    arc = (
        measured("chord", "chord of the fingerboard", "neck", 50.0, "mm"),
        measured("rise", "rise of the fingerboard", "neck", 12.0, "mm"),
    )
    one = sheet(*neck_readings(), crossing, *arc, **SETS, relief_mm=0.3, action_mm=(0.1, 2.0))
    assert one.rows
    assert [side for side, _ in one.board.buzz] == ["bass"]
    assert one.board.radius_mm is None
    told = "\n".join(one.withheld)
    assert "Buzz, treble: heights that cross" in told
    assert "chord and rise: a radius that cannot be (received: 12 mm over a chord of 50 mm)" in told
    assert sheet_data(one)["withheld"] == list(one.withheld)


def test_intonation_by_string_gives_saddle_moves():
    reads = [
        measured(
            f"i{n}",
            f"intonation at the 12th fret, {n}th string",
            "saddles",
            c,
            "cent",
            stage="plan",
            uncertainty=1.0,
        )
        for n, c in ((4, 6.0), (5, -4.0))
    ]
    one = sheet(*neck_readings(), *reads, **SETS)
    moves = {move.name: move.back_mm.value for move in one.board.moves}
    assert moves["string 4"] == pytest.approx(2.23, abs=0.03)
    assert moves["string 5"] == pytest.approx(-1.48, abs=0.03)


def test_values_are_plain_and_the_digest_follows_the_inputs():
    state = demo_state()
    first = setup_sheet(state, BENCH, Wishes(), name="demo")
    data = json.loads(json.dumps(sheet_data(first)))
    relief = next(row for row in data["rows"] if row["measure"] == "relief")
    assert relief["predicted"]["unit"] == "mm"
    assert relief["predicted"]["interval_90"][0] < relief["predicted"]["value"]
    assert setup_sheet(state, BENCH, Wishes(), name="demo").digest == first.digest
    assert setup_sheet(state, BENCH, Wishes(relief_mm=0.2), name="demo").digest != first.digest


def test_no_sentence_holds_a_banned_word_and_cautions_stand_with_the_acts():
    one = setup_sheet(demo_state(), BENCH, Wishes(), name="demo")
    for told in (*describe_plan(one).all, *one.left_alone, *one.cautions, *one.assumed):
        assert not find_banned(told), told
    care = " ".join(one.cautions)
    for word in ("goggles", "523 N", "nuts are brittle", "Lacquer", "never force"):
        assert word in care


def test_a_kind_without_a_usual_tuning_asks_for_one():
    with pytest.raises(InputError, match="no usual tuning"):
        sheet(*neck_readings(), found="9 11 16", new="9 11 16")


def test_a_key_that_does_not_fill_the_drive_stops_the_rod():
    drive = measured("d", "across flats of the rod's square", "rod", 5.5, "mm", uncertainty=0.02)
    for size, act in ((5.52, "turn"), (5.8, "stop")):
        key = measured("k", "across flats of the key", "rod", size, "mm", uncertainty=0.02)
        one = sheet(*neck_readings(), drive, key, **SETS, relief_mm=0.15)
        assert one.plan.rod.act == act
    assert "does not fill the drive" in one.plan.rod.reasons[0]


def test_a_blade_is_held_against_the_slot_and_the_margin_is_told():
    slot = measured("s", "width of the slot of the rod", "rod", 1.0, "mm", uncertainty=0.02)
    for thick, act, told in (
        (0.97, "turn", "it fills the drive, with 0.07"),
        (0.60, "stop", "it does not fill the drive"),
    ):
        blade = measured("b", "thickness of the blade", "rod", thick, "mm", uncertainty=0.02)
        one = sheet(*neck_readings(), slot, blade, **SETS, relief_mm=0.15)
        assert one.plan.rod.act == act
        assert told in describe_plan(one).rod[0]


def test_no_turn_before_drive_and_tool_were_both_measured():
    drive = measured("d", "across flats of the rod", "rod", 5.5, "mm", uncertainty=0.02)
    for readings in ((), (drive,)):
        one = sheet(*neck_readings(), *readings, **SETS, relief_mm=0.15)
        assert one.plan.rod.act == "stop"
        assert "record both, first" in one.plan.rod.reasons[0]
