import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.casework.papers.part_section import CLAIMED
from heelstamp.wording import about_coat as coat
from heelstamp.wording import about_parts as parts
from heelstamp.wording import find_banned
from heelstamp.wording.sentences import Grounds

GROUNDS = Grounds(("o1",), ("f1",))
STATES = ("original", "period_replacement", "later_replacement", "from_another_instrument")
FINISHES = ("original", "touched_up", "old_refinish", "recent_refinish")


def states(*shares: float, names: tuple[str, ...] = STATES) -> dict[str, float]:
    return dict(zip(names, shares, strict=True))


def distributions(names: tuple[str, ...] = STATES) -> st.SearchStrategy[dict[str, float]]:
    weights = st.lists(st.floats(1e-6, 1.0), min_size=len(names), max_size=len(names))
    return weights.map(lambda w: {n: x / sum(w) for n, x in zip(names, w, strict=True)})


def told(shares: dict[str, float], *, examined: bool = True, part: str = "output jack", **more):
    return parts.part_state(
        "p",
        GROUNDS,
        part=part,
        states=shares,
        priors=states(0.9, 0.05, 0.04, 0.01),
        examined=examined,
        **more,
    )


def test_original_is_said_with_its_reservation_its_prior_and_its_support() -> None:
    text = told(states(0.994, 0.003, 0.002, 0.001)).text
    assert "very probably original, that is fitted at first completion, as far as examined" in text
    assert "(> 99 %; before the evidence 90 %)" in text
    assert "The evidence supports first fitting over the alternatives." in text


def test_period_correct_is_never_called_original() -> None:
    statement = told(states(0.5, 0.45, 0.03, 0.02))
    assert "very probably period-correct" in statement.text
    assert "whether it was fitted first is not determined" in statement.text
    assert "very probably original" not in statement.text


def test_later_and_donor_have_their_own_words() -> None:
    assert "very probably a later replacement" in told(states(0.01, 0.01, 0.97, 0.01)).text
    assert "probably comes from another instrument" in told(states(0.05, 0.05, 0.05, 0.85)).text


def test_what_says_less_is_said_of_more() -> None:
    """A later replacement is a replacement; what was fitted first is right in type and time."""
    later = told(states(0.02, 0.13, 0.82, 0.03), wider=True)
    assert "very probably not the first fitted" in later.text
    assert "a later replacement 82 %" in later.text
    first = told(states(0.85, 0.12, 0.02, 0.01), wider=True)
    assert "very probably period-correct" in first.text


@given(distributions())
def test_what_a_verdict_leaves_true_is_as_likely_or_likelier(shares: dict[str, float]) -> None:
    verdict, p = parts.part_verdict(shares, examined=True)
    if verdict in parts.WIDER:
        wide, more = parts.widened(verdict, shares)
        assert more >= p - 1e-12
        assert set(CLAIMED[wide]) > set(CLAIMED[verdict])


def test_undecided_prints_the_shares() -> None:
    statement = told(states(0.4, 0.2, 0.3, 0.1))
    assert statement.strength == "not determined"
    assert "original 40 %, a later replacement 30 %" in statement.text


@given(distributions(), distributions())
def test_a_part_nobody_looked_at_gets_no_state(shares, priors) -> None:
    statement = parts.part_state(
        "p", Grounds(), part="neck", states=shares, priors=priors, examined=False
    )
    assert statement.text.startswith("The neck was not examined. What was seen elsewhere leaves ")
    assert statement.not_examined == ("neck",)


def test_an_anchor_is_an_assumption() -> None:
    statement = told(states(1, 0, 0, 0), assumed=True)
    assert "an assumption, not a finding" in statement.text
    assert "%" not in statement.text


@given(distributions(), distributions())
def test_words_never_exceed_the_posterior(shares, priors) -> None:
    statement = parts.part_state(
        "p", GROUNDS, part="frets", states=shares, priors=priors, examined=True
    )
    assert find_banned(statement.text) == ()
    verdict, posterior = parts.part_verdict(shares, examined=True)
    if "very probably" in statement.text:
        assert posterior >= 0.95
    if " probably" in statement.text:
        assert posterior >= 0.80
    if verdict == "original":
        assert shares["original"] == posterior
    assert "frets is" not in statement.text
    assert "frets was" not in statement.text


def test_without_covered_areas_the_finish_stays_undetermined() -> None:
    shares = states(0.99, 0.005, 0.003, 0.002, names=FINISHES)
    statement = coat.finish_state(
        "f", GROUNDS, states=shares, priors=shares, covered_areas_examined=False
    )
    assert statement.strength == "not determined"
    assert "Covered areas were not looked at" in statement.text
    assert "finish in covered areas" in statement.not_examined


@given(distributions(FINISHES), distributions(FINISHES), st.booleans())
def test_a_finish_is_never_called_an_original_finish(shares, priors, covered) -> None:
    statement = coat.finish_state(
        "f", GROUNDS, states=shares, priors=priors, covered_areas_examined=covered
    )
    assert find_banned(statement.text) == ()
    if not covered:
        assert "probably" not in statement.text


@pytest.mark.parametrize("outcome", ["undisturbed", "second heating", "cannot tell", "not opened"])
def test_a_joint_is_a_fact(outcome) -> None:
    statement = parts.JOINTS[outcome]("j", GROUNDS, joint="jack joint", note="Dust in the flux.")
    assert statement.layer == "seen"
    assert statement.text.endswith(" Dust in the flux.")
    if outcome == "second heating":
        assert "does not show that the part was replaced" in statement.text


@given(distributions(), distributions())
def test_the_plain_form_has_the_word_and_no_figure(shares, priors) -> None:
    """A reader of the table of parts finds each figure beside its word, once."""
    statement = parts.part_state(
        "p", GROUNDS, part="neck", states=shares, priors=priors, examined=True
    )
    assert "%" in statement.text
    assert "%" not in statement.plain
    assert statement.plain.endswith(".")
    assert statement.strength in statement.plain


@pytest.mark.parametrize("covered", [True, False])
def test_the_history_of_a_finish_has_a_plain_form_too(covered) -> None:
    shares = states(0.2, 0.1, 0.1, 0.6, names=FINISHES)
    sure = states(0.99, 0.005, 0.003, 0.002, names=FINISHES)
    for one in (shares, sure):
        told = coat.finish_state(
            "f", GROUNDS, states=one, priors=shares, covered_areas_examined=covered
        )
        assert "%" in told.text
        assert "%" not in told.plain
