"""What turns over when one table of the model is changed: a lower word, or *not settled*.

The word that is printed holds under every change. Where *very probably* comes down to *probably*
under one of them, *probably* is printed and the sentence says when; where none about *a later
replacement* holds but one about *a replacement* does, that is printed; where no word of probability
holds under every change the statement is *not settled*, whatever its probability, and the sentence
says what the evidence gives by itself and under which change that falls (rule 4). Nothing here
judges whether it holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from heelstamp.units import Month, Period, name_month
from heelstamp.wording.about_dates import (
    MARKS_DATE_PARTS,
    likeliest_words,
    reasons_words,
    shares_words,
    span_of,
)
from heelstamp.wording.about_parts import with_figures
from heelstamp.wording.sentences import Statement, Told, agreement, listed, sentence
from heelstamp.wording.strength import percent

NOT_SETTLED = "not settled"

TURNS_MOST = 3
"""Changes named in one sentence; the rest are counted."""

Turns = Sequence[tuple[str, str]]
"""Changes as :func:`assumption_words` names them, and what is said instead under each."""


_WITHOUT_FACTOR = {
    "flat prior": "every month is as likely beforehand",
    "readings": "every reading of a mark is as good as its rivals",
    "volume": "as many were made in every month of production",
}


def assumption_words(name: str, factor: float) -> str:
    """Name one change of the tables, to follow 'when'.

    Examples
    --------
    >>> assumption_words("lag", 0.5)
    'delays are half as long'
    >>> assumption_words("matched", 0.75)
    'three quarters of replacements match in date'
    """
    if name == "matched" and factor == 0:
        return "no replacement was chosen to match in date"
    if name == "matched":
        share = {0.25: "a quarter", 0.5: "half", 0.75: "three quarters"}.get(factor)
        return f"{share or f'{100 * factor:.0f} %'} of replacements match in date"
    if name == "left over" and factor == 0:
        return "nothing is left-over stock"
    if name in _WITHOUT_FACTOR:
        return _WITHOUT_FACTOR[name]
    times = {0.5: "half as", 2.0: "twice as", 3.0: "three times as"}.get(
        factor, f"{factor:g} times as"
    )
    told = {
        "errors": "{} many observations are mistaken",
        "disturbed": "parts were worked on {} often",
        "careful": "a hand that leaves no trace is {} common",
        "kept": "instruments of which little was touched are {} common",
        "assembled": "instruments put together from several are {} common",
        "along": "one act brings others with it {} often",
        "tightened": "screws were only tightened {} often",
        "lag": "delays are {} long",
        "left over": "{} much is left-over stock",
        "serial scale": "serial numbers scatter {} widely",
    }
    return told[name].format(times)


def turns_words(turns: Turns) -> str:
    """Write under which changes a statement falls, and what is said then."""
    told = [f"when {change} (then: {verdict})" for change, verdict in turns[:TURNS_MOST]]
    left = len(turns) - TURNS_MOST
    if left > 0:
        told.append(f"under {left} more change{'s' if left > 1 else ''}")
    return listed(told, "or")


@sentence("range of ranges", "inferred", 4)
def range_of_ranges(
    *, count: int, lower: Period, upper: Period, likeliest: Period, least: float | None
) -> str:
    """Between which months the ends of the 90 % range move, and the likeliest month.

    *least* is the least probability of the range as printed; None where none is printed.
    """

    def told(ends: Period) -> str:
        if ends.first == ends.last:
            return f"in {name_month(ends.first)} each time"
        return f"between {name_month(ends.first)} and {name_month(ends.last)}"

    held = "" if least is None else f" The range as printed then holds {percent(least)} or more."
    return (
        f"With one assumption changed at a time ({count} changes, listed below) the 90 % range "
        f"begins {told(lower)} and ends {told(upper)}; the likeliest month lies {told(likeliest)}."
        f"{held}"
    )


@sentence("range holds", "inferred", 8)
def range_holds(*, least: float) -> str:
    """How likely the printed range is under the change that bears it out least."""
    return f"With any one assumption changed the range holds {percent(least)} or more."


@sentence("settled", "inferred", 4)
def settled() -> str:
    return "Every word about a part, a reading or the date, as printed, holds under each change."


@sentence("turns over", "inferred", 4)
def turns_over(*, subjects: Sequence[str]) -> Told:
    """What turns over, noun phrases."""
    return Told(
        f"Not settled, for another assumption leads to other words: {listed(list(subjects))}.",
        NOT_SETTLED,
    )


@sentence("lower words", "inferred", 4)
def lower_words(*, subjects: Sequence[str]) -> str:
    """Of which parts a lower word is printed than was computed, noun phrases."""
    return (
        "Words that claim less are printed where another assumption does not bear out the "
        "stronger ones: "
        f"{listed(list(subjects))}."
    )


@sentence("lower word", "inferred", 4)
def lower_word(*, computed: str, turns: Turns) -> str:
    """Under which changes the word that was computed falls, to follow the lower one."""
    return f"By itself the evidence gives “{computed}”; that does not hold {turns_words(turns)}."


def lowered(statement: Statement, word: str, turns: Turns, computed: str) -> Statement:
    """Return a statement with the lower word that holds under every change, and why.

    The plain form says the word alone: the why stands in the table of parts.

    Parameters
    ----------
    statement
        As computed, with its word of probability as its strength.
    word
        The word that holds.
    computed
        What the evidence gives by itself: a word, or a word and a verdict that says more.
    """
    why = lower_word.say(computed=computed, turns=turns)
    text, plain = (
        one.replace(statement.strength, word, 1) for one in (statement.text, statement.plain)
    )
    return replace(statement, text=f"{text} {why}", plain=plain, strength=word)


@sentence("part not settled", "inferred", 4)
def part_not_settled(*, part: str, verdict: str, posterior: str, prior: str, turns: Turns) -> Told:
    """A part whose state is not settled, with what the evidence gives before any change.

    Parameters
    ----------
    verdict, posterior, prior
        As the row of the part has them: 'probably original', '81 %', '93 %'.
    """
    words = agreement(part)
    return with_figures(
        lambda figures: (
            f"Whether the {part} {words.was} fitted first is not settled. What was seen makes "
            f"{words.them} {verdict}{figures}, but that does not hold {turns_words(turns)}."
        ),
        posterior,
        prior,
        NOT_SETTLED,
    )


@sentence("finish not settled", "inferred", 4)
def finish_not_settled(*, verdict: str, posterior: str, prior: str, turns: Turns) -> Told:
    return with_figures(
        lambda figures: (
            f"The history of the finish is not settled. What was seen makes it {verdict}{figures}, "
            f"but that does not hold {turns_words(turns)}."
        ),
        posterior,
        prior,
        NOT_SETTLED,
    )


@sentence("completion not settled", "inferred", 8)
def completion_not_settled(*, interval_90: Period, likeliest: Month | None, turns: Turns) -> Told:
    """The range of completion, and that it does not stand under every change (rule 8)."""
    span, mass = span_of(interval_90)
    named = likeliest if likeliest is not None and likeliest in span else None
    return Told(
        f"Completed between {name_month(span.first)} and {name_month(span.last)} ({mass}), "
        f"{likeliest_words(named)}; {MARKS_DATE_PARTS}. This is not settled; it does not hold "
        f"{turns_words(turns)}.",
        NOT_SETTLED,
    )


@sentence("withheld not settled", "inferred", 8)
def withheld_not_settled(*, reasons: Sequence[str], turns: Turns) -> Told:
    """That no date is given, and that one would be under another table."""
    told = listed([f"when {change}" for change, _ in turns[:TURNS_MOST]], "or")
    return Told(
        f"No completion date is given for the whole instrument: {reasons_words(reasons)} This is "
        f"not settled: a date would be given {told}.",
        NOT_SETTLED,
    )


@sentence("reading not settled", "inferred", 4)
def reading_not_settled(*, mark: str, readings: Sequence[tuple[str, float]], turns: Turns) -> Told:
    """Every reading of a mark whose likely reading does not stand under every change."""
    both = "both" if len(readings) == 2 else "all"
    return Told(
        f"{mark} reads {shares_words(readings)}: not settled, {both} printed. What the other "
        f"evidence bears out does not hold {turns_words(turns)}.",
        NOT_SETTLED,
    )
