"""By what a number is looked for among many: its three thirds, one of which no misreading touched.

Two numbers of one length that differ in at most two characters (`misread.MOST_MISREAD`) have at
least one third in common, letter for letter (pigeonhole principle). Which of those found may really
be taken for each other is then told by `misread.near_numbers`.
"""

from __future__ import annotations

import itertools

from heelstamp.marks.misread import MOST_MISREAD, UNREADABLE, bare_number

THIRDS = MOST_MISREAD + 1


def thirds(number: str) -> tuple[str, ...]:
    """The thirds of a number as it is compared, each behind the length of the whole.

    Examples
    --------
    >>> thirds("s 10350")
    ('6:S1', '6:03', '6:50')
    """
    bare = bare_number(number)
    cuts = [len(bare) * one // THIRDS for one in range(THIRDS + 1)]
    return tuple(f"{len(bare)}:{bare[a:b]}" for a, b in itertools.pairwise(cuts))


def has_unread(number: str) -> bool:
    """Whether some character was not read, so that thirds cannot tell what it may be."""
    return UNREADABLE in number
