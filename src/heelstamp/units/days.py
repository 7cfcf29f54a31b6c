"""Days of the calendar, written one way."""

from __future__ import annotations

from datetime import date

from heelstamp.errors import InputError


def read_day(text: str, where: str) -> date:
    """Read a day, ``2026-11-02``: the extended form of ISO 8601 alone, for days sort as text.

    Raises
    ------
    InputError
        Another form, or no such day.

    Examples
    --------
    >>> read_day("2026-11-02", "day")
    datetime.date(2026, 11, 2)
    """
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day.isoformat() != text:
        raise InputError("not a day", where=where, received=text, remedy="Write it as 2026-11-02.")
    return day
