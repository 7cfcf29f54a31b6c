"""When the instrument was completed.

Rule 8: two months with their probability and the likeliest month, never a day, never one month
alone; where a computed interval is a single month the sentence takes in the months on both sides
and says 'more than 90 %'. Rule 4: a probability stands beside its prior. Months are whole numbers
(``heelstamp.units``); probabilities are posteriors, 0 to 1. Nothing here computes a date.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.errors import InputError
from heelstamp.units import Month, Period, name_month
from heelstamp.wording.sentences import (
    Grounds,
    Statement,
    Told,
    agreement,
    counted,
    listed,
    sentence,
)
from heelstamp.wording.strength import NOT_DETERMINED, VERY_PROBABLY, percent, probability_word

SURPRISING = 0.01
"""Mid-p below which an observation is called out; a choice of this program, no source."""

READING_MIN = VERY_PROBABLY
"""Posterior below which an ambiguous reading stays 'not determined' (our choice)."""


def span_of(interval: Period) -> tuple[Period, str]:
    """Return the span to print for a 90 % interval, and the words of its probability."""
    if interval.first == interval.last:
        return Period(interval.first - 1, interval.last + 1), "more than 90 %"
    return interval, "90 %"


def half_of(interval_50: Period) -> str:
    """Name the months that hold half of the probability, or more where one month does.

    Unlike a 90 % range it stays as it was computed: widened, it could leave that range.
    """
    if interval_50.first == interval_50.last:
        return f"more than half of it in {name_month(interval_50.first)}"
    return f"half of it {span_words(interval_50)}"


def span_words(period: Period) -> str:
    """Write a period in the fewest words: 'May to Sep 1965'.

    Examples
    --------
    >>> span_words(Period.parse(["1965-05", "1965-09"]))
    'May to Sep 1965'
    """
    first, last = name_month(period.first), name_month(period.last)
    if period.first // 12 == period.last // 12 and period.first != period.last:
        first = first.split(" ", maxsplit=1)[0]
    return first if period.first == period.last else f"{first} to {last}"


MARKS_DATE_PARTS = "marks date parts, and the instrument was completed after its original parts"
"""What a range rests on, for who has never read one (rule 8)."""


def likeliest_words(likeliest: Month | None) -> str:
    """Name the most probable month; None where none stands out."""
    if likeliest is None:
        return "no month standing out"
    return f"most likely {name_month(likeliest)}"


def shift_words(months: int) -> str:
    """Say how far something moves the middle, later counted positive; nothing where it does not."""
    way = "later" if months > 0 else "earlier"
    return f"; it moves the middle {counted(abs(months), 'month')} {way}" if months else ""


def reasons_words(reasons: Sequence[str]) -> str:
    """Write reasons one after another, each with its full stop."""
    return " ".join(reason.strip().rstrip(".") + "." for reason in reasons)


def shares_words(readings: Sequence[tuple[str, float]]) -> str:
    """Write readings with their probabilities, the likeliest first."""
    ordered = sorted(readings, key=lambda one: (-one[1], one[0]))
    return listed([f"{text} ({percent(p)})" for text, p in ordered], "or")


def _ends(interval_90: Period) -> str:
    span, _ = span_of(interval_90)
    return f"{name_month(span.first)} to {name_month(span.last)}"


@sentence("completion", "inferred", 8)
def completion(*, interval_90: Period, likeliest: Month | None) -> Told:
    """Between which months it was completed.

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
            received=f"{name_month(likeliest)} outside {span}",
            remedy="Give None, and list the separate periods.",
        )
    return Told(
        f"Completed between {name_month(span.first)} and {name_month(span.last)} ({mass}), "
        f"{likeliest_words(likeliest)}; {MARKS_DATE_PARTS}.",
        mass,
    )


@sentence("completion runs", "inferred", 8)
def completion_runs(*, runs: Sequence[tuple[Period, float]]) -> str:
    """Separate periods that share the probability, likeliest first."""
    ordered = sorted(runs, key=lambda run: (-run[1], run[0]))
    told = listed([f"{span_of(period)[0]} ({percent(p)})" for period, p in ordered])
    return f"The probability lies in {len(ordered)} separate periods: {told}."


@sentence("completion prior", "inferred", 4)
def completion_prior(*, interval_90: Period) -> str:
    """The range before any evidence from this instrument (rule 4)."""
    return (
        f"Before any evidence from this instrument the range was {_ends(interval_90)} (90 %); all "
        "percentages start from there."
    )


@sentence("claim compared", "inferred", 4)
def claim_compared(*, claimed: Period, held: float, about: Period, held_about: float) -> str:
    """How likely completion within the claimed months is, and within those that *about* allows.

    Parameters
    ----------
    claimed, about
        The months named, and the wider ones; the same where *about* was not said.
    held, held_about
        Their probabilities.
    """
    name, wider = _within(claimed).removeprefix("in "), ""
    if about != claimed:
        name, wider = f"about {name}", f"; {_within(about)}: {percent(held_about)}"
    return (
        f"Claimed is {name}. Probability that it was completed {_within(claimed)}: "
        f"{percent(held)}{wider}."
    )


def _within(period: Period) -> str:
    if period.first == period.last:
        return f"in {name_month(period.first)}"
    first, last = period.first // 12, period.last // 12
    return f"in {first}" if first == last else f"from {first} to {last}"


@sentence("completion withheld", "inferred", 8)
def completion_withheld(*, reasons: Sequence[str]) -> Told:
    """That no date is given, and why.

    Raises
    ------
    InputError
        No reason is given.
    """
    if not reasons:
        raise InputError("a withheld date needs a reason", remedy="Give at least one.")
    return Told(
        f"No completion date is given for the whole instrument: {reasons_words(reasons)}",
        "withheld",
    )


@sentence("body doubtful", "inferred", 8)
def body_doubtful(*, chance: float) -> str:
    """Why a date is withheld: *chance* is the probability that the body is from elsewhere."""
    return (
        "The evidence leaves it open whether this body belongs to the other parts (probability "
        f"that it does not: {100 * chance:.0f} %)."
    )


@sentence("several instruments", "inferred", 8)
def several_instruments(*, parts: Sequence[str]) -> str:
    return f"Parts appear to come from several instruments: {', '.join(parts)}."


@sentence("put together", "inferred", 8)
def put_together(*, chance: float) -> str:
    """Why a date is withheld: *chance* is that of an instrument put together from several."""
    return (
        f"This instrument was probably put together from several ({percent(chance)}); its parts "
        "have dates of their own then."
    )


@sentence("fixed features", "inferred", 10)
def fixed_features(*, features: Sequence[str]) -> str:
    """Why a date is withheld: features that cannot be put in afterwards are of another time."""
    return (
        f"{counted(len(features), 'feature')} that cannot be put in afterwards do not belong to "
        f"the time that the marks and the rest give: {listed(list(features))}. Either those looks "
        "or the marks are not what they seem."
    )


@sentence("nothing bears on date", "inferred", 8)
def nothing_bears_on_date() -> str:
    return "Nothing seen on this instrument bears on its date."


@sentence("outside production", "inferred", 8)
def outside_production(*, chance: float, production: Period) -> str:
    """Why a date is withheld: the probability that it was completed when none were made."""
    return (
        f"The evidence puts completion outside the years of production, {_ends(production)}, with "
        f"a probability of {percent(chance)}; a date is given only up to 5 %. A mark or number "
        "that dates, or better years of production, would settle it."
    )


@sentence("completion outside", "inferred", 8)
def completion_outside(*, chance: float, production: Period) -> str:
    """That ranges are cut at production, and the probability of what lies outside."""
    return (
        f"Ranges are cut at the years of production, {_ends(production)}; the probability that it "
        f"was completed outside them is {percent(chance)}."
    )


@sentence("part date", "inferred", 8)
def part_date(*, part: str, interval_90: Period) -> Told:
    """The range that one part's own marks point to."""
    (span, mass), words = span_of(interval_90), agreement(part)
    return Told(
        f"The {part}, on {words.its} own marks alone, {words.points} to a completion between "
        f"{name_month(span.first)} and {name_month(span.last)} (90 %).",
        mass,
    )


@sentence("without observation", "inferred", 2)
def without_observation(
    *, observation: str, interval_90: Period, middle: Month, middle_with: Month | None
) -> str:
    """What the range would be without one observation, and how far it moves the middle.

    *observation* is a noun phrase in the singular: 'the code on the volume pot', 'everything seen
    on the neck'.
    """
    shift = shift_words(0 if middle_with is None else middle_with - middle)
    return (
        f"Without {observation} the range would be {_ends(interval_90)} (90 %), middle "
        f"{name_month(middle)}{shift}."
    )


@sentence("left out", "inferred", 2)
def left_out(*, observations: Sequence[str], reason: str) -> str:
    """Observations that were read and have no bearing on the date, with the one reason."""
    return f"No bearing on the date ({reason.rstrip('.')}): {listed(list(observations))}."


@sentence("reading single", "seen", 1)
def reading_single(*, mark: str, text: str) -> str:
    return f"{mark} reads {text}."


@sentence("reading open", "inferred", 4)
def reading_open(*, mark: str, readings: Sequence[tuple[str, float]]) -> Told:
    both = "both" if len(readings) == 2 else "all"
    return Told(
        f"{mark} reads {shares_words(readings)}: not determined, {both} printed.", NOT_DETERMINED
    )


@sentence("reading likely", "inferred", 4)
def reading_likely(*, mark: str, word: str, readings: Sequence[tuple[str, float]]) -> Told:
    return Told(f"{mark} {word} reads {shares_words(readings)}; no reading is dropped.", word)


def reading(
    statement: str, grounds: Grounds, *, mark: str, readings: Sequence[tuple[str, float]]
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
            where=statement,
            remedy="Say that it is illegible, absent or not looked at.",
        )
    if len(readings) == 1:
        return reading_single(statement, grounds, mark=mark, text=readings[0][0])
    # a reading settled by the other evidence would soon be quoted as evidence of its own
    best = max(p for _, p in readings)
    word = probability_word(best) if best >= READING_MIN else NOT_DETERMINED
    if word == NOT_DETERMINED:
        return reading_open(statement, grounds, mark=mark, readings=readings)
    return reading_likely(statement, grounds, mark=mark, word=word, readings=readings)


@sentence("surprise", "inferred", 10)
def surprise(*, observation: str, mid_p: float) -> str:
    """Call out an observation that the rest did not lead one to expect.

    Parameters
    ----------
    mid_p
        Predictive probability of outcomes no likelier than the one seen, half of ties, 0 to 1;
        below ``SURPRISING``.
    """
    once_in = "more than 1000" if mid_p < 0.001 else f"{round(1 / mid_p, -1):.0f}"
    return (
        f"{observation} sits badly with the rest: an outcome this unusual was expected about once "
        f"in {once_in} such instruments."
    )
