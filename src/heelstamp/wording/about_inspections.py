"""Sentences about what to look at next, what it would tell, and when to stop.

A gain is an expectation, not a promise, and is told in what it would change: the width of the
printed range, the words about a part. Rule 2: each such sentence names what was not examined.
Nothing here computes a gain or judges whether it is worth its cost.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.errors import InputError
from heelstamp.wording.sentences import Grounds, Statement, agreement, listed, write
from heelstamp.wording.strength import percent

MOST_NAMED = 4
"""Parts named in one sentence; the rest are counted."""


def months_told(months: float) -> str:
    """Write a width of a range: whole months, never none."""
    whole = max(1, round(months))
    return f"{whole} month" + ("" if whole == 1 else "s")


def range_told(before: float, after: float) -> str:
    """Write a width now and as expected: ``12 → 6 months``, or that it stays."""
    now, then = max(1, round(before)), max(1, round(after))
    return "as wide" if now == then else f"{now} → {months_told(after)}"


def bits_told(bits: float, error: float | None = None) -> str:
    """Write a gain: two decimals of a bit, with the standard error of a drawn one."""
    shown = abs(round(bits, 2)) if abs(bits) < 0.005 else round(bits, 2)
    return f"{shown:.2f} bit" if error is None else f"{shown:.2f} ± {error:.2f} bit"


def range_gain(
    statement_id: str,
    *,
    before: float,
    after: float,
    bits: float,
    error: float | None,
    chance: float,
    not_examined: Sequence[str],
) -> Statement:
    """Tell what an inspection is expected to do to the printed range.

    Parameters
    ----------
    before, after
        Width of the 90 % range now, and expected afterwards, in months with both ends counted.
    bits, error
        Expected gain, and its standard error when outcomes were drawn.
    chance
        P(either end of the printed range moves).
    not_examined
        What would be looked at.
    """
    same = months_told(after) == months_told(before)
    return write(
        "gain in range",
        statement_id,
        Grounds(not_examined=tuple(not_examined)),
        before=months_told(before),
        after="about as wide" if same else f"about {months_told(after)}",
        bits=bits_told(bits, error),
        chance=percent(min(1.0, max(0.0, chance))),
    )


def part_gain(
    statement_id: str,
    *,
    part: str,
    bits: float,
    error: float | None,
    chance: float,
    not_examined: Sequence[str],
) -> Statement:
    """Tell what an inspection is expected to do to what is said of one part."""
    words = agreement(part)
    return write(
        "gain in part",
        statement_id,
        Grounds(not_examined=tuple(not_examined)),
        part=part,
        bits=bits_told(bits, error),
        chance=percent(min(1.0, max(0.0, chance))),
        pronoun="them" if words["pronoun"] == "they" else "it",
    )


def money_gain(statement_id: str, *, fall: str, not_examined: Sequence[str]) -> Statement:
    """Tell what an inspection is expected to do to the spread of a price; *fall* has its unit."""
    return write(
        "gain in money", statement_id, Grounds(not_examined=tuple(not_examined)), fall=fall
    )


def first_look(statement_id: str, *, parts: Sequence[str]) -> Statement:
    """Name parts of which nothing was looked at so far.

    Raises
    ------
    InputError
        There is none.
    """
    if not parts:
        raise InputError("a first look at nothing", where=statement_id, remedy="Name a part.")
    named = list(parts[:MOST_NAMED])
    if len(parts) > MOST_NAMED:
        rest = len(parts) - MOST_NAMED
        named.append("1 more part" if rest == 1 else f"{rest} more parts")
    return write(
        "first look", statement_id, Grounds(not_examined=tuple(parts)), parts=listed(named)
    )


def no_decision(statement_id: str, *, not_examined: Sequence[str]) -> Statement:
    """Say that an inspection would change nothing."""
    return write("no decision", statement_id, Grounds(not_examined=tuple(not_examined)))


def owner(
    statement_id: str, *, refused: Sequence[str] = (), not_asked: Sequence[str] = ()
) -> Statement:
    """Say that the owner's leave is wanting: acts refused, else acts not asked about.

    Raises
    ------
    InputError
        No act is named.
    """
    if not refused and not not_asked:
        raise InputError("no act is named", where=statement_id, remedy="Name the act.")
    if refused:
        return write("refused", statement_id, Grounds(), acts=listed(list(refused)))
    return write("ask", statement_id, Grounds(), acts=listed(list(not_asked)))


def stopped(
    statement_id: str, *, act: str, why: str, instead: str, consequence: str, grounds: Grounds
) -> Statement:
    """Refuse an act by a stop rule: why, what may be said instead, what follows at the bench."""
    return write(
        "stop rule",
        statement_id,
        grounds,
        act=act,
        why=why,
        instead=instead,
        consequence=f" {consequence}" if consequence else "",
    )


def first_opening(statement_id: str, *, openings: Sequence[str]) -> Statement:
    """Remind that a first opening spends evidence."""
    return write("first opening", statement_id, Grounds(), opening=listed(list(openings)))


def caution(statement_id: str, *, text: str) -> Statement:
    """Print a caution at the point of use."""
    return write("caution", statement_id, Grounds(), caution=text)


def do_next(statement_id: str, *, inspection: str, level: int, minutes: float) -> Statement:
    """Name the next inspection."""
    whole = max(1, round(minutes))
    return write(
        "do next",
        statement_id,
        Grounds(),
        inspection=inspection,
        level=str(level),
        minutes=f"{whole} minute" + ("" if whole == 1 else "s"),
    )


def stop(statement_id: str, *, reason: str) -> Statement:
    """Say that nothing more is to be looked at, and why."""
    return write("stop", statement_id, Grounds(), reason=reason)


def date_withheld(statement_id: str) -> Statement:
    """Say that gains on a withheld date were left out of the advice."""
    return write("gain without date", statement_id, Grounds())
