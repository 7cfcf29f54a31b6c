import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.wording import BannedWordsError, find_banned, refuse_banned
from heelstamp.wording.banned import BANS

REFUSED = (
    "with certainty",
    "It is certain.",
    "certainly",
    "Certainties",
    "definitely",
    "no doubt",
    "beyond any reasonable doubt",
    "without a doubt",
    "undoubtedly",
    "guaranteed",
    "We guarantee it",
    "guarantees",
    "a guaranty",
    "proves",
    "this proved it",
    "proven",
    "proving",
    "proof that it is",
    "which is proof",
    "flawless",
    "flawlessly",
    "all original",
    "all-original",
    "ALL ORIGINAL",
    "100% original",
    "100 % original",
    "fully original",
    "completely original",
    "original throughout",
    "one of the best",
    "one of the finest we know",
    "the best we have ever seen",
    "museum quality",
    "museum-grade",
    "a museum piece",
    "time capsule",
    "time-capsules",
    "investment",
    "an investment-grade guitar",
    "invest",
    "investors",
    "never opened",
    "never been opened",
    "has never been apart",
    "never taken apart",
    "unopened since new",
    "a fake",
    "faked",
    "forgery",
    "counterfeit",
    "fraudulent",
    "meant to deceive",
    "original finish",
    "the original lacquer",
)
ALLOWED = (
    "uncertain",
    "The uncertainty is 0.03 mm",
    "unproved",
    "first fitting not shown",
    "proof of ownership was shown",
    "improves",
    "approve",
    "an investigation",
    "original",
    "original, as far as examined",
    "the finest feeler gauge",
    "opened once",
    "not opened",
    "period-correct",
    "museum",
    "time",
    "a flaw",
    "doubtful",
    "all parts",
    "waterproof case",
)


@pytest.mark.parametrize("text", REFUSED)
def test_a_banned_phrase_is_found(text: str) -> None:
    assert find_banned(text)


@pytest.mark.parametrize("text", ALLOWED)
def test_an_honest_phrase_passes(text: str) -> None:
    assert find_banned(text) == ()


@pytest.mark.parametrize("ban", BANS, ids=lambda ban: ban.name)
def test_every_ban_finds_its_own_name_and_says_what_to_write_instead(ban) -> None:
    assert [hit.ban for hit in find_banned(ban.name)] == [ban]
    assert ban.rule in (6, 11, 12)
    assert find_banned(ban.instead) == ()


@pytest.mark.parametrize(
    "text",
    [
        "guaran\u00adteed",
        "all\u2011original",
        "museum\u00a0quality",
        "ＧＵＡＲＡＮＴＥＥＤ",
        "time\n  capsule",
        "pro\u200bves",
        "All \u2013original",
    ],
)
def test_typography_hides_nothing(text: str) -> None:
    assert find_banned(text)


def test_conditions_lift_a_ban() -> None:
    assert find_banned("never opened", screws_and_joints_described=True) == ()
    assert find_banned("original finish", covered_areas_described=True) == ()
    assert find_banned("never opened", covered_areas_described=True)
    assert find_banned("guaranteed", screws_and_joints_described=True)


@given(st.text(max_size=30), st.sampled_from(REFUSED), st.text(max_size=30))
def test_the_place_found_is_the_place_in_the_text(before: str, phrase: str, after: str) -> None:
    text = f"{before} {phrase} {after}"
    for hit in find_banned(text):
        assert text[hit.start : hit.end] == hit.phrase
        assert find_banned(hit.phrase)
    assert find_banned(text)


def test_refusal_names_phrase_place_and_remedy() -> None:
    with pytest.raises(BannedWordsError) as caught:
        refuse_banned("Guaranteed flawless.", where="observation o3")
    told = str(caught.value)
    assert "observation o3" in told
    assert "'Guaranteed'" in told
    assert "'flawless'" in told
    assert "Write instead" in told


def test_an_honest_text_comes_back_unchanged() -> None:
    assert refuse_banned("probably original") == "probably original"


@pytest.mark.parametrize(
    "text",
    [
        "The neck is original.",
        "Pickups are original; the case is not.",
        "It remains all original",
        "The guitar dates from May 1965.",
        "The body dates to early June 1965.",
        "It was made in March 1965.",
        "The neck is dated 65/03.",
        "Probably a player's guitar. The neck is original.",
    ],
)
def test_a_state_or_a_month_without_a_word_of_strength_is_banned(text):
    assert find_banned(text)


@pytest.mark.parametrize(
    "text",
    [
        "The neck is very probably original, that is fitted at first completion.",
        "Whether the neck is original is not determined.",
        "Marks date parts, and the instrument was completed after its original parts.",
        "If the pot is original, the guitar is later.",
        "It probably dates from May 1965.",
        "The neck is probably dated by its maker.",
        "He is the original owner.",
        "The mark names May 1965.",
        "Completed between Apr 1965 and Sep 1965 (90 %), most likely Jun 1965.",
        "It is not original.",
    ],
)
def test_with_a_word_of_strength_or_as_a_question_it_passes(text):
    assert not find_banned(text)
