"""Characters that could not be read: ``?`` stands for any one character, or for none.

An examiner writes ``?`` where something was or may have been. Matching therefore lets each ``?``
be a character that the rule wants there (no cost: the sum over the completions is taken by the
caller), or a separator, a scratch or nothing at all (one *smudge*). Because a ``?`` can be
whatever stood there before, putting one in place of any character, or between any two, never
takes a reading away. Search is by sets of states, so that a text full of ``?`` costs no more than
its length times the number of distinct partial readings.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from operator import contains

UNREADABLE = "?"
DIGITS = "0123456789"

LONGEST_RUN = 16
"""Longest run of ``?`` that is told from a longer one: no rule takes more characters than this
(the longest are day, month name, year and letter), so a longer run adds smudges, no reading."""


def without_long_runs(text: str) -> str:
    """Shorten each run of ``?`` to the longest that matters."""
    return re.sub(rf"\?{{{LONGEST_RUN},}}", UNREADABLE * LONGEST_RUN, text)


def spell(text: str, start: int, slots: Sequence[str]) -> dict[tuple[str, int], int]:
    """Match *slots*, one after the other, from *start*.

    Parameters
    ----------
    text
        The mark.
    start
        Index of the character that fills the first slot.
    slots
        For each slot the characters that may fill it.

    Returns
    -------
    dict
        (characters taken, index after them) → fewest ``?`` passed over between them.
    """
    end = start + len(slots)
    piece = text[start:end]
    if UNREADABLE not in piece:  # nothing to pass over: one way, or none
        fits = len(piece) == len(slots) and all(map(contains, slots, piece))
        return {(piece, end): 0} if fits else {}
    states = {("", start): 0}
    for number, allowed in enumerate(slots):
        reached: dict[tuple[str, int], int] = {}
        for (taken, place), smudges in states.items():
            here, passed = place, smudges
            while here < len(text):
                character = text[here]
                if character == UNREADABLE or character in allowed:
                    keep_least(reached, (taken + character, here + 1), passed)
                if character != UNREADABLE or number == 0:
                    break
                here, passed = here + 1, passed + 1
        states = reached
    return states


def gaps(text: str, start: int, separators: str) -> Iterator[tuple[int, bool, int]]:
    """Every way to pass over separators from *start*.

    Yields
    ------
    tuple
        Index after the gap, whether anything was passed over, how many ``?`` were.
    """
    smudges = 0
    yield start, False, 0
    for place in range(start, len(text)):
        if text[place] == UNREADABLE:
            smudges += 1
        elif text[place] not in separators:
            return
        yield place + 1, True, smudges


def keep_least(table: dict[tuple[str, int], int], key: tuple[str, int], value: int) -> None:
    """Set *key* to *value* unless it already holds less."""
    if table.get(key, value) >= value:
        table[key] = value


def agrees(pattern: str, word: str) -> bool:
    """Tell whether *word* is a completion of *pattern*.

    Examples
    --------
    >>> agrees("1?7", "137"), agrees("1?7", "138"), agrees("?", "12")
    (True, False, False)
    """
    return len(pattern) == len(word) and all(
        one in (UNREADABLE, other) for one, other in zip(pattern, word, strict=True)
    )


def completions_below(pattern: str, bound: int) -> int:
    """Count the whole numbers below *bound* that complete a pattern of digits and ``?``.

    Examples
    --------
    >>> completions_below("1?", 15), completions_below("??", 100), completions_below("7", 7)
    (5, 100, 0)
    """
    if bound <= 0:
        return 0
    edge = str(bound).zfill(len(pattern))
    if len(edge) > len(pattern):
        return int(10 ** pattern.count(UNREADABLE))
    count = 0
    for place, (character, limit) in enumerate(zip(pattern, edge, strict=True)):
        rest = int(10 ** pattern.count(UNREADABLE, place + 1))
        if character == UNREADABLE:
            count += int(limit) * rest
        elif character != limit:
            return count + (rest if character < limit else 0)
    return count
