"""Weeks of the source-date code, as days and as shares of months.

The code's weeks run Sunday to Saturday: the standards body's page gives week 10 of 1999 as
7-13 March [ecia_source_codes]. Counting back, week 1 of 1999 is 3-9 January; taking week 1 as the
Sunday week that holds 4 January agrees with that and with every dated example. It is not ISO 8601
(whose week 10 of 1999 is 8-14 March). No source gives the rule before 1999, so a week before 1999
may be one week early or late.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from heelstamp.units import Month

LAST_WEEK = 53
"""Highest week number of the code [ecia_source_codes]."""
ANCHOR_YEAR = 1999
"""First year whose weeks a source fixes [ecia_source_codes]."""
WEEK_DAYS = 7
MONTHS_A_YEAR = 12


def week_days(year: int, week: int) -> tuple[date, date]:
    """The Sunday and the Saturday of *week* of *year*.

    Examples
    --------
    >>> [day.isoformat() for day in week_days(1999, 10)]
    ['1999-03-07', '1999-03-13']
    """
    fourth = date(year, 1, 4)
    sunday = fourth.toordinal() - fourth.isoweekday() % WEEK_DAYS + WEEK_DAYS * (week - 1)
    return date.fromordinal(sunday), date.fromordinal(sunday + WEEK_DAYS - 1)


@lru_cache(maxsize=8192)
def month_shares(year: int, week: int, neighbour: float) -> tuple[tuple[Month, float], ...]:
    """Split one week over months by its days.

    Parameters
    ----------
    year, week
        As marked.
    neighbour
        Share given to each of the weeks before and after it when *year* is before 1999.

    Returns
    -------
    tuple
        (month, share) in order; shares add to 1. Month length (28 to 31 days) is left out of the
        likelihood: it changes a weight by at most 8 %, less than the week rule's own doubt.
    """
    before = neighbour if year < ANCHOR_YEAR else 0.0
    shares: dict[Month, float] = {}
    sunday = week_days(year, week)[0].toordinal()
    for shift, weight in ((-1, before), (0, 1.0 - 2.0 * before), (1, before)):
        if weight == 0.0:
            continue
        for day in range(WEEK_DAYS):
            on = date.fromordinal(sunday + WEEK_DAYS * shift + day)
            month = MONTHS_A_YEAR * on.year + on.month - 1
            shares[month] = shares.get(month, 0.0) + weight / WEEK_DAYS
    return tuple(sorted(shares.items()))
