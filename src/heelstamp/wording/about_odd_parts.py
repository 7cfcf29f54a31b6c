"""Odd ones in a set: what was seen, how often it is met, what it is worth."""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import counted, listed, sentence
from heelstamp.wording.strength import percent


@sentence("odd parts: alike", "seen", 9)
def alike(*, part: str, looked: int, usual: str) -> str:
    return f"{part.capitalize()}: {looked} looked at, all alike ({quoted(usual)})."


@sentence("odd parts: odd", "seen", 9)
def odd(*, part: str, looked: int, odd: Sequence[tuple[str, str]], usual: str) -> str:
    """A set with what is unlike the most frequent of it."""
    told = listed([f"{name} ({quoted(like)})" for name, like in odd])
    return (
        f"{part.capitalize()}: {len(odd)} of {looked} differ from the rest: {told}; "
        f"the others are {quoted(usual)}."
    )


@sentence("odd parts: rate", "inferred", 10)
def rate(*, odd: int, of: int, low: float, high: float, first: str, last: str) -> str:
    """How often the census met it; *first* and *last* are empty where all of it counts."""
    if not of:
        return (
            "The census holds no instrument of which the same set was looked over: how often one "
            "differs is not known, and it may be the maker's own mixture as well as a repair."
        )
    when = f" completed between {first} and {last}" if first else ""
    return (
        f"Of {counted(of, 'instrument')} of this maker{when} whose same set was looked over, "
        f"{odd} held an odd one: a share between {percent(low)} and {percent(high)} (90 %). "
        "An odd one by itself does not tell a repair from the maker's own mixture."
    )


@sentence("odd parts: materiality", "opinion", 13)
def materiality(*, word: str) -> str:
    """What a changed one is worth: high, low or none."""
    return {
        "high": "To the price a changed one matters much.",
        "low": "To the price a changed one matters little.",
        "none": "The price model knows no effect of a changed one.",
    }[word]
