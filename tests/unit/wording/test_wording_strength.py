import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.wording.strength import (
    NOT_DETERMINED,
    Support,
    bayes_factor,
    percent,
    probability_word,
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
