"""Sentences about what does not fit: conflicts, what the date hangs on, wear, close agreement.

Rule 10: a conflict is written with both accounts, how often each holds beforehand, their odds, and
what would decide. Rule 11: what is unexplained is described, beside everyday causes; close
agreement of marks is told only there. Odds above 1000 are told as 'more than 1000', as on the
ladder of support. Nothing here computes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelstamp.errors import InputError
from heelstamp.units import Month, Period, name_month
from heelstamp.wording.about_dates import SURPRISING, span_of
from heelstamp.wording.sentences import Grounds, Statement, agreement, listed, write
from heelstamp.wording.strength import Support, percent, support

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


def two_stories(
    statement_id: str,
    *,
    matter: Sequence[str],
    mid_p: float | None,
    first: Account,
    second: Account,
    odds: float,
    likelihood_ratio: float,
    others: float,
    deciding: str,
    grounds: Grounds,
) -> Statement:
    """Write both accounts of a conflict, their odds, and what would decide (rule 10).

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
    told = found.words if found.support is Support.NEITHER else f"{found.words} the {side}"
    surprise = "" if mid_p is None or mid_p >= SURPRISING else f" ({_rare(mid_p)})"
    span = [str(span_of(one.interval_90)[0]) for one in (first, second)]
    return write(
        "two stories",
        statement_id,
        grounds,
        strength=found.words,
        matter=f"{listed(list(matter))} {'do' if len(matter) > 1 else 'does'}",
        surprise=surprise,
        first=first.says,
        first_cost=held(first.prior),
        second=second.says,
        second_cost=held(second.prior),
        support=told,
        odds=odds_words(max(odds, 1 / odds)),
        likelier="former" if odds >= 1 else "latter",
        others="" if others < OTHERS_LEAST else f"; other accounts share {percent(others)}",
        first_range=span[0],
        second_range=span[1],
        deciding=f"What would tell them apart best: {deciding}."
        if deciding
        else "Nothing that is left to look at is expected to decide between them.",
    )


def _rare(mid_p: float) -> str:
    if mid_p < 0.001:
        return "an outcome this unusual was expected less than once in 1000 such instruments"
    return f"an outcome this unusual was expected about once in {round(1 / mid_p, -1):.0f}"


def held(prior: float) -> str:
    """Say of how many instruments something holds before they are looked at."""
    if prior >= MOST:
        return "most such instruments"
    once = 1 / prior
    size = 10 ** max(0, len(str(int(once))) - 2)
    return f"about 1 of {round(once / size) * size} such instruments"


def nothing_quarrels(statement_id: str, *, grounds: Grounds) -> Statement:
    """Say that nothing was found that does not fit."""
    return write("nothing quarrels", statement_id, grounds)


def hangs_on(
    statement_id: str,
    *,
    part: str,
    interval_90: Period,
    middle: Month,
    months: int,
    grounds: Grounds,
) -> Statement:
    """Name the part that the date hangs on most; *months* is how far it moves the middle."""
    span, _ = span_of(interval_90)
    many = "month" if abs(months) == 1 else "months"
    way = "later" if months > 0 else "earlier"
    return write(
        "hangs on",
        statement_id,
        grounds,
        part=part,
        object="them" if agreement(part)["verb"] == "are" else "it",
        first=name_month(span.first),
        last=name_month(span.last),
        middle=name_month(middle),
        shift=f"; it moves the middle {abs(months)} {many} {way}" if months else "",
    )


def unexplained(
    statement_id: str, *, mismatch: str, ordinary: Sequence[str], grounds: Grounds
) -> Statement:
    """Describe what does not go together, with everyday causes and without motive or person."""
    return write(
        "unexplained",
        statement_id,
        grounds,
        mismatch=mismatch,
        ordinary=listed(list(ordinary), "or"),
    )


def wear_goes_together(
    statement_id: str, *, pairs: int, accounted: Sequence[str], grounds: Grounds
) -> Statement:
    """Say on how many pairs of parts wear was compared and goes together.

    Parameters
    ----------
    accounted
        What accounts for pairs that would not fit otherwise.
    """
    return write(
        "wear goes together",
        statement_id,
        grounds,
        count="1 pair" if pairs == 1 else f"{pairs} pairs",
        accounted=f", given what accounts for it: {listed(list(accounted))}" if accounted else "",
    )


def close_agreement(
    statement_id: str,
    *,
    parts: Sequence[str],
    spread: int,
    at_most: float,
    unexplained_above: int,
    grounds: Grounds,
) -> Statement:
    """Tell that marks agree more closely than lags let one expect (rule 11).

    Raises
    ------
    InputError
        Nothing unexplained stands beside it: agreement alone is ordinary and is not told.
    """
    if unexplained_above < 1:
        raise InputError(
            "close agreement is told only beside something unexplained",
            where=statement_id,
            received=unexplained_above,
            remedy="Leave it out.",
        )
    return write(
        "close agreement",
        statement_id,
        grounds,
        parts=listed(list(parts)),
        spread="one month" if spread == 0 else f"{spread + 1} months",
        count=str(len(parts)),
        chance=percent(at_most),
    )
