"""Pencilled and stamped dates, read in a declared order.

For every way of writing each field, slips included, the text is matched field by field; what fits
gives a month with the weight of its slips (their product; the best where several ways fit). A
one-digit year is every year of the span with that digit. A bench letter names a bench, not a
date; a circled or bracketed number is an inspector's and is passed over. ``?`` is any character of
a field, or none at the price of a smudge. A day that its month does not have (2/30/64) leaves no
reading; a text that fits the order but for such a number is turned down with what is wrong in it.

Source: the order is a chronology's; slips follow common practice, no source: roman strokes are
easily miscounted or placed on the wrong side of an X, and a stroke lost at the end turns
November ("11") into January ("1"). Weights are judgement (``WritingRules``). Not read: dates with
words, two dates in one text, years before 1900.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator

from heelstamp.marks.reading import MarkReadings, Reading, Rejection, distinct, in_order
from heelstamp.marks.smudge import DIGITS, UNREADABLE, spell
from heelstamp.marks.written_order import (
    DAY,
    MONTH_FIELDS,
    YEAR_FIELDS,
    Spelling,
    WritingRules,
    WrittenOrder,
)
from heelstamp.units import Period, format_month, name_month

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
_MONTHS = (None, *range(1, MONTHS_A_YEAR + 1))
_DAYS = (None, *range(1, 32))


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
    turned_down: list[Rejection] = []
    for (years, months, days), weight in _outcomes(folded, order, rules).items():
        for year, slip in years:
            for month, other_slip in months:
                said = "; ".join(part for part in (slip, other_slip) if part)
                fits, why = _fitting(_periods(year, month, order), days, span)
                for period in fits:
                    if period not in best or weight > best[period][0]:
                        best[period] = (weight, said)
                if why:
                    turned_down.append(Rejection(why, rule))
    if not best and not turned_down:
        turned_down += [Rejection(why, rule) for why in _impossible(folded, order, rules)]
    if not best and not turned_down:
        turned_down.append(Rejection(f"the text does not fit the order {order}", rule))
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
    return MarkReadings(text, reader, in_order(readings), distinct(turned_down)[:12])


def _fitting(fits: list[Period], days: _Alike, span: Period) -> tuple[list[Period], str]:
    """The months of *span* that have such a day; where none is left, why not."""
    if not fits:
        return [], ""
    inside = [one for one in fits if one.last >= span.first and one.first <= span.last]
    if not inside:
        nearest = min(fits, key=lambda one: max(span.first - one.last, one.first - span.last))
        return [], f"{format_month(nearest.first)} lies outside {span}"
    told = [day for day, _ in days if day is not None]
    kept = [one for one in inside if not told or min(told) <= _days_in(one)]
    if not kept:
        longest = max(inside, key=_days_in)
        return [], f"{name_month(longest.first)} has {_days_in(longest)} days, not {min(told)}"
    return kept, ""


def _days_in(month: Period) -> int:
    """How many days a month has; 31 for the whole year that an order without a month names."""
    if month.first != month.last:
        return 31
    year, place = divmod(month.first, MONTHS_A_YEAR)
    return monthrange(year, place + 1)[1]


def _impossible(text: str, order: WrittenOrder, rules: WritingRules) -> list[str]:
    """What is wrong in a text that fits the order but for a month or day that cannot be."""
    if UNREADABLE in text:
        return []
    wrong = []
    for _, months, days in _outcomes(text, order, rules, impossible=True):
        wrong += [f"there is no month {month}" for month, _ in months if month not in _MONTHS]
        wrong += [f"no month has a day {day}" for day, _ in days if day not in _DAYS]
    return list(dict.fromkeys(wrong))


def _outcomes(
    text: str, order: WrittenOrder, rules: WritingRules, *, impossible: bool = False
) -> dict[tuple[_Alike, _Alike, _Alike], float]:
    """Match the fields one after the other; keep the heaviest way to each (years, months, days)."""
    states: dict[tuple[_Alike, _Alike, _Alike, int], float] = {
        (_UNSAID, _UNSAID, _UNSAID, place): rules.smudge**smudges
        for place, smudges in _passed(text, 0).items()
    }
    for field in order.fields:
        spellings = order.spellings(field, rules)
        if impossible:
            spellings += order.impossible(field)
        fits = {place: _fits(text, place, spellings, rules) for *_, place in states}
        reached: dict[tuple[_Alike, _Alike, _Alike, int], float] = {}
        for (years, months, days, place), weight in states.items():
            for alike, ends in fits[place].items():
                now = (
                    alike if field in YEAR_FIELDS else years,
                    alike if field in MONTH_FIELDS else months,
                    alike if field == DAY else days,
                )
                for end, cost in ends:
                    key = (*now, end)
                    reached[key] = max(weight * cost, reached.get(key, 0.0))
        states = reached
    found: dict[tuple[_Alike, _Alike, _Alike], float] = {}
    for (years, months, days, place), weight in states.items():
        if place == len(text):
            key_found = (years, months, days)
            found[key_found] = max(weight, found.get(key_found, 0.0))
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
