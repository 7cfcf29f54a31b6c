"""Sentences about the census, what was learned from it, whether ranges held, and what moved.

Nothing here counts anything; numbers come from ``casework.census``. That a range held is told with
what the number of instruments alone allows, and never as praise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.wording.sentences import NO_GROUNDS, Statement, listed, write
from heelstamp.wording.strength import percent


def census_added(
    statement_id: str, *, count: int, chronology: str, total: int, teaching: int
) -> Statement:
    """Tell what was added to a census, and how many of it may teach."""
    silent = "" if teaching == count else " Instruments dated by their features only never teach."
    return write(
        "census added",
        statement_id,
        NO_GROUNDS,
        count=str(count),
        chronology=chronology,
        total=str(total),
        teaching=str(teaching),
        silent=silent,
    )


def census_taught(statement_id: str, *, taught: int, silent: int) -> Statement:
    """Tell how many instruments taught, and how many did not."""
    return write("census taught", statement_id, NO_GROUNDS, taught=str(taught), silent=str(silent))


def left_as_they_were(statement_id: str, *, looks: Mapping[str, int]) -> Statement:
    """Name the features that were seen too seldom, with how often each was."""
    told = listed([f"{name} ({count})" for name, count in looks.items()])
    return write("census silent", statement_id, NO_GROUNDS, features=told)


def serials_learned(
    statement_id: str, *, prefix: str, knots: int, count: int, scatter: float
) -> Statement:
    """Tell what was learned of one run of numbers."""
    return write(
        "serials learned",
        statement_id,
        NO_GROUNDS,
        prefix=prefix or "without prefix",
        knots=str(knots),
        count=str(count),
        scatter=f"{scatter:.1f}",
    )


def ranges_held(
    statement_id: str, *, count: int, level: float, held: float, low: float, high: float
) -> Statement:
    """Tell how often ranges of one level held, beside what number alone allows.

    Parameters
    ----------
    level, held, low, high
        Shares, 0 to 1.
    """
    return write(
        "ranges held",
        statement_id,
        NO_GROUNDS,
        count=str(count),
        level=percent(level),
        held=percent(held),
        low=percent(max(0.0, low)),
        high=percent(min(1.0, high)),
    )


def ranges_wide(statement_id: str, *, without: float, with_marks: float) -> Statement:
    """Tell how wide the ranges were, in months."""
    return write(
        "ranges wide",
        statement_id,
        NO_GROUNDS,
        without=f"{without:.0f}",
        with_marks=f"{with_marks:.0f}",
    )


def dated_again(
    statement_id: str, *, chronology: str, count: int, moved: int, first: int
) -> Statement:
    """Tell how many conclusions moved; *first* had none before."""
    told = f" {first} had no earlier conclusion to compare with." if first else ""
    return write(
        "dated again",
        statement_id,
        NO_GROUNDS,
        chronology=chronology,
        count=str(count),
        moved=str(moved),
        first=told,
    )


def dates_turned(statement_id: str, *, withheld: int, given: int) -> Statement:
    """Tell how many dates are now withheld or now given."""
    return write("dates turned", statement_id, NO_GROUNDS, withheld=str(withheld), given=str(given))


def conclusion_moved(
    statement_id: str,
    *,
    id_: str,
    median: int | None,
    ends: tuple[int, int],
    turned: Sequence[tuple[str, str, str]],
    date: str = "",
) -> Statement:
    """Tell how one conclusion moved.

    Parameters
    ----------
    median, ends
        Months by which the median and the ends of the 90 % range moved, later counted positive.
    turned
        Part, words before, words now.
    date
        ``withheld`` or ``given`` where that turned.
    """
    what = []
    if date:
        what.append(f"date now {date}")
    elif median is not None:
        what.append(f"median {median:+d}, 90 % range {ends[0]:+d} and {ends[1]:+d} months")
    what += [f"{part}: {before} → {now}" for part, before, now in turned]
    return write("conclusion moved", statement_id, NO_GROUNDS, id=id_, what="; ".join(what))
