"""Pencilled and stamped dates, read in a declared order.

For every way of writing each field, slips included, the text is matched field by field; what fits
gives a month with the weight of its slips (their product; the best where several ways fit). A
one-digit year is every year of the span with that digit. A bench letter names a bench, not a
date; a circled or bracketed number is an inspector's and is passed over. ``?`` is any character of
a field, or none at the price of a smudge.

Source: the order is a chronology's; slips follow common practice, no source: roman strokes are
easily miscounted or placed on the wrong side of an X, and a stroke lost at the end turns
November ("11") into January ("1"). Weights are judgement (``WritingRules``). Not read: dates with
words, two dates in one text, years before 1900.
"""

from __future__ import annotations

from collections.abc import Iterator

from heelstamp.marks.reading import MarkReadings, Reading, Rejection, distinct, in_order
from heelstamp.marks.smudge import DIGITS, UNREADABLE, spell
from heelstamp.marks.written_order import (
    MONTH_FIELDS,
    YEAR_FIELDS,
    Spelling,
    WritingRules,
    WrittenOrder,
)
from heelstamp.units import Period, format_month

PREFIX = "written:"
SOURCE = "declared order; weights of slips are judgement, common practice, no source"
SEPARATORS = " \t\n-–—−./\\_·:,'’"
_CIRCLED = (range(0x2460, 0x249C), range(0x24EA, 0x2500), range(0x2776, 0x2794))
MONTHS_A_YEAR = 12


_Meaning = tuple[int | None, str]
"""What a field may mean, and the slip that this supposes."""
_Alike = tuple[_Meaning, ...]
"""Meanings that the text cannot tell apart, because they fit the same stretches of it."""
_UNSAID: _Alike = ((None, ""),)


def read_written(
    text: str, order: WrittenOrder, *, span: Period, rules: WritingRules | None = None
) -> MarkReadings:
    """Read a written date in the declared order.

    Parameters
    ----------
    text
        The mark as seen; ``?`` for each unreadable character; case does not matter.
    order
        Fields in the order in which they were written.
    span
        Months outside which nothing is read; it bounds the decades of a one-digit year.
    rules
        Weights of slips; the documented judgement when absent.
    """
    rules = rules or WritingRules()
    reader = f"{PREFIX}{order}"
    rule = f"written date, {order}"
    folded = "".join(one.upper() if one.isascii() else one for one in text)
    best: dict[Period, tuple[float, str]] = {}
    outside: list[Rejection] = []
    for (years, months), weight in _outcomes(folded, order, rules).items():
        for year, slip in years:
            for month, other_slip in months:
                said = "; ".join(part for part in (slip, other_slip) if part)
                fits = _periods(year, month, order)
                inside = [one for one in fits if one.last >= span.first and one.first <= span.last]
                for period in inside:
                    if period not in best or weight > best[period][0]:
                        best[period] = (weight, said)
                if fits and not inside:
                    why = f"{format_month(fits[0].first)} lies outside {span}"
                    outside.append(Rejection(why, rule))
    if not best and not outside:
        outside.append(Rejection(f"the text does not fit the order {order}", rule))
    readings = [
        Reading(
            Period(max(period.first, span.first), min(period.last, span.last)),
            weight,
            rule,
            SOURCE,
            f"read as {period}" + (f", {said}" if said else ""),
        )
        for period, (weight, said) in best.items()
    ]
    return MarkReadings(text, reader, in_order(readings), distinct(outside)[:12])


def _outcomes(
    text: str, order: WrittenOrder, rules: WritingRules
) -> dict[tuple[_Alike, _Alike], float]:
    """Match the fields one after the other; keep the heaviest way to each (years, months)."""
    states: dict[tuple[_Alike, _Alike, int], float] = {
        (_UNSAID, _UNSAID, place): rules.smudge**smudges
        for place, smudges in _passed(text, 0).items()
    }
    for field in order.fields:
        spellings = order.spellings(field, rules)
        fits = {place: _fits(text, place, spellings, rules) for _, _, place in states}
        reached: dict[tuple[_Alike, _Alike, int], float] = {}
        for (years, months, place), weight in states.items():
            for alike, ends in fits[place].items():
                now = (
                    (alike, months)
                    if field in YEAR_FIELDS
                    else (years, alike)
                    if field in MONTH_FIELDS
                    else (years, months)
                )
                for end, cost in ends:
                    key = (*now, end)
                    reached[key] = max(weight * cost, reached.get(key, 0.0))
        states = reached
    found: dict[tuple[_Alike, _Alike], float] = {}
    for (years, months, place), weight in states.items():
        if place == len(text):
            found[years, months] = max(weight, found.get((years, months), 0.0))
    return found


def _fits(
    text: str, place: int, spellings: tuple[Spelling, ...], rules: WritingRules
) -> dict[_Alike, tuple[tuple[int, float], ...]]:
    """What a field may mean at *place*: meanings that fit alike → (index after, weight)."""
    reach: dict[_Meaning, dict[int, float]] = {}
    for spelling in spellings:
        ends = reach.setdefault((spelling.value, spelling.remark), {})
        for (_, end), smudges in spell(text, place, spelling.word).items():
            weight = spelling.weight * rules.smudge**smudges
            ends[end] = max(weight, ends.get(end, 0.0))
    alike: dict[tuple[tuple[int, float], ...], list[_Meaning]] = {}
    for meaning, ends in reach.items():
        if ends:
            alike.setdefault(tuple(sorted(ends.items())), []).append(meaning)
    fits: dict[_Alike, tuple[tuple[int, float], ...]] = {}
    for word_ends, meanings in alike.items():
        stops: dict[int, float] = {}
        for end, weight in word_ends:
            for stop, smudges in _passed(text, end).items():
                stops[stop] = max(weight * rules.smudge**smudges, stops.get(stop, 0.0))
        fits[tuple(meanings)] = tuple(sorted(stops.items()))
    return fits


def _passed(text: str, start: int) -> dict[int, int]:
    """Each index reached by passing over separators and inspectors' marks, with the ``?``.

    An inspector's mark is a circled number, or one in brackets. The walk knows three places:
    outside, after the bracket, after the number.
    """
    ends = {start: 0}
    states = {0: 0}
    for place in range(start, len(text)):
        following: dict[int, int] = {}
        for state, smudges in states.items():
            for to, cost in _steps(state, text[place]):
                value = smudges + cost
                following[to] = min(value, following.get(to, value))
        if not following:
            break
        states = following
        if 0 in states:
            ends[place + 1] = states[0]
    return ends


def _steps(state: int, character: str) -> Iterator[tuple[int, int]]:
    """(next place, smudges) of the walk over what is not date."""
    if character == UNREADABLE:
        yield state, 1
        yield (state + 1) % 3, 1
        return
    if state == 0 and (character in SEPARATORS or _circled(character)):
        yield 0, 0
    elif state == 0 and character in "([":
        yield 1, 0
    elif state == 1 and character in DIGITS:
        yield 2, 0
    elif state == 2 and character in ")]":
        yield 0, 0


def _circled(character: str) -> bool:
    return any(ord(character) in numbers for numbers in _CIRCLED)


def _periods(year: int | None, month: int | None, order: WrittenOrder) -> list[Period]:
    """The months, or years, that the fields read can mean."""
    if year is None:
        return []
    cycle = {"year1": 10, "year2": 100}.get(
        next(field for field in order.fields if field in YEAR_FIELDS)
    )
    years = (year,) if cycle is None else range(1900 + year, 2100, cycle)
    if not any(field in MONTH_FIELDS for field in order.fields):
        return [Period.of_year(one) for one in years]
    if month is None:
        return []
    months = [MONTHS_A_YEAR * one + month - 1 for one in years]
    return [Period(one, one) for one in months]
