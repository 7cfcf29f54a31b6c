"""Sentences about when the instrument was completed.

Rule 8: two months with their probability and the likeliest month, never a day, never one month
alone; where a computed interval is a single month the sentence takes in the months on both sides
and says 'more than 90 %'. Rule 4: a probability stands beside its prior. Months are whole numbers
(``heelstamp.units``); probabilities are posteriors, 0 to 1. Nothing here computes a date.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.errors import InputError
from heelstamp.units import Month, Period, name_month
from heelstamp.wording.sentences import Grounds, Statement, agreement, listed, write
from heelstamp.wording.strength import NOT_DETERMINED, VERY_PROBABLY, percent, probability_word

SURPRISING = 0.01
"""Mid-p below which an observation is called out; a choice of this program, no source."""


READING_MIN = VERY_PROBABLY
"""Posterior below which an ambiguous reading stays 'not determined' (our choice)."""


def span_of(interval: Period) -> tuple[Period, str]:
    """Give the span to print for a 90 % interval, and the words of its probability."""
    if interval.first == interval.last:
        return Period(interval.first - 1, interval.last + 1), "more than 90 %"
    return interval, "90 %"


def completion(
    statement_id: str, *, interval_90: Period, likeliest: Month | None, grounds: Grounds
) -> Statement:
    """Say between which months the instrument was completed.

    Parameters
    ----------
    likeliest
        The most probable month, or None where none stands out: a flat distribution, or one whose
        peak lies in a tail that the central range leaves out.

    Raises
    ------
    InputError
        The likeliest month lies outside the interval.
    """
    span, mass = span_of(interval_90)
    if likeliest is not None and likeliest not in span:
        raise InputError(
            "the likeliest month lies outside the range",
            where=statement_id,
            received=f"{name_month(likeliest)} outside {span}",
            remedy="Give None, and list the separate periods.",
        )
    return write(
        "completion",
        statement_id,
        grounds,
        strength=mass,
        first=name_month(span.first),
        last=name_month(span.last),
        mass=mass,
        likeliest="no month standing out"
        if likeliest is None
        else f"most likely {name_month(likeliest)}",
    )


def completion_runs(
    statement_id: str, *, runs: Sequence[tuple[Period, float]], grounds: Grounds
) -> Statement:
    """List separate periods that share the probability, likeliest first."""
    ordered = sorted(runs, key=lambda run: (-run[1], run[0]))
    return write(
        "completion runs",
        statement_id,
        grounds,
        count=str(len(ordered)),
        runs=listed([f"{span_of(period)[0]} ({percent(p)})" for period, p in ordered]),
    )


def completion_prior(statement_id: str, *, interval_90: Period, grounds: Grounds) -> Statement:
    """Disclose the range before any evidence from this instrument (rule 4)."""
    span, _ = span_of(interval_90)
    return write(
        "completion prior",
        statement_id,
        grounds,
        first=name_month(span.first),
        last=name_month(span.last),
    )


def completion_withheld(
    statement_id: str, *, reasons: Sequence[str], grounds: Grounds
) -> Statement:
    """Say that no date is given, and why.

    Raises
    ------
    InputError
        No reason is given.
    """
    if not reasons:
        raise InputError(
            "a withheld date needs a reason", where=statement_id, remedy="Give at least one."
        )
    return write(
        "completion withheld",
        statement_id,
        grounds,
        strength="withheld",
        reasons=" ".join(reason.strip().rstrip(".") + "." for reason in reasons),
    )


def part_date(statement_id: str, *, part: str, interval_90: Period, grounds: Grounds) -> Statement:
    """Give the range that one part's own marks point to."""
    span, mass = span_of(interval_90)
    return write(
        "part date",
        statement_id,
        grounds,
        strength=mass,
        part=part,
        first=name_month(span.first),
        last=name_month(span.last),
        **agreement(part),
    )


def without_observation(
    statement_id: str,
    *,
    observation: str,
    interval_90: Period,
    middle: Month,
    middle_with: Month | None,
    grounds: Grounds,
) -> Statement:
    """Tell what the range would be without one observation, and how far it moves the middle.

    *observation* is a noun phrase in the singular: 'the code on the volume pot', 'everything seen
    on the neck'.
    """
    shift = ""
    if middle_with is not None and middle != middle_with:
        months = abs(middle_with - middle)
        way = "later" if middle_with > middle else "earlier"
        unit = "month" if months == 1 else "months"
        shift = f"; it moves the middle {months} {unit} {way}"
    span, _ = span_of(interval_90)
    return write(
        "without observation",
        statement_id,
        grounds,
        observation=observation,
        first=name_month(span.first),
        last=name_month(span.last),
        middle=name_month(middle),
        shift=shift,
    )


def reading(
    statement_id: str, *, mark: str, readings: Sequence[tuple[str, float]], grounds: Grounds
) -> Statement:
    """Print every reading of a mark with its probability.

    Parameters
    ----------
    mark
        Name of the mark: 'The stamp on the neck'.
    readings
        Pairs of text and posterior probability; their order does not matter.

    Raises
    ------
    InputError
        There is no reading.
    """
    if not readings:
        raise InputError(
            "a mark without a reading",
            where=statement_id,
            remedy="Say that it is illegible, absent or not looked at.",
        )
    if len(readings) == 1:
        return write("reading single", statement_id, grounds, mark=mark, readings=readings[0][0])
    ordered = sorted(readings, key=lambda one: (-one[1], one[0]))
    # a reading settled by the other evidence would soon be quoted as evidence of its own
    word = probability_word(ordered[0][1]) if ordered[0][1] >= READING_MIN else NOT_DETERMINED
    texts = listed([f"{text} ({percent(p)})" for text, p in ordered], "or")
    if word == NOT_DETERMINED:
        return write(
            "reading open",
            statement_id,
            grounds,
            strength=word,
            mark=mark,
            readings=texts,
            all_of_them="both" if len(ordered) == 2 else "all",
        )
    return write(
        "reading likely", statement_id, grounds, strength=word, mark=mark, word=word, readings=texts
    )


def left_out(
    statement_id: str, *, observations: Sequence[str], reason: str, grounds: Grounds
) -> Statement:
    """Name observations that were read and have no bearing on the date, with the one reason."""
    return write(
        "left out",
        statement_id,
        grounds,
        observations=listed(list(observations)),
        reason=reason.rstrip("."),
    )


def surprise(
    statement_id: str, *, observation: str, mid_p: float, grounds: Grounds
) -> Statement | None:
    """Call out an observation that the rest did not lead one to expect; None when it is ordinary.

    Parameters
    ----------
    mid_p
        Predictive probability of outcomes no likelier than the one seen, half of ties, 0 to 1.
    """
    if mid_p >= SURPRISING:
        return None
    once_in = "more than 1000" if mid_p < 0.001 else str(round(1 / mid_p, -1)).removesuffix(".0")
    return write("surprise", statement_id, grounds, observation=observation, once_in=once_in)
