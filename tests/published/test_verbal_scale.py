"""The ladder of support against the bands of the ENFSI guideline.

Source: ENFSI Guideline for Evaluative Reporting in Forensic Science (2015), the scale of
likelihood ratios with verbal equivalents. Band edges (2, 10, 100, 1000, 10 000, 1 000 000) as
repeated by three public forensic codes, which agree but for the side on which an edge falls; taken
here as belonging to the weaker band, and *weak* from 2 on, as the guideline's own table begins. Our
words are our own; what is checked is that none of them claims more than the guideline's band for
the same ratio, and that the last stays far below the guideline's highest.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.reference.tables import verbal_scale
from heelstamp.wording.strength import LADDER, LEAST_FAVOURED, SUPPORT_WORDS, Support, support

# over, up to and including, the guideline's word
ENFSI_BANDS = (
    (1.0, math.nextafter(2.0, 0.0), "none"),
    (math.nextafter(2.0, 0.0), 10.0, "weak"),
    (10.0, 100.0, "moderate"),
    (100.0, 1000.0, "moderately strong"),
    (1000.0, 10_000.0, "strong"),
    (10_000.0, 1_000_000.0, "very strong"),
    (1_000_000.0, math.inf, "extremely strong"),
)
# the highest of our rungs that may be used within each band
HIGHEST = {
    "none": Support.NEITHER,
    "weak": Support.SLIGHTLY_FAVOURS,
    "moderate": Support.SUPPORTS,
    "moderately strong": Support.CLEARLY_SUPPORTS,
    "strong": Support.STRONGLY_SUPPORTS,
    "very strong": Support.STRONGLY_SUPPORTS,
    "extremely strong": Support.STRONGLY_SUPPORTS,
}


def band_of(ratio: float) -> str:
    return next(word for over, upto, word in ENFSI_BANDS if over < ratio <= upto)


@pytest.mark.parametrize(("over", "upto", "word"), ENFSI_BANDS)
def test_both_ends_of_a_band_get_its_rung(over: float, upto: float, word: str) -> None:
    just_over = math.nextafter(over, math.inf)
    assert support(just_over).support == HIGHEST[word]
    assert support(upto).support == HIGHEST[word]


@given(st.floats(min_value=1.0, max_value=1e300, exclude_min=True))
def test_never_more_than_the_band_of_the_same_ratio(ratio: float) -> None:
    assert support(ratio).support <= HIGHEST[band_of(ratio)]


@given(st.floats(min_value=1e-300, max_value=1e300))
def test_the_rival_gets_the_same_word_for_the_inverse(ratio: float) -> None:
    there, back = support(ratio), support(1 / ratio)
    if there.support is not Support.NEITHER and 1 / (1 / ratio) == ratio:
        assert there.support == back.support
        assert there.for_rival != back.for_rival


def test_no_evidence_helps_neither() -> None:
    assert support(1.0).support is Support.NEITHER
    assert not support(1.0).for_rival


def test_the_ladder_stops_below_the_guidelines_highest_words() -> None:
    assert support(math.inf).words == "strongly supports"
    assert not any("extremely" in words or "very" in words for words in SUPPORT_WORDS.values())
    assert [edge for edge, _ in LADDER] == [10.0, 100.0, 1000.0, math.inf]


def test_the_bundled_table_has_the_edges_of_the_ladder() -> None:
    bands = verbal_scale()
    assert [one.up_to for one in bands[:4]] == [LEAST_FAVOURED, *(edge for edge, _ in LADDER[:3])]
    assert bands[0].support == "neither"


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (1.00001, "favours neither"),
        (1.99, "favours neither"),
        (2.0, "slightly favours"),
        (10.0, "slightly favours"),
        (10.01, "supports"),
        (0.51, "favours neither"),
        (0.5, "slightly favours"),
        (0.1, "slightly favours"),
        (0.0999, "supports"),
    ],
)
def test_the_edges_of_the_words(ratio: float, words: str) -> None:
    assert support(ratio).words == words
    assert support(ratio).for_rival == (ratio <= 0.5)
