"""Numbers and dates as people write them, brought to one form each; others stay as they are.

A number of one mark with three digits after it (``8,650``) can be read in two ways; so can a date
of two small numbers (``03/04/2021``). What a text allows is told here, what holds in a table is
concluded in `heelstamp.casework.spreadsheet.reading`.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Literal

DecimalMark = Literal[".", ","]
DateOrder = Literal["", "year first", "day first", "month first", "days counted"]

CODE_OF_SIGN: dict[str, tuple[str, ...]] = {
    "$": ("USD", "CAD", "AUD", "NZD", "MXN"),
    "US$": ("USD",),
    "€": ("EUR",),
    "£": ("GBP",),
    "¥": ("JPY", "CNY"),
}
"""ISO 4217 codes that a sign may stand for, the ones this table knows (from memory)."""

_SPACES = " \u00a0\u2009\u202f'\u2019"
_SIGN = re.compile(r"(US\$|[$€£¥]|[A-Z]{3})")
_LAST_SIGN = re.compile(_SIGN.pattern + r"$")
_DIGITS = re.compile(rf"[0-9][0-9.,{_SPACES}]*")
_PARTED = re.compile(r"(\d{1,4})[./-](\d{1,2})[./-](\d{4})")
_YEAR_FIRST = re.compile(r"(\d{4})[./-](\d{1,2})(?:[./-](\d{1,2}))?(?:[ T]\d{2}:\d{2}.*)?")
_MONTH_YEAR = re.compile(r"(\d{1,2})[./](\d{4})")
_NAMED = re.compile(r"(?:(\d{1,2})\.? )?([A-Za-z]{3,9})\.?(?: (\d{1,2}),)? (\d{4})")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def sign_of(text: str) -> tuple[str, str]:
    """Part a sum into its currency's sign or code, blank without one, and the rest."""
    bare = text.strip()
    for found in (_SIGN.match(bare), _LAST_SIGN.search(bare)):
        if found is not None:
            rest = (bare[: found.start()] + bare[found.end() :]).strip()
            if _DIGITS.fullmatch(rest.lstrip("+-\u2212")):
                return found[1], rest
    return "", bare


def parted(text: str) -> frozenset[str]:
    """Which marks may part the decimals of a number: both when it shows neither.

    None for a text that is no number, and for a number without any mark.
    """
    _, bare = sign_of(text.removesuffix("%"))
    bare = bare.lstrip("+-\u2212").strip()
    if not _DIGITS.fullmatch(bare):
        return frozenset()
    points, commas = bare.count("."), bare.count(",")
    if not points and not commas:
        return frozenset()
    if points and commas:
        last = max(bare.rindex("."), bare.rindex(","))
        mark = bare[last]
        return frozenset({mark}) if bare.count(mark) == 1 else frozenset()
    mark, other = (".", ",") if points else (",", ".")
    if bare.count(mark) > 1:
        return frozenset({other})
    after = len(bare) - bare.index(mark) - 1
    return frozenset({".", ","}) if after == 3 else frozenset({mark})


def number_text(text: str, mark: DecimalMark) -> str:
    """Write a number with a point and nothing between thousands; what is none stays as it is."""
    share = text.strip().endswith("%")
    _, bare = sign_of(text.strip().removesuffix("%"))
    minus = "-" if bare[:1] in ("-", "\u2212") else ""
    digits = bare.lstrip("+-\u2212").strip()
    if not _DIGITS.fullmatch(digits):
        return text
    other = "," if mark == "." else "."
    whole, _, decimals = digits.partition(mark)
    for one in (other, *_SPACES):
        whole = whole.replace(one, "")
    if not (whole.isdigit() and (not decimals or decimals.isdigit())):
        return text
    if other in digits and not re.fullmatch(
        rf"\d{{1,3}}([{re.escape(other)}{_SPACES}]\d{{3}})+", digits.partition(mark)[0]
    ):
        return text  # marks where no thousands part
    return minus + whole + (f".{decimals}" if decimals else "") + (" %" if share else "")


def orders_of(text: str) -> frozenset[str]:
    """In which orders a date of three numbers, the year last, can be read.

    None for other texts, and for those that say the same in both orders.
    """
    found = _PARTED.fullmatch(text.strip())
    if found is None or len(found[1]) > 2:
        return frozenset()
    first, second, year = (int(one) for one in found.groups())
    orders = {"day first": _day(year, second, first), "month first": _day(year, first, second)}
    if first == second:
        return frozenset()
    return frozenset(order for order, day in orders.items() if day)


def date_text(text: str, order: DateOrder) -> str:
    """Write a date as ``2021-02-15``, a month as ``2021-02``; what is neither stays as it is."""
    bare = text.strip()
    if found := _YEAR_FIRST.fullmatch(bare):
        year, month, day = found[1], found[2], found[3]
    elif found := _MONTH_YEAR.fullmatch(bare):
        year, month, day = found[2], found[1], None
    elif (found := _NAMED.fullmatch(bare)) and found[2][:3].lower() in _MONTHS:
        month = str(_MONTHS.index(found[2][:3].lower()) + 1)
        year, day = found[4], found[1] or found[3]
    elif (found := _PARTED.fullmatch(bare)) and len(found[1]) <= 2:
        first, second, year = found.groups()
        if first.zfill(2) != second.zfill(2) and order not in ("day first", "month first"):
            return text
        day, month = (first, second) if order == "day first" else (second, first)
    else:
        return text
    if day is None:
        return _month(int(year), int(month)) or text
    return _day(int(year), int(month), int(day)) or text


def _day(year: int, month: int, day: int) -> str:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        return ""


def _month(year: int, month: int) -> str:
    return f"{year:04d}-{month:02d}" if 1 <= month <= 12 else ""
