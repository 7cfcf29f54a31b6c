"""What turns over when one table of the model is changed: *not settled*.

A statement that does not hold under every change is *not settled*, whatever its probability; that
word goes before *probably* and *very probably* (rule 4), and the sentence says what would be said
as the tables stand, and under which change it falls. Nothing here judges whether it holds.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.units import Month, Period, name_month
from heelstamp.wording.about_dates import likeliest_words, reasons_words, shares_words, span_of
from heelstamp.wording.about_parts import with_figures
from heelstamp.wording.sentences import Told, agreement, listed, sentence

NOT_SETTLED = "not settled"

TURNS_MOST = 3
"""Changes named in one sentence; the rest are counted."""

Turns = Sequence[tuple[str, str]]
"""Changes as :func:`assumption_words` names them, and what is said instead under each."""


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
    if name == "flat prior":
        return "every month is as likely beforehand"
    if name == "left over" and factor == 0:
        return "nothing is left-over stock"
    times = {0.5: "half as", 2.0: "twice as", 3.0: "three times as"}.get(
        factor, f"{factor:g} times as"
    )
    told = {
        "errors": "{} many observations are mistaken",
        "disturbed": "instruments were opened {} often",
        "careful": "{} many hands left no trace",
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
def range_of_ranges(*, count: int, lower: Period, upper: Period) -> str:
    """Between which months the ends of the 90 % range move."""

    def told(ends: Period) -> str:
        if ends.first == ends.last:
            return f"in {name_month(ends.first)} each time"
        return f"between {name_month(ends.first)} and {name_month(ends.last)}"

    return (
        f"With one assumption changed at a time ({count} changes, listed below) the 90 % range "
        f"begins {told(lower)} and ends {told(upper)}."
    )


@sentence("settled", "inferred", 4)
def settled() -> str:
    return "No word about a part, a reading or the date turns over under any of these changes."


@sentence("turns over", "inferred", 4)
def turns_over(*, subjects: Sequence[str]) -> Told:
    """What turns over, noun phrases."""
    return Told(
        f"Not settled, for another assumption leads to other words: {listed(list(subjects))}.",
        NOT_SETTLED,
    )


@sentence("part not settled", "inferred", 4)
def part_not_settled(*, part: str, verdict: str, posterior: str, prior: str, turns: Turns) -> Told:
    """A part whose state is not settled, with what the tables as they stand give.

    Parameters
    ----------
    verdict, posterior, prior
        As the row of the part has them: 'probably original', '81 %', '93 %'.
    """
    words = agreement(part)
    return with_figures(
        lambda figures: (
            f"Whether the {part} {words.was} fitted first is not settled. With the tables as they "
            f"stand {words.it} would be called {verdict}{figures}; that does not hold "
            f"{turns_words(turns)}."
        ),
        posterior,
        prior,
        NOT_SETTLED,
    )


@sentence("finish not settled", "inferred", 4)
def finish_not_settled(*, verdict: str, posterior: str, prior: str, turns: Turns) -> Told:
    return with_figures(
        lambda figures: (
            "The history of the finish is not settled. With the tables as they stand it would be "
            f"called {verdict}{figures}; that does not hold {turns_words(turns)}."
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
        f"As the tables stand, completed between {name_month(span.first)} and "
        f"{name_month(span.last)} ({mass}), {likeliest_words(named)}; marks are lower bounds for "
        f"parts that are original. This is not settled: {turns_words(turns)}.",
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
