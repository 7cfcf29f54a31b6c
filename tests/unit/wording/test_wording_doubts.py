import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.units import Period, parse_month
from heelstamp.wording import Grounds, Statement, find_banned
from heelstamp.wording.about_doubts import (
    Account,
    close_agreement,
    hangs_on,
    nothing_quarrels,
    odds_words,
    two_stories,
    unexplained,
    wear_goes_together,
)
from heelstamp.wording.about_unsettled import (
    NOT_SETTLED,
    TURNS_MOST,
    assumption_words,
    completion_not_settled,
    part_not_settled,
    range_of_ranges,
    reading_not_settled,
    settled,
    turns_over,
    turns_words,
    withheld_not_settled,
)

ON = Grounds(("o1",), ("f1",))
SPAN = Period.parse(["1965-04", "1965-09"])
FIRST = Account("the neck comes from another instrument", 0.0072, SPAN)
SECOND = Account("the reading of the mark is mistaken", 0.6, Period.parse("1965-06"))
CHANGES = [
    ("errors", 0.3),
    ("errors", 3.0),
    ("readings", 1.0),
    ("careful", 0.5),
    ("careful", 2.0),
    ("along", 0.5),
    ("along", 2.0),
    ("tightened", 0.5),
    ("tightened", 2.0),
    ("volume", 1.0),
    ("disturbed", 0.5),
    ("disturbed", 2.0),
    ("lag", 0.5),
    ("lag", 2.0),
    ("left over", 0.0),
    ("left over", 2.0),
    ("serial scale", 0.5),
    ("serial scale", 2.0),
    ("flat prior", 1.0),
    ("matched", 0.0),
    ("matched", 0.25),
    ("matched", 0.5),
    ("matched", 0.75),
]


def conflict(**changes: object) -> Statement:
    given_: dict = {
        "matter": ["the mark on the neck"],
        "mid_p": 0.002,
        "first": FIRST,
        "second": SECOND,
        "odds": 8.0,
        "likelihood_ratio": 500.0,
        "others": 0.04,
        "deciding": "a second look at the heel",
        **changes,
    }
    return two_stories("c", ON, **given_)


def test_a_conflict_has_both_accounts_their_odds_and_what_would_decide() -> None:
    text = conflict().text
    assert text.startswith("The mark on the neck does not fit the rest (an outcome this unusual")
    assert "about once in 500" in text
    assert (
        "Either the neck comes from another instrument, beforehand true of about 1 of 140" in text
    )
    assert "or the reading of the mark is mistaken, beforehand true of most such" in text
    assert "clearly supports the former" in text
    assert "about 8 to 1 for the former; other accounts share 4 %" in text
    assert "Apr 1965 to Sep 1965 under the former" in text
    assert "a second look at the heel" in text
    assert conflict().strength == "clearly supports"


def test_evidence_and_odds_may_point_apart() -> None:
    text = conflict(odds=0.1, likelihood_ratio=0.01, others=0.0).text
    assert "supports the latter" in text
    assert "about 10 to 1 for the latter." in text
    assert "other accounts" not in text


def test_a_surprise_is_told_only_where_it_is_one() -> None:
    assert "unusual" not in conflict(mid_p=None).text
    assert "unusual" not in conflict(mid_p=0.4).text
    assert "less than once in 1000" in conflict(mid_p=0.0004).text
    both = conflict(matter=["what was seen on the neck", "what was seen on the bridge"], mid_p=None)
    assert both.text.startswith(
        "What was seen on the neck and what was seen on the bridge do not fit"
    )


def test_where_nothing_would_decide_that_is_said() -> None:
    assert "Nothing that is left to look at" in conflict(deciding="").text


def test_a_month_alone_is_never_a_range() -> None:
    """Rule 8, under an account too."""
    assert "May 1965 to Jul 1965 under the latter" in conflict().text


@given(odds=st.floats(1, 1e12))
def test_odds_are_round_and_capped(odds: float) -> None:
    told = odds_words(odds)
    if odds > 1000:
        assert told == "more than 1000 to 1"
    elif odds >= 1.5:
        figure = int(told.removeprefix("about ").removesuffix(" to 1"))
        assert figure == pytest.approx(odds, rel=0.5 / 1.5)
        assert len(str(figure).rstrip("0")) <= 2
    else:
        assert told == "about even"


def test_odds_are_told_for_the_likelier_account() -> None:
    with pytest.raises(InputError, match="likelier"):
        odds_words(0.5)


def test_the_part_that_the_date_hangs_on_is_named_with_its_shift() -> None:
    text = hangs_on(
        "h", ON, part="volume pot", interval_90=SPAN, middle=parse_month("1965-04"), months=2
    ).text
    assert text.startswith("The date hangs most on the volume pot")
    assert "it moves the middle 2 months later" in text
    still = hangs_on(
        "h", ON, part="tuners", interval_90=SPAN, middle=parse_month("1965-04"), months=0
    ).text
    assert "everything seen on them" in still
    assert "moves" not in still
    earlier = hangs_on(
        "h", ON, part="neck", interval_90=SPAN, middle=parse_month("1965-04"), months=-1
    ).text
    assert "1 month earlier" in earlier


def test_close_agreement_is_never_told_alone() -> None:
    told = close_agreement(
        "a", ON, parts=["neck", "body", "tone pot"], spread=0, at_most=0.03, unexplained_above=1
    ).text
    assert "within one month" in told
    assert "about 3 %" in told
    assert "By itself this is ordinary" in told
    with pytest.raises(InputError, match="beside something unexplained"):
        close_agreement("a", ON, parts=["neck"], spread=0, at_most=0.03, unexplained_above=0)


def test_what_is_unexplained_has_everyday_causes_beside_it() -> None:
    text = unexplained("u", ON, mismatch="rust is the same", ordinary=["damp", "a box"]).text
    assert text == (
        "Unexplained: rust is the same. Everyday causes give the same look: damp or a box."
    )
    assert "3 pairs" in wear_goes_together("w", ON, pairs=3, accounted=[]).text
    one = wear_goes_together("w", ON, pairs=1, accounted=["frets commonly renewed"]).text
    assert "1 pair of parts" in one
    assert one.endswith("given what accounts for it: frets commonly renewed.")


@pytest.mark.parametrize(("name", "factor"), CHANGES)
def test_every_change_has_words_of_its_own(name: str, factor: float) -> None:
    words = assumption_words(name, factor)
    assert words
    assert words[:1].islower() or words[:1].isdigit()
    others = [assumption_words(*one) for one in CHANGES if one != (name, factor)]
    assert words not in others


def test_turns_are_named_and_the_rest_is_counted() -> None:
    turns = [(f"change {n}", "not determined") for n in range(TURNS_MOST + 2)]
    assert turns_words(turns[:1]) == "when change 0 (then: not determined)"
    assert turns_words(turns).endswith("or under 2 more changes")
    assert turns_words(turns[: TURNS_MOST + 1]).endswith("or under 1 more change")


TURNS = [("delays are half as long", "period-correct")]
UNSETTLED = [
    part_not_settled(
        "p",
        ON,
        part="frets",
        verdict="probably original",
        posterior="81 %",
        prior="93 %",
        turns=TURNS,
    ),
    part_not_settled(
        "p",
        ON,
        part="finish",
        verdict="probably first coat",
        posterior="81 %",
        prior="93 %",
        turns=TURNS,
    ),
    completion_not_settled(
        "d", ON, interval_90=SPAN, likeliest=parse_month("1965-06"), turns=TURNS
    ),
    completion_not_settled(
        "d", ON, interval_90=Period.parse("1965-06"), likeliest=None, turns=TURNS
    ),
    withheld_not_settled("d", ON, reasons=["The body is open."], turns=TURNS),
    reading_not_settled(
        "r", ON, mark="the mark", readings=[("Mar 1965", 0.96), ("Aug 1965", 0.04)], turns=TURNS
    ),
]


@pytest.mark.parametrize("told", UNSETTLED, ids=lambda one: one.template)
def test_not_settled_goes_before_probably_and_says_when(told: Statement) -> None:
    assert told.strength == NOT_SETTLED
    assert NOT_SETTLED in told.text
    assert "delays are half as long" in told.text
    assert find_banned(told.text) == ()
    if "probably" in told.text:
        assert told.text.index(NOT_SETTLED) < told.text.index("probably")


def test_the_prior_stays_beside_the_posterior_and_verbs_agree() -> None:
    text = UNSETTLED[0].text
    assert "Whether the frets were fitted first is not settled" in text
    assert "(81 %; before the evidence 93 %)" in text
    assert "no month standing out" in UNSETTLED[3].text
    assert "May 1965 and Jul 1965" in UNSETTLED[3].text
    assert "both printed" in UNSETTLED[5].text


def test_ranges_of_ranges() -> None:
    same = range_of_ranges(
        "r",
        ON,
        count=15,
        lower=Period.parse("1965-04"),
        upper=SPAN,
        likeliest=Period.parse("1965-06"),
        least=0.64,
    )
    assert "begins in Apr 1965 each time and ends between Apr 1965 and Sep 1965" in same.text
    assert "the likeliest month lies in Jun 1965 each time" in same.text
    assert same.text.endswith("The range as printed then holds 64 % or more.")
    assert "15 changes" in same.text
    assert "holds under each change" in settled("s", ON).text
    turned = turns_over("s", ON, subjects=["guard", "case"])
    assert turned.text.endswith("guard and case.")
    assert turned.strength == NOT_SETTLED
    assert "no two parts exclude each other" in nothing_quarrels("n", ON).text
