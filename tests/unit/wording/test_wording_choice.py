"""An examiner's own word: weaker freely, stronger with a printed reason, figures untouched."""

from __future__ import annotations

import pytest

from heelstamp.errors import InputError
from heelstamp.wording import BannedWordsError, Grounds
from heelstamp.wording.about_choice import (
    UNEXPLAINED,
    allowed,
    check_choice,
    choosable,
    chosen_word,
    part_left_open,
)
from heelstamp.wording.about_parts import part_state

STATES = {"original": 0.9, "period_replacement": 0.06, "later_replacement": 0.04}
PRIORS = {"original": 0.85, "period_replacement": 0.1, "later_replacement": 0.05}
NECK = part_state(
    "part:neck", Grounds(("o1",), ("F1",)), part="neck", states=STATES, priors=PRIORS, examined=True
)


def test_a_weaker_word_needs_no_reason_and_a_stronger_one_does() -> None:
    assert allowed("very probably", "probably", "")
    assert allowed("probably", "not determined", UNEXPLAINED)
    assert not allowed("probably", "very probably", " ")
    assert not allowed("probably", "very probably", UNEXPLAINED)
    assert allowed("probably", "very probably", "the joint was seen under the lens")


@pytest.mark.parametrize("computed", ["not determined", "not settled", "assumed", ""])
def test_where_nothing_was_determined_there_is_nothing_to_raise(computed: str) -> None:
    assert not allowed(computed, "very probably", "because")


def test_the_word_is_changed_once_and_the_figures_stay() -> None:
    assert NECK.strength == "probably"
    raised = chosen_word(NECK, "very probably", "the joint was seen under the lens.")
    assert raised.text.startswith("The neck is very probably original")
    assert "90 %; before the evidence 85 %" in raised.text
    assert raised.text.endswith(
        "The examiner chose the stronger word: the joint was seen under the lens."
    )
    assert (raised.rests_on, raised.frames) == (("o1",), ("F1",))
    assert choosable(raised) == ("not determined", "probably", "very probably")


def test_an_unexplained_lowering_is_told_without_a_reason() -> None:
    sure = chosen_word(NECK, "very probably", "seen")
    assert chosen_word(sure, "probably", UNEXPLAINED).text.endswith("preferred the weaker word.")


def test_left_open_tells_what_was_computed() -> None:
    told = part_left_open(
        "part:neck",
        NECK.grounds,
        reason="too dark to see",
        part="neck",
        verdict="probably original",
        posterior="90 %",
        prior="85 %",
    )
    assert told.text == (
        "Whether the neck was fitted first is left not determined by choice of the examiner "
        "(too dark to see). The tables give probably original (90 %; before the evidence 85 %)."
    )
    assert told.strength == "not determined"


def test_a_reason_passes_the_same_search_as_every_text() -> None:
    with pytest.raises(BannedWordsError):
        check_choice("probably", "very probably", "it proves itself", where="part:neck")
    with pytest.raises(InputError, match="needs a reason"):
        check_choice("probably", "very probably", "", where="part:neck")
    with pytest.raises(InputError, match="no such word"):
        check_choice("probably", "surely", "so", where="part:neck")
