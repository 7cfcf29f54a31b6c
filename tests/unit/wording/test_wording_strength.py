import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.wording.strength import (
    NOT_DETERMINED,
    Support,
    bayes_factor,
    from_even_odds,
    percent,
    probability_word,
    ratio_words,
    support,
)

probabilities = st.floats(min_value=0.0, max_value=1.0)


@pytest.mark.parametrize("ratio", [-1.0, math.nan, -math.inf])
def test_a_ratio_that_is_none_is_refused(ratio: float) -> None:
    with pytest.raises(InputError, match="likelihood ratio"):
        support(ratio)


def test_a_ratio_of_nought_speaks_for_the_rival() -> None:
    found = support(0.0)
    assert found.for_rival
    assert found.support is Support.STRONGLY_SUPPORTS


@pytest.mark.parametrize(
    ("p", "word"),
    [
        (0.0, NOT_DETERMINED),
        (0.7999, NOT_DETERMINED),
        (0.8, "probably"),
        (0.9499, "probably"),
        (0.95, "very probably"),
        (1.0, "very probably"),
    ],
)
def test_words_of_probability_begin_at_their_thresholds(p: float, word: str) -> None:
    assert probability_word(p) == word


@given(probabilities)
def test_the_figure_never_contradicts_the_word(p: float) -> None:
    told = percent(p)
    figure = float(told.strip("<> %")) / 100
    if told[0] not in "<>":
        assert probability_word(figure) == probability_word(p)
        assert abs(figure - p) <= 0.01
    assert told not in ("0 %", "100 %")


@given(probabilities, st.floats(min_value=0.001, max_value=0.999))
def test_a_bayes_factor_takes_the_prior_to_the_posterior(p: float, prior: float) -> None:
    factor = bayes_factor(p, prior)
    if math.isinf(factor):
        assert p == 1.0
    else:
        odds = factor * prior / (1 - prior)
        assert odds / (1 + odds) == pytest.approx(p, abs=1e-9)


@pytest.mark.parametrize(("p", "prior"), [(0.5, 0.0), (0.5, 1.0), (1.5, 0.5), (0.5, -0.1)])
def test_a_bayes_factor_needs_a_prior_that_can_move(p: float, prior: float) -> None:
    with pytest.raises(InputError):
        bayes_factor(p, prior)


@pytest.mark.parametrize(
    ("ratio", "even"), [(13.27, 0.930), (213.0, 0.995), (0.1208, 0.108), (1, 0.5), (math.inf, 1)]
)
def test_even_odds_are_the_ratio_over_one_and_itself(ratio: float, even: float) -> None:
    """Worked out by hand, as 213 / 214."""
    assert from_even_odds(ratio) == pytest.approx(even, abs=0.001)


def test_posterior_prior_and_ratio_hang_together() -> None:
    """The ratio times the odds of the prior are the odds of the posterior."""
    for posterior, prior in ((0.99, 0.93), (0.3, 0.6), (0.5, 0.5)):
        ratio = bayes_factor(posterior, prior)
        odds = ratio * prior / (1 - prior)
        assert odds / (1 + odds) == pytest.approx(posterior)


@pytest.mark.parametrize(
    ("ratio", "told"),
    [
        (13.27, "13"),
        (213.0, "210"),
        (0.1203, "0.12"),
        (1.0, "1.0"),
        (9.96, "10"),
        (999.9, "1000"),
        (1001.0, "> 1000"),
        (math.inf, "> 1000"),
        (0.0, "< 0.001"),
        (0.0023, "0.0023"),
    ],
)
def test_a_ratio_has_two_figures_and_ends_where_the_ladder_does(ratio: float, told: str) -> None:
    assert ratio_words(ratio) == told
