"""What to look at next, what it would tell, and when to stop.

A gain is an expectation, not a promise, and is told in what it would change: the width of the
printed range, the words about a part. What an option would look at stands beside
its sentences (rule 2). Nothing here computes a gain or judges whether it is worth its cost.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.errors import InputError
from heelstamp.wording.sentences import agreement, counted, listed, sentence
from heelstamp.wording.strength import percent

MOST_NAMED = 4
"""Parts named in one sentence; the rest are counted."""


def months_told(months: float) -> str:
    """Write a width of a range: whole months, never none."""
    return counted(max(1, round(months)), "month")


def range_told(before: float, after: float) -> str:
    """Write a width now and as expected: ``12 → 6 months``, or that it stays."""
    now, then = max(1, round(before)), max(1, round(after))
    return "as wide" if now == then else f"{now} → {months_told(after)}"


def bits_told(bits: float, error: float | None = None) -> str:
    """Write a gain: two decimals of a bit, with the standard error of a drawn one."""
    shown = abs(round(bits, 2)) if abs(bits) < 0.005 else round(bits, 2)
    return f"{shown:.2f} bit" if error is None else f"{shown:.2f} ± {error:.2f} bit"


def fall_told(fall: float, unit: str) -> str:
    """Write a fall of money with its unit; from ten on no expectation is known to the cent."""
    return f"{fall:,.0f} {unit}" if fall >= 10 else f"{fall:,.2f} {unit}"


def _chance(value: float) -> str:
    return percent(min(1.0, max(0.0, value)))


@sentence("gain in range", "inferred", 2)
def range_gain(
    *, before: float, after: float, bits: float, error: float | None, chance: float
) -> str:
    """What an inspection is expected to do to the printed range.

    Parameters
    ----------
    before, after
        Width of the 90 % range now, and expected afterwards, in months with both ends counted.
    bits, error
        Expected gain, and its standard error when outcomes were drawn.
    chance
        P(either end of the printed range moves).
    """
    now, then = months_told(before), months_told(after)
    return (
        f"The 90 % range of completion, now {now}, is expected to be about "
        f"{'as wide' if now == then else then} ({bits_told(bits, error)} on the date); its ends "
        f"move with a chance of {_chance(chance)}."
    )


@sentence("gain in part", "inferred", 2)
def part_gain(*, part: str, bits: float, error: float | None, chance: float) -> str:
    return (
        f"It tells of the {part}: {bits_told(bits, error)} expected, and what is said of "
        f"{agreement(part).them} changes with a chance of {_chance(chance)}."
    )


@sentence("gain in money", "inferred", 13)
def money_gain(*, fall: str) -> str:
    """What an inspection is expected to do to the spread of a price; *fall* has its unit."""
    return f"What is open about the price is expected to fall by {fall}."


@sentence("gain in regret", "inferred", 13)
def regret_gain(*, fall: str) -> str:
    """What an inspection is expected to spare a seller; *fall* has its unit."""
    return f"What a seller loses by asking too much or too little is expected to fall by {fall}."


@sentence("first look", "inferred", 2)
def first_look(*, parts: Sequence[str]) -> str:
    """Parts of which nothing was looked at so far.

    Raises
    ------
    InputError
        There is none.
    """
    if not parts:
        raise InputError("a first look at nothing", remedy="Name a part.")
    named = list(parts[:MOST_NAMED])
    if len(parts) > MOST_NAMED:
        named.append(counted(len(parts) - MOST_NAMED, "more part"))
    return f"It would be the first look at the {listed(named)}."


@sentence("no decision", "inferred", 2)
def no_decision() -> str:
    return "No decision depends on it: the expected gain is zero, as far as printed."


@sentence("gain without date", "opinion", 2)
def date_withheld() -> str:
    return (
        "The completion date is withheld, so gains on it do not count here: look at what would "
        "settle which parts belong together."
    )


@sentence("refused", "opinion", 14)
def refused(*, acts: Sequence[str]) -> str:
    return f"The owner refused: {listed(list(acts))}. It is not done."


@sentence("ask", "opinion", 14)
def ask(*, acts: Sequence[str]) -> str:
    return f"Ask the owner first, and log the answer: {listed(list(acts))}."


@sentence("stop rule", "opinion", 14)
def stopped(*, act: str, why: str, instead: str, consequence: str) -> str:
    """Refuse an act by a stop rule: why, what may be said instead, what follows at the bench."""
    return f"Not done: {act}, because {why}. To be said instead: “{instead}” {consequence}"


@sentence("first opening", "opinion", 14)
def first_opening(*, openings: Sequence[str]) -> str:
    return (
        f"The first opening ({listed(list(openings))}) spends evidence that no later examiner can "
        "see. Photograph every screw head, joint and edge before the first screw turns."
    )


@sentence("caution", "opinion", 14)
def caution(*, text: str) -> str:
    return text


@sentence("do next", "opinion", 2)
def do_next(*, inspection: str, level: int, minutes: float) -> str:
    about = counted(max(1, round(minutes)), "minute")
    return f"Next: {inspection}; level {level}, about {about}."


@sentence("stop: nothing left", "opinion", 2)
def nothing_left() -> str:
    return (
        "Stop. Nothing that may still be done is expected to move the range by a month or to "
        "change what is said of a part."
    )


@sentence("stop: all seen", "opinion", 2)
def all_seen() -> str:
    return "Stop. All that the chronology lists below level 4 has been looked at."


@sentence("stop: consent", "opinion", 2)
def waits_for_consent() -> str:
    return "Stop. What is left waits for the owner's word, or the owner refused it."
