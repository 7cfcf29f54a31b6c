"""Sentences about what turns over when one table of the model is changed: *not settled*.

A statement that does not hold under every change is *not settled*, whatever its probability; that
word goes before *probably* and *very probably* (rule 4), and the sentence says what would be said
as the tables stand, and under which change it falls. Nothing here judges whether it holds.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.units import Month, Period, name_month
from heelstamp.wording.about_dates import span_of
from heelstamp.wording.sentences import Grounds, Statement, agreement, listed, write
from heelstamp.wording.strength import percent

NOT_SETTLED = "not settled"

TURNS_MOST = 3
"""Changes named in one sentence; the rest are counted."""


def assumption_words(name: str, factor: float) -> str:
    """Name one change of the tables, to follow 'when'.

    Examples
    --------
    >>> assumption_words("lag", 0.5)
    'lags are half as long'
    >>> assumption_words("matched", 0.75)
    '75 % of replacements match in date'
    """
    if name == "matched" and factor == 0:
        return "no replacement was chosen to match in date"
    if name == "matched":
        return f"{factor:.0%}".replace("%", " %") + " of replacements match in date"
    if name == "flat prior":
        return "every month is as likely beforehand"
    if name == "left over" and factor == 0:
        return "nothing is left-over stock"
    times = {0.5: "half as", 2.0: "twice as", 3.0: "three times as"}.get(
        factor, f"{factor:g} times as"
    )
    told = {
        "errors": "{} many observations are mistaken",
        "disturbed": "assemblies were disturbed {} often",
        "lag": "lags are {} long",
        "left over": "{} much is left-over stock",
        "serial scale": "serial numbers scatter {} widely",
    }
    return told[name].format(times)


def turns_words(turns: Sequence[tuple[str, str]]) -> str:
    """Write under which changes a statement falls, and what is said then.

    Parameters
    ----------
    turns
        (change as ``assumption_words`` gives it, what is said instead).
    """
    told = [f"when {change} (then: {verdict})" for change, verdict in turns[:TURNS_MOST]]
    left = len(turns) - TURNS_MOST
    if left > 0:
        told.append(f"under {left} more change{'s' if left > 1 else ''}")
    return listed(told, "or")


def range_of_ranges(
    statement_id: str, *, count: int, lower: Period, upper: Period, grounds: Grounds
) -> Statement:
    """Say between which months the ends of the 90 % range move."""

    def told(ends: Period) -> str:
        if ends.first == ends.last:
            return f"in {name_month(ends.first)} each time"
        return f"between {name_month(ends.first)} and {name_month(ends.last)}"

    return write(
        "range of ranges",
        statement_id,
        grounds,
        count=str(count),
        lower=told(lower),
        upper=told(upper),
    )


def settled(statement_id: str, *, subjects: Sequence[str], grounds: Grounds) -> Statement:
    """Name what turns over (noun phrases), or say that nothing does."""
    if not subjects:
        return write("settled", statement_id, grounds)
    return write(
        "turns over", statement_id, grounds, strength=NOT_SETTLED, subjects=listed(list(subjects))
    )


def part_not_settled(
    statement_id: str,
    *,
    part: str,
    verdict: str,
    posterior: str,
    prior: str,
    turns: Sequence[tuple[str, str]],
    grounds: Grounds,
    coating: bool = False,
) -> Statement:
    """Say that the state of a part is not settled, with what the tables as they stand give.

    Parameters
    ----------
    verdict, posterior, prior
        As the row of the part has them: 'probably original', '81 %', '93 %'.
    coating
        The part is the coating, whose states are those of a finish.
    """
    gaps = {} if coating else {"part": part, **agreement(part)}
    return write(
        "finish not settled" if coating else "part not settled",
        statement_id,
        grounds,
        strength=NOT_SETTLED,
        verdict=verdict,
        posterior=posterior,
        prior=prior,
        turns=turns_words(turns),
        **gaps,
    )


def completion_not_settled(
    statement_id: str,
    *,
    interval_90: Period,
    likeliest: Month | None,
    turns: Sequence[tuple[str, str]],
    grounds: Grounds,
) -> Statement:
    """Give the range of completion, and that it does not stand under every change (rule 8)."""
    span, mass = span_of(interval_90)
    named = likeliest is not None and likeliest in span
    return write(
        "completion not settled",
        statement_id,
        grounds,
        strength=NOT_SETTLED,
        first=name_month(span.first),
        last=name_month(span.last),
        mass=mass,
        likeliest=f"most likely {name_month(likeliest)}"
        if likeliest is not None and named
        else "no month standing out",
        turns=turns_words(turns),
    )


def withheld_not_settled(
    statement_id: str, *, reasons: Sequence[str], turns: Sequence[tuple[str, str]], grounds: Grounds
) -> Statement:
    """Say that no date is given, and that one would be under another table."""
    return write(
        "withheld not settled",
        statement_id,
        grounds,
        strength=NOT_SETTLED,
        reasons=" ".join(reason.strip().rstrip(".") + "." for reason in reasons),
        turns=listed([f"when {change}" for change, _ in turns[:TURNS_MOST]], "or"),
    )


def reading_not_settled(
    statement_id: str,
    *,
    mark: str,
    readings: Sequence[tuple[str, float]],
    turns: Sequence[tuple[str, str]],
    grounds: Grounds,
) -> Statement:
    """Print every reading of a mark whose likely reading does not stand under every change."""
    ordered = sorted(readings, key=lambda one: (-one[1], one[0]))
    return write(
        "reading not settled",
        statement_id,
        grounds,
        strength=NOT_SETTLED,
        mark=mark,
        readings=listed([f"{text} ({percent(p)})" for text, p in ordered], "or"),
        all_of_them="both" if len(ordered) == 2 else "all",
        turns=turns_words(turns),
    )
