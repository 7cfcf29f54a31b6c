"""How strong a word the numbers allow: the ladder of support and the words of probability.

The ladder follows the idea of the verbal scale in the ENFSI *Guideline for Evaluative Reporting in
Forensic Science* (2015): a likelihood ratio is turned into a word of *support* for one account
over its rival, never into a probability. Below 2 it favours neither, as there. The words are this
program's own, and the ladder stops at 1000: a workshop's likelihoods are not calibrated beyond
that, so a ratio of a million gets the same word as one of two thousand. It says nothing about which
account is likelier; that needs the prior, and only a posterior earns a word of probability.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum

from heelstamp.errors import InputError

PROBABLY = 0.80
"""Least posterior probability that may be called 'probably' (rule 4)."""
VERY_PROBABLY = 0.95
"""Least posterior probability that may be called 'very probably' (rule 4)."""
NOT_DETERMINED = "not determined"
BEARS = 0.01
"""Least shift of the probabilities of a part's states, with an entry left out, from which on what
is said of the part rests on that entry; a choice of this program, no source."""


class Support(IntEnum):
    """Rung of the ladder; the order is the order of strength."""

    NEITHER = 0
    SLIGHTLY_FAVOURS = 1
    SUPPORTS = 2
    CLEARLY_SUPPORTS = 3
    STRONGLY_SUPPORTS = 4


SUPPORT_WORDS: dict[Support, str] = {
    Support.NEITHER: "favours neither",
    Support.SLIGHTLY_FAVOURS: "slightly favours",
    Support.SUPPORTS: "supports",
    Support.CLEARLY_SUPPORTS: "clearly supports",
    Support.STRONGLY_SUPPORTS: "strongly supports",
}

LEAST_FAVOURED = 2.0
"""Least ratio that favours an account at all: the guideline's scale names no support below 2."""

LADDER: tuple[tuple[float, Support], ...] = (
    (10.0, Support.SLIGHTLY_FAVOURS),
    (100.0, Support.SUPPORTS),
    (1000.0, Support.CLEARLY_SUPPORTS),
    (math.inf, Support.STRONGLY_SUPPORTS),
)
"""Upper edge of each rung from 2 on, edge included: it gets the weaker word (ENFSI 2015)."""


@dataclass(frozen=True, slots=True)
class SupportStatement:
    """A word of support, and whether it speaks for the rival account instead."""

    support: Support
    for_rival: bool

    @property
    def words(self) -> str:
        """The verb as it is printed."""
        return SUPPORT_WORDS[self.support]


def support(likelihood_ratio: float) -> SupportStatement:
    """Turn a likelihood ratio into a word.

    Parameters
    ----------
    likelihood_ratio
        How many times likelier the evidence is under one account than under its rival, 0 to
        infinity; below 1 it speaks for the rival.

    Raises
    ------
    InputError
        The ratio is negative or not a number.

    Examples
    --------
    >>> support(16.0).words, support(1.9).words
    ('supports', 'favours neither')
    >>> support(1e9).words
    'strongly supports'
    """
    if math.isnan(likelihood_ratio) or likelihood_ratio < 0:
        raise InputError(
            "not a likelihood ratio",
            received=likelihood_ratio,
            remedy="Give a ratio of two probabilities, 0 or more.",
        )
    for_rival = likelihood_ratio < 1
    if for_rival:
        likelihood_ratio = math.inf if likelihood_ratio == 0 else 1 / likelihood_ratio
    if likelihood_ratio < LEAST_FAVOURED:
        return SupportStatement(Support.NEITHER, for_rival=False)
    for upper, rung in LADDER:
        if likelihood_ratio <= upper:
            return SupportStatement(rung, for_rival)
    raise AssertionError("the last rung has no upper edge")  # pragma: no cover


def bayes_factor(posterior: float, prior: float) -> float:
    """The factor by which the evidence changed the odds of a state against all others.

    Posterior odds over prior odds. Where several rival states are lumped together this is the
    likelihood ratio against their prior-weighted mixture, not against the strongest of them.

    Raises
    ------
    InputError
        A probability lies outside 0 to 1, or the prior is 0 or 1 (no evidence can move it).
    """
    for name, value in (("posterior", posterior), ("prior", prior)):
        if not 0 <= value <= 1:
            raise InputError(f"the {name} is not a probability", received=value, remedy="0 to 1.")
    if prior in (0.0, 1.0):
        raise InputError(
            "a prior of 0 or 1 is an assumption, not a belief that evidence can move",
            received=prior,
            remedy="State it as an assumption.",
        )
    if posterior == 1:
        return math.inf
    return (posterior / (1 - posterior)) / (prior / (1 - prior))


def from_even_odds(ratio: float) -> float:
    """The probability that evidence of this ratio gives where both accounts began at even odds.

    ratio / (1 + ratio); 1 for an infinite one (Good, *Probability and the Weighing of Evidence*,
    1950; from memory).
    """
    return 1.0 if math.isinf(ratio) else ratio / (1 + ratio)


def ratio_words(ratio: float) -> str:
    """Write a likelihood ratio: two figures, and no further than the ladder goes.

    Examples
    --------
    >>> ratio_words(13.27), ratio_words(213.0), ratio_words(0.1203), ratio_words(2e6)
    ('13', '210', '0.12', '> 1000')
    """
    top = LADDER[-2][0]
    if ratio > top:
        return f"> {top:.0f}"
    if ratio < 1 / top:
        return f"< {1 / top:g}"
    rounded = float(f"{ratio:.2g}")
    return f"{rounded:.{max(0, 1 - math.floor(math.log10(rounded)))}f}"


def probability_word(posterior: float) -> str:
    """'very probably', 'probably', or 'not determined'.

    Raises
    ------
    InputError
        *posterior* is not a probability.
    """
    if not 0 <= posterior <= 1:
        raise InputError("not a probability", received=posterior, remedy="Give a value of 0 to 1.")
    if posterior >= VERY_PROBABLY:
        return "very probably"
    return "probably" if posterior >= PROBABLY else NOT_DETERMINED


def percent(probability: float) -> str:
    """Write a probability for a reader.

    Never 0 % nor 100 %; a value that whole per cents would carry over a threshold of the words
    keeps one decimal, so that figure and word never contradict each other.

    Raises
    ------
    InputError
        *probability* is not a probability.

    Examples
    --------
    >>> percent(0.796), percent(1.0), percent(0.21)
    ('79.6 %', '> 99 %', '21 %')
    """
    word = probability_word(probability)
    if probability < 0.01:
        return "< 1 %"
    if probability > 0.99:
        return "> 99 %"
    rounded = round(100 * probability)
    if probability_word(rounded / 100) == word:
        return f"{rounded} %"
    return f"{math.floor(1000 * probability) / 10:.1f} %"
