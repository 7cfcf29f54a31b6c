"""Before and after are enforced, each lack named with the entry that would cure it."""

from fakes.setup_records import demo_state, folded, measured, treated
from heelstamp.casework.setup.evidence import missing_evidence, rod_history
from heelstamp.casework.setup.records import read_record

RELIEF = (
    measured("r1", "relief at the 8th fret", "neck", 0.35, "mm", uncertainty=0.03),
    measured("r2", "relief at the 8th fret", "neck", 0.25, "mm", uncertainty=0.03, stage="final"),
    measured("key", "across flats of the rod's square", "rod", 5.5, "mm", uncertainty=0.02),
)


def lacking(*entries):
    state = folded(*RELIEF, *entries)
    return missing_evidence(state, read_record(state))


def test_the_demonstration_lacks_nothing():
    state = demo_state()
    assert missing_evidence(state, read_record(state)) == ()


def test_no_before_and_no_after():
    found = lacking(treated("t", "dress frets", "frets"))
    assert [one.lacks for one in found] == ["nothing from before it", "nothing from after it"]
    assert "correct t with before" in found[0].record


def test_the_rod_needs_its_relief():
    (one,) = lacking(treated("t", "turn rod", "rod", before=["key"], after=["r2"]))
    assert one.lacks == "no reading of the relief from before it"
    assert lacking(treated("t", "turn rod", "rod", before=["r1", "key"], after=["r2"])) == ()


def test_saddles_need_action_or_intonation():
    both = lacking(
        treated("t", "lower saddles", "saddles", kind="adjust", before=["r1"], after=["r2"])
    )
    assert {one.lacks for one in both} == {
        "no reading of the action or the intonation from before it",
        "no reading of the action or the intonation from after it",
    }


def test_other_parts_are_not_the_setups():
    assert lacking(treated("t", "clean control", "pot_tone")) == ()


def test_the_rods_history_and_its_faults():
    state = folded(
        *RELIEF,
        treated("t1", "turn rod", "rod", amount="1/8 turn tighter", before=["r1"], after=["r2"]),
        treated("t2", "turn rod", "rod", amount="1/2 turn tighter", before=["r1"], after=["r2"]),
        treated("t3", "turn rod", "rod", amount="some", before=["r1"], after=["r2"]),
    )
    history = rod_history(state, read_record(state))
    assert [one.turns for one in history.steps] == [0.125]
    assert any("quarter turn at most" in one for one in history.faults)
    assert any("which way, is not said" in one for one in history.faults)
