"""Numbers that one number may be mistaken for: digits that look alike when stamped or worn.

Which characters are taken for which (0/8, 1/7, 3/8 and so on) is common practice, no source.
Spaces, dots, hyphens and case do not count; ``?`` in the number that was read stands for any one
character. Two numbers of unlike length are never near: a lost digit is not a misread one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

ALIKE: tuple[str, ...] = (
    "08",
    "06",
    "0O",
    "0D",
    "0Q",
    "17",
    "1I",
    "1L",
    "14",
    "38",
    "35",
    "56",
    "68",
    "5S",
    "8B",
    "49",
    "2Z",
    "27",
    "89",
    "9G",
    "6G",
)
"""Pairs of characters that are taken for each other."""

MOST_MISREAD = 2
UNREADABLE = "?"

_PAIRS = frozenset(pair for one in ALIKE for pair in (one, one[::-1]))
_DROPPED = str.maketrans("", "", " .-–/\u00a0")


@dataclass(frozen=True, slots=True)
class NearNumber:
    """A number of a list that another may be.

    Attributes
    ----------
    misread
        How many characters would have to be misread; 0 when the two are the same.
    places
        Which ones: position from one, read, listed.
    """

    number: str
    misread: int
    places: tuple[tuple[int, str, str], ...]


def bare_number(text: str) -> str:
    """A number as it is compared."""
    return text.translate(_DROPPED).upper()


def near_numbers(
    read: str, listed: Iterable[str], *, most: int = MOST_MISREAD
) -> tuple[NearNumber, ...]:
    """The listed numbers that *read* is or may be, the nearest first.

    Examples
    --------
    >>> [one.number for one in near_numbers("S10350", ["S18350", "S10351", "s 10350"])]
    ['s 10350', 'S18350']
    """
    mine = bare_number(read)
    found = []
    for number in listed:
        theirs = bare_number(number)
        if len(theirs) != len(mine) or not theirs:
            continue
        places: list[tuple[int, str, str]] = []
        for place, (a, b) in enumerate(zip(mine, theirs, strict=True), start=1):
            if a not in (b, UNREADABLE) and b != UNREADABLE:
                places.append((place, a, b))
                if len(places) > most or a + b not in _PAIRS:
                    break
        else:
            found.append(NearNumber(number, len(places), tuple(places)))
    return tuple(sorted(found, key=lambda one: one.misread))
