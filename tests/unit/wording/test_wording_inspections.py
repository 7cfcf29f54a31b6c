import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.wording import about_inspections as told
from heelstamp.wording import find_banned
from heelstamp.wording.sentences import Grounds

UNSEEN = Grounds(not_examined=("mark on the heel of the neck",))


def in_range(before: float, after: float, bits: float = 0.5, error: float | None = None) -> str:
    return told.range_gain(
        "g", UNSEEN, before=before, after=after, bits=bits, error=error, chance=0.85
    ).text


def test_a_gain_is_told_in_months_first() -> None:
    assert in_range(12.0, 6.2, 1.04) == (
        "The 90 % range of completion, now 12 months, is expected to be about 6 months (1.04 bit "
        "on the date); its ends move with a chance of 85 %."
    )
    assert "about as wide" in in_range(13.0, 13.4)
    assert "(0.61 ± 0.04 bit on the date)" in in_range(13, 9, 0.61, 0.04)
    assert "now 1 month, is" in in_range(1, 1)


@given(st.floats(0, 700), st.floats(0, 700), st.floats(-1e-9, 10), st.floats(-1e-12, 1 + 1e-12))
def test_no_gain_is_told_in_banned_words_or_as_no_month(before, after, bits, chance) -> None:
    text = told.range_gain(
        "g", UNSEEN, before=before, after=after, bits=bits, error=None, chance=chance
    ).text
    assert find_banned(text) == ()
    assert " 0 month" not in text
    assert "-0.00" not in text
    assert "100 %" not in text
    assert told.range_told(before, after)


def test_a_table_tells_widths_with_an_arrow() -> None:
    assert told.range_told(12, 6.3) == "12 → 6 months"
    assert told.range_told(6, 6.4) == "as wide"
    assert told.bits_told(-1e-12) == "0.00 bit"


def test_pronouns_agree_with_the_part() -> None:
    def part(name: str) -> str:
        return told.part_gain("p", UNSEEN, part=name, bits=0.2, error=None, chance=0.9).text

    assert "what is said of it changes" in part("neck")
    assert "what is said of them changes" in part("tuners")


def test_first_looks_name_four_parts_and_count_the_rest() -> None:
    parts = ["volume pot", "tone pot", "leads", "foil", "switch", "output jack"]
    text = told.first_look("f", UNSEEN, parts=parts).text
    assert text.endswith("volume pot, tone pot, leads, foil and 2 more parts.")
    assert told.first_look("f", UNSEEN, parts=parts[:5]).text.endswith("foil and 1 more part.")
    with pytest.raises(InputError):
        told.first_look("f", UNSEEN, parts=[])


def test_what_the_owner_refused_and_what_was_never_asked() -> None:
    refused = told.refused("o", acts=["take neck off"])
    assert refused.text == "The owner refused: take neck off. It is not done."
    asked = told.ask("o", acts=["take strings off", "lift pickguard"])
    assert asked.text == (
        "Ask the owner first, and log the answer: take strings off and lift pickguard."
    )


def test_a_stop_rule_says_why_and_what_may_be_said_instead() -> None:
    stopped = told.stopped(
        "s",
        Grounds(("o1",), ("f1",)),
        act="lift pickguard",
        why="the pickguard is tacky",
        instead="Pickguard not lifted.",
        consequence="Isolate it.",
    )
    assert stopped.text == (
        "Not done: lift pickguard, because the pickguard is tacky. To be said instead: “Pickguard "
        "not lifted.” Isolate it."
    )
    assert (stopped.rests_on, stopped.frames) == (("o1",), ("f1",))


def test_what_to_do_and_when_to_stop() -> None:
    step = told.do_next("n", inspection="neck off: 3 inspections", level=3, minutes=29.4)
    assert step.text == "Next: neck off: 3 inspections; level 3, about 29 minutes."
    assert "about 1 minute." in told.do_next("n", inspection="x", level=0, minutes=0).text
    for stop in (told.all_seen, told.nothing_left, told.waits_for_consent):
        assert stop.say().startswith("Stop. ")
    assert "withheld" in told.date_withheld("w").text
    opening = told.first_opening("f", openings=["strings off", "pickguard lifted"])
    assert "no later examiner" in opening.text
    assert "(strings off and pickguard lifted)" in opening.text
    assert told.caution("c", text="Goggles on.").text == "Goggles on."
    assert told.money_gain("m", UNSEEN, fall="120 in the currency").layer == "inferred"
    assert "zero" in told.no_decision("d", UNSEEN).text
