import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
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


def told(shares: dict[str, float], *, examined: bool = True, part: str = "output socket", **more):
    return parts.part_state(
        "p",
        part=part,
        states=shares,
        priors=states(0.9, 0.05, 0.04, 0.01),
        examined=examined,
        grounds=GROUNDS,
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


def test_undecided_prints_the_shares() -> None:
    statement = told(states(0.4, 0.2, 0.3, 0.1))
    assert statement.strength == "not determined"
    assert "original 40 %, a later replacement 30 %" in statement.text


@given(distributions(), distributions())
def test_a_part_nobody_looked_at_gets_no_state(shares, priors) -> None:
    statement = parts.part_state(
        "p", part="neck", states=shares, priors=priors, examined=False, grounds=Grounds()
    )
    assert statement.text == "The neck was not examined; nothing is said of its state."
    assert statement.not_examined == ("neck",)


def test_an_anchor_is_an_assumption() -> None:
    statement = told(states(1, 0, 0, 0), assumed=True)
    assert "an assumption, not a finding" in statement.text
    assert "%" not in statement.text


@given(distributions(), distributions())
def test_words_never_exceed_the_posterior(shares, priors) -> None:
    statement = parts.part_state(
        "p", part="frets", states=shares, priors=priors, examined=True, grounds=GROUNDS
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


def test_without_covered_areas_the_coating_stays_undetermined() -> None:
    shares = states(0.99, 0.005, 0.003, 0.002, names=FINISHES)
    statement = parts.finish_state(
        "f", states=shares, priors=shares, covered_areas_examined=False, grounds=GROUNDS
    )
    assert statement.strength == "not determined"
    assert "Covered areas were not looked at" in statement.text
    assert "coating in covered areas" in statement.not_examined


@given(distributions(FINISHES), distributions(FINISHES), st.booleans())
def test_a_coating_is_never_called_an_original_finish(shares, priors, covered) -> None:
    statement = parts.finish_state(
        "f", states=shares, priors=priors, covered_areas_examined=covered, grounds=GROUNDS
    )
    assert find_banned(statement.text) == ()
    if not covered:
        assert "probably" not in statement.text


def test_an_even_glow_says_what_it_does_not_show() -> None:
    statement = parts.finish_even(
        "e", zones=["front", "back"], unassessed={"edges": "hidden by grime"}, grounds=GROUNDS
    )
    assert statement.layer == "seen"
    assert "was seen at 365 nm on front and back" in statement.text
    assert "does not by itself show that the coating is the maker's" in statement.text
    assert "Not assessable: edges (hidden by grime)" in statement.text
    assert statement.not_examined == ("edges",)
    with pytest.raises(InputError, match="no zone"):
        parts.finish_even("e", zones=[], unassessed={}, grounds=GROUNDS)


@pytest.mark.parametrize("outcome", ["undisturbed", "second heating", "cannot tell", "not opened"])
def test_a_joint_is_a_fact(outcome) -> None:
    statement = parts.joint(
        "j", joint_name="socket joint", outcome=outcome, note="Dust in the flux.", grounds=GROUNDS
    )
    assert statement.layer == "seen"
    assert statement.text.endswith(" Dust in the flux.")
    if outcome == "second heating":
        assert "does not show that the part was replaced" in statement.text


def test_a_conflict_tells_both_accounts_and_what_would_decide() -> None:
    def written(ratio: float) -> str:
        return parts.conflict(
            "k",
            first="the pot is first",
            first_cost="its joint was re-wetted for a lead",
            second="the pot is later",
            second_cost="the swap left no trace",
            likelihood_ratio=ratio,
            deciding="the flux under a lens",
            grounds=GROUNDS,
        ).text

    assert "supports the former" in written(30)
    assert "clearly supports the latter" in written(1 / 500)
    assert "favours neither." in written(1)
    assert "What would decide: the flux under a lens." in written(1)


def test_ageing_and_species_stay_with_what_is_seen() -> None:
    text = parts.ageing_mismatch("a", mismatch="rust under the guard only", grounds=GROUNDS).text
    assert text.endswith("This is unexplained.")
    text = parts.species("s", part="board", appearance="rosewood-like", grounds=GROUNDS).text
    assert text == "The board appears to be rosewood-like; species not determined."
