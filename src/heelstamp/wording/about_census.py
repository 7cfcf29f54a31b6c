"""The census, what was learned from it, whether ranges held, and what moved.

They count and measure; none says that an edition is right, and that a range held is told with what
the number of instruments alone allows. Rule 15: a conclusion that moves is told with what it was
before.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.wording.sentences import listed, sentence
from heelstamp.wording.strength import percent


@sentence("census added", "measured", 1)
def census_added(*, count: int, chronology: str, total: int, teaching: int) -> str:
    silent = "" if teaching == count else " Instruments dated by their features only never teach."
    return (
        f"{count} added to the census of {chronology}, which now holds {total}; change-overs may "
        f"be learned from {teaching} of them.{silent}"
    )


@sentence("census taught", "measured", 2)
def census_taught(*, taught: int, silent: int) -> str:
    return (
        f"Learned from {taught} instruments; {silent} dated by their features only did not teach."
    )


@sentence("census silent", "measured", 2)
def left_as_they_were(*, looks: Mapping[str, int]) -> str:
    """Features that were seen too seldom, with how often each was."""
    told = listed([f"{name} ({count})" for name, count in looks.items()])
    return f"Seen too seldom, left as they were (looks): {told}."


@sentence("serials learned", "measured", 2)
def serials_learned(*, prefix: str, points: int, count: int, scatter: float) -> str:
    """What was learned of one run of numbers: points of its curve, scatter in months."""
    return (
        f"Serial numbers {prefix or 'without prefix'}: {points} curve points from {count} "
        f"instruments, scatter {scatter:.1f} months."
    )


@sentence("ranges held", "measured", 4)
def ranges_held(*, count: int, level: float, held: float, low: float, high: float) -> str:
    """How often ranges of one level held, beside what number alone allows; shares, 0 to 1."""
    return (
        f"Of {count} instruments dated without their marks, by editions they did not teach, the "
        f"{percent(level)} ranges held {percent(held)} of what is known with marks; number alone "
        f"allows {percent(max(0.0, low))} to {percent(min(1.0, high))} around it."
    )


@sentence("ranges wide", "measured", 8)
def ranges_wide(*, without: float, with_marks: float) -> str:
    return f"The median 90 % range was {without:.0f} months wide, with marks {with_marks:.0f}."


@sentence("dated again", "measured", 15)
def dated_again(*, chronology: str, count: int, moved: int, first: int) -> str:
    """How many conclusions moved; *first* had none before."""
    told = f" {first} had no earlier conclusion to compare with." if first else ""
    return f"{chronology}: {count} dated again; {moved} moved.{told}"


@sentence("dates turned", "measured", 15)
def dates_turned(*, withheld: int, given: int) -> str:
    return f"Dates now withheld: {withheld}; now given: {given}."


@sentence("conclusion moved", "measured", 15)
def conclusion_moved(
    *,
    id_: str,
    median: int | None,
    ends: tuple[int, int],
    turned: Sequence[tuple[str, str, str]],
    date: str = "",
) -> str:
    """How one conclusion moved.

    Parameters
    ----------
    median, ends
        Months by which the median and the ends of the 90 % range moved, later counted positive.
    turned
        Part, words before, words now.
    date
        ``withheld`` or ``given`` where that turned.
    """
    what = [f"date now {date}"] if date else []
    if median is not None and not date:
        what.append(f"median {median:+d}, 90 % range {ends[0]:+d} and {ends[1]:+d} months")
    what += [f"{part}: {before} → {now}" for part, before, now in turned]
    return f"{id_}: {'; '.join(what)}."
