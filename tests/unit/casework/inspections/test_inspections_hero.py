"""The path of the invented demonstration: lamp, guard, neck, stop (an invented scenario)."""

from functools import cache

import pytest

from fakes.hero_stages import (
    END,
    GUARD_DONE,
    LAMP_DONE,
    NECK_DONE,
    OUTSIDE_SEEN,
    hero,
    ids,
    option,
    plan,
)
from heelstamp.casework.inspections import Plan
from heelstamp.dating.bundle import DRAWS
from heelstamp.wording import find_banned


@cache
def stage(until: str) -> Plan:
    return plan(hero(until), draws=DRAWS)


def test_after_the_outside_the_lamp_comes_next_for_it_opens_nothing() -> None:
    found = stage(OUTSIDE_SEEN)
    assert found.best == "uv_lamp"
    assert any("UV-A lamp" in sentence for sentence in found.sentences)
    assert option(found, "uv_lamp").consent == "not needed"


def test_then_the_guard_is_worth_lifting() -> None:
    found = stage(LAMP_DONE)
    guard = option(found, "open:guard")
    assert found.best == "open:guard"
    assert guard.advice == "do"
    # from outside the range is 12 to 13 months wide; lifting the guard is expected to take a
    # quarter or more of it (what it found on this guitar took half)
    now, then = guard.gain.months
    assert 12 <= now <= 13
    assert then <= 0.78 * now
    assert guard.gain.date_bits > 0.4
    assert guard.acts == ["take strings off", "lift guard"]
    assert guard.minutes == 15 + 20 + sum(
        (3, 3, 4, 4, 1, 1, 2, 1, 4, 4, 5, 2, 2, 2)
    )  # strings, guard, and fourteen inspections
    assert (guard.consent, guard.invasiveness) == ("granted", 2)
    assert any("first opening (strings off and pickguard lifted)" in one for one in guard.cautions)
    assert any("lead" in one for one in guard.cautions)
    assert any("tension" in one for one in guard.cautions)


def test_the_neck_waits_although_it_would_tell_more_of_the_date() -> None:
    found = stage(LAMP_DONE)
    neck, guard = option(found, "open:neck"), option(found, "open:guard")
    assert neck.gain.date_bits > guard.gain.date_bits
    assert neck.invasiveness > guard.invasiveness
    assert neck.front
    assert guard.front
    assert [one.inspection for one in found.options][:2] == ["open:guard", "open:neck"]


def test_after_the_guard_the_neck_saves_about_a_month_and_tells_of_the_neck_itself() -> None:
    found = stage(GUARD_DONE)
    neck = option(found, "open:neck")
    assert found.best == "open:neck"
    now, then = neck.gain.months
    assert 0.8 <= now - then <= 2.5
    # four plate screws that never turned leave little doubt of the neck; it was not seen, though
    assert 0.0 < neck.gain.parts["neck"] < 0.1
    assert neck.chance.parts["neck"] > 0.5
    # both reasons are printed
    assert any("range of completion" in one for one in found.sentences)
    assert any("tells of the neck" in one for one in found.sentences)
    assert "would change the words" in neck.condition
    # the strings are off already: only the neck's own act is left
    assert neck.acts == ["take neck off"]


def test_after_the_neck_it_stops_and_says_why() -> None:
    for until in (NECK_DONE, END):
        found = stage(until)
        assert found.best is None
        assert found.sentences[0].startswith("Stop. ")
        # looks through what is open that no decision depends on may be made, and need not
        assert {one.advice for one in found.options} <= {"stop", "optional"}
        assert option(found, "bridge_holes").advice == "stop"
        assert "Ask the owner first" in found.sentences[1]
        assert "lift bridge" in found.sentences[1]


def test_refitting_closes_an_opening_and_it_is_no_first_opening_again() -> None:
    assert option(stage(NECK_DONE), "bridge_holes").acts == ["lift bridge"]
    # new strings were fitted at the end
    assert option(stage(END), "bridge_holes").acts == ["take strings off", "lift bridge"]
    again = plan(hero(END, without=("mark-pot-tone",)))
    guard = option(again, "open:guard")
    assert "tone_code" in guard.members
    assert guard.acts == ["take strings off", "lift guard"]
    assert not any("first opening" in one for one in guard.cautions)


@pytest.mark.parametrize("until", [OUTSIDE_SEEN, LAMP_DONE, GUARD_DONE, NECK_DONE, END])
def test_nothing_made_and_nothing_of_level_four_is_ever_proposed(until: str) -> None:
    found = stage(until)
    state = hero(until)
    assert "pot_unsoldered" not in ids(found)
    assert "solvent_test" not in ids(found)
    assert max(one.invasiveness for one in found.options) <= 3
    made = {"plate_number", "head_mark", "tuner_covers", "case_lining", "board", "rod_adjuster"}
    assert not made & ids(found)
    if "mark-pot-tone" in state.observations:
        assert not {"tone_code", "volume_code", "body_pencil", "foil", "capacitor"} & ids(found)
    if "mark-neck" in state.observations:
        assert not {"heel_mark", "pocket_floor", "pocket_fit"} & ids(found)


@pytest.mark.parametrize("until", [OUTSIDE_SEEN, LAMP_DONE, GUARD_DONE, NECK_DONE])
def test_every_sentence_is_free_of_banned_words(until: str) -> None:
    found = stage(until)
    told = [*found.sentences, *(s for one in found.options for s in (*one.reasons, *one.cautions))]
    assert told
    assert all(find_banned(one) == () for one in told)


def test_the_same_record_gives_the_same_plan_and_another_record_another_digest() -> None:
    first = plan(hero(LAMP_DONE), draws=DRAWS)
    assert first == stage(LAMP_DONE)
    assert first.digest != stage(GUARD_DONE).digest


def test_other_draws_agree_within_four_standard_errors() -> None:
    one = option(stage(LAMP_DONE), "open:guard").gain
    other = option(plan(hero(LAMP_DONE), seed=5, draws=DRAWS), "open:guard").gain
    assert one.standard_error is not None
    assert other.standard_error is not None
    apart = abs(one.date_bits - other.date_bits)
    assert 0 < apart < 4 * (one.standard_error**2 + other.standard_error**2) ** 0.5


def test_members_of_a_bundle_are_told_apart() -> None:
    guard = option(stage(LAMP_DONE), "open:guard")
    assert set(guard.gain.alone) == set(guard.members)
    best = max(guard.gain.alone.values())
    assert guard.gain.date_bits > best
    assert guard.gain.alone["foil"] < 0.01 < guard.gain.alone["volume_code"]
