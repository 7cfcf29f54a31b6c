"""What does not fit: conflicts, what the date hangs on, wear, close agreement.

Rule 10: a conflict is written with both accounts, how often each holds beforehand, their odds, and
what would decide. Rule 11: what is unexplained is described, beside everyday causes and without
motive or person; close agreement of marks is told only there. Odds above 1000 are told as 'more
than 1000', as on the ladder of support. Nothing here computes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelstamp.errors import InputError
from heelstamp.units import Month, Period, name_month
from heelstamp.wording.about_dates import SURPRISING, shift_words, span_of
from heelstamp.wording.sentences import Told, agreement, counted, listed, sentence
from heelstamp.wording.strength import Support, percent, probability_word, support

ODDS_MOST = 1000
"""Odds above this are not told in figures: a shop's tables are not calibrated beyond it."""

EVEN = "about even"

MOST = 0.5

OTHERS_LEAST = 0.01
"""Probability of other accounts below which they are not mentioned."""


@dataclass(frozen=True, slots=True)
class Account:
    """One account of a conflict.

    Attributes
    ----------
    says
        The account, a clause.
    prior
        Its probability before anything was seen.
    interval_90
        Completion under it.
    """

    says: str
    prior: float
    interval_90: Period


def odds_words(odds: float) -> str:
    """Write odds of at least one: 'about even', 'about 9 to 1', 'more than 1000 to 1'.

    Examples
    --------
    >>> odds_words(1.2), odds_words(8.76), odds_words(615), odds_words(9303)
    ('about even', 'about 9 to 1', 'about 600 to 1', 'more than 1000 to 1')
    """
    if odds < 1:
        raise InputError("odds are told for the likelier account", received=odds)
    if odds > ODDS_MOST:
        return f"more than {ODDS_MOST} to 1"
    if odds < 1.5:
        return EVEN
    size = 10 ** max(0, len(str(int(odds))) - 2)
    whole = round(odds / size) * size
    if len(str(whole)) > 2:
        size = 10 ** (len(str(whole)) - 1)
        whole = round(odds / size) * size
    return f"about {whole} to 1"


def likelier(odds: float) -> str:
    """Say which of two accounts is likelier: 'the first, about 9 to 1'.

    Examples
    --------
    >>> likelier(8.76), likelier(0.5), likelier(1.2)
    ('the first, about 9 to 1', 'the second, about 2 to 1', 'neither: about even')
    """
    words = odds_words(max(odds, 1 / odds))
    if words == EVEN:
        return f"neither: {words}"
    return f"the {'first' if odds >= 1 else 'second'}, {words}"


def held(prior: float) -> str:
    """Say of how many instruments something holds before they are looked at."""
    if prior >= MOST:
        return "most such instruments"
    once = 1 / prior
    size = 10 ** max(0, len(str(int(once))) - 2)
    return f"about 1 of {round(once / size) * size} such instruments"


def _rare(mid_p: float | None) -> str:
    if mid_p is None or mid_p >= SURPRISING:
        return ""
    once = (
        "less than once in 1000 such instruments"
        if mid_p < 0.001
        else f"about once in {round(1 / mid_p, -1):.0f}"
    )
    return f" (an outcome this unusual was expected {once})"


@sentence("two stories", "inferred", 10)
def two_stories(
    *,
    matter: Sequence[str],
    mid_p: float | None,
    first: Account,
    second: Account,
    odds: float,
    likelihood_ratio: float,
    others: float,
    deciding: str,
) -> Told:
    """Both accounts of a conflict, their odds, and what would decide (rule 10).

    Parameters
    ----------
    matter
        What does not fit, noun phrases: 'the mark “58 3” on the neck'.
    mid_p
        How surprising it is, told below 0.01; None where something else raised the question.
    odds, likelihood_ratio
        Of the first account over the second, after and by the evidence alone.
    others
        Probability of all other accounts.
    deciding
        What would decide, a noun phrase; empty when nothing known here would.
    """
    found = support(likelihood_ratio)
    side = "latter" if found.for_rival else "former"
    evidence = found.words if found.support is Support.NEITHER else f"{found.words} the {side}"
    do = "do" if len(matter) > 1 else "does"
    share = "" if others < OTHERS_LEAST else f"; other accounts share {percent(others)}"
    best = (
        f"What would tell them apart best: {deciding}."
        if deciding
        else "Nothing that is left to look at is expected to decide between them."
    )
    return Told(
        f"{listed(list(matter))} {do} not fit the rest{_rare(mid_p)}. Two accounts are open. "
        f"Either {first.says}, beforehand true of {held(first.prior)}; or {second.says}, "
        f"beforehand true of {held(second.prior)}. What was seen {evidence}; with what was "
        f"believed beforehand, the odds are {odds_words(max(odds, 1 / odds))} for the "
        f"{'former' if odds >= 1 else 'latter'}{share}. Completion would be "
        f"{span_of(first.interval_90)[0]} under the former, {span_of(second.interval_90)[0]} under "
        f"the latter (90 %). {best}",
        found.words,
    )


@sentence("nothing quarrels", "inferred", 10)
def nothing_quarrels() -> str:
    return (
        "No observation that was tried against the others was so unusual as to be expected in "
        "fewer than one of 100 such instruments, and no two parts exclude each other."
    )


@sentence("hangs on", "inferred", 2)
def hangs_on(*, part: str, interval_90: Period, middle: Month, months: int) -> str:
    """The part that the date hangs on most; *months* is how far it moves the middle."""
    span, _ = span_of(interval_90)
    return (
        f"The date hangs most on the {part}: without everything seen on {agreement(part).them} the "
        f"range would be {name_month(span.first)} to {name_month(span.last)} (90 %), middle "
        f"{name_month(middle)}{shift_words(months)}."
    )


@dataclass(frozen=True, slots=True)
class PairTold:
    """One account of two neighbours: which of them was fitted first, how likely, completion."""

    older_first: bool
    younger_first: bool
    probability: float
    interval_90: Period


@sentence("neighbours apart", "inferred", 10)
def neighbours_apart(
    *, older: str, younger: str, months: int, accounts: Sequence[PairTold]
) -> Told:
    """Two neighbouring parts whose marks lie apart, with every account of them.

    Parameters
    ----------
    accounts
        The likeliest first; their probabilities add to one.
    """

    def told(one: PairTold) -> str:
        span = span_of(one.interval_90)[0]
        return (
            f"{_which(older, younger, one)}: {percent(one.probability)}, then completed "
            f"{name_month(span.first)} to {name_month(span.last)} (90 %)"
        )

    return Told(
        f"The marks on the {older} and the {younger} lie {counted(months, 'month')} apart. "
        f"{'; '.join(told(one) for one in accounts)}.",
        probability_word(accounts[0].probability),
    )


def _which(older: str, younger: str, one: PairTold) -> str:
    if one.older_first and one.younger_first:
        return "Both fitted first"
    if not (one.older_first or one.younger_first):
        return "neither fitted first"
    return f"only the {younger if one.younger_first else older} fitted first"


@sentence("unexplained", "inferred", 11)
def unexplained(*, mismatch: str, ordinary: Sequence[str]) -> str:
    causes = listed(list(ordinary), "or")
    return f"Unexplained: {mismatch}. Everyday causes give the same look: {causes}."


@sentence("wear goes together", "inferred", 11)
def wear_goes_together(*, pairs: int, accounted: Sequence[str]) -> str:
    """On how many pairs of parts wear was compared, and what accounts for those that differ."""
    told = f", given what accounts for it: {listed(list(accounted))}" if accounted else ""
    return f"Wear was compared on {counted(pairs, 'pair')} of parts and goes together{told}."


@sentence("close agreement", "inferred", 11)
def close_agreement(
    *, parts: Sequence[str], spread: int, at_most: float, unexplained_above: int
) -> str:
    """Marks that agree more closely than delays let one expect (rule 11).

    Raises
    ------
    InputError
        Nothing unexplained stands beside it: agreement alone is ordinary and is not told.
    """
    if unexplained_above < 1:
        raise InputError(
            "close agreement is told only beside something unexplained",
            received=unexplained_above,
            remedy="Leave it out.",
        )
    months = "one month" if spread == 0 else f"{spread + 1} months"
    return (
        f"The marks on the {listed(list(parts))} name months within {months}. By the tables of "
        f"delays the marks of {len(parts)} parts built into one instrument lie as close in about "
        f"{percent(at_most)} of instruments. By itself this is ordinary; it is told because of "
        "what is unexplained above."
    )
