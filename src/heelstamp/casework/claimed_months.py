"""The months that words such as 'about 1964' or 'mid-1960s' claim.

Read are years of four digits from 1900 on, an apostrophe and two digits ('64: the twentieth
century), a month before a year, two years as a span, and decades with *early*, *mid* and *late*
(years 0 to 3, 4 to 6, 7 to 9; common practice, no source). *About* and its kin widen a year by one
on either side.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from heelstamp.units import Period
from heelstamp.units.months import MONTH_NAMES, MONTHS_A_YEAR

_THIRDS = {"early": (0, 3), "mid": (4, 6), "late": (7, 9)}
_ABOUT = re.compile(
    r"\b(?:about|around|approximately|approx\.?|circa|ca\.?|c\.?|roughly)\s*$", re.IGNORECASE
)
_DECADE = re.compile(
    r"\b(?:(early|mid|late)(?:dle)?[\s-]*)?(?:the\s+)?(?:(19\d|20\d)0|['’](\d)0)['’]?s\b",
    re.IGNORECASE,
)
_YEAR = r"(?:(?P<{0}>(?:19|20)\d\d)|['’](?P<{0}s>\d\d))"
_SPAN = re.compile(
    rf"(?<![\w-]){_YEAR.format('a')}(?:\s*(?:-|–|—|to|and|or|/)\s*"
    rf"(?:{_YEAR.format('b')}|(?P<bb>\d\d)))?(?![\w-])"
)
_MONTH = re.compile(rf"\b({'|'.join(MONTH_NAMES)})[a-z]*\.?,?\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Claimed:
    """A claimed period, and the wider one that *about* allows; equal where it was not said."""

    period: Period
    about: Period


def claimed_months(text: str) -> Claimed | None:
    """Read the months that a claim names; None where it names none, or several that differ.

    Examples
    --------
    >>> str(claimed_months("about 1964").about)
    'Jan 1963 to Dec 1965'
    >>> claimed_months("bought 1972, made 1965") is None
    True
    """
    found = [*_decades(text), *_years(_DECADE.sub(" ", text))]
    return found[0] if found and all(one == found[0] for one in found) else None


def _decades(text: str) -> list[Claimed]:
    found = []
    for hit in _DECADE.finditer(text):
        decade = int(hit[2]) * 10 if hit[2] else 1900 + 10 * int(hit[3])
        first, last = _THIRDS.get((hit[1] or "").lower(), (0, 9))
        period = _whole_years(decade + first, decade + last)
        found.append(Claimed(period, period))
    return found


def _years(text: str) -> list[Claimed]:
    found = []
    for hit in _SPAN.finditer(text):
        first = int(hit["a"] or 1900 + int(hit["as"]))
        last = first
        if hit["b"] or hit["bs"] or hit["bb"]:
            last = int(hit["b"] or first // 100 * 100 + int(hit["bs"] or hit["bb"]))
        if last < first:
            continue
        before = text[: hit.start()]
        month = _MONTH.search(before)
        if month is not None and first == last:
            number = [name.lower() for name in MONTH_NAMES].index(month[1].lower())
            period = Period(first * MONTHS_A_YEAR + number, first * MONTHS_A_YEAR + number)
            before = before[: month.start()]
        else:
            period = _whole_years(first, last)
        wide = MONTHS_A_YEAR if _ABOUT.search(before) else 0
        found.append(Claimed(period, Period(period.first - wide, period.last + wide)))
    return found


def _whole_years(first: int, last: int) -> Period:
    return Period(first * MONTHS_A_YEAR, last * MONTHS_A_YEAR + MONTHS_A_YEAR - 1)
