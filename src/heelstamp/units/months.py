"""Months as whole numbers, closed periods of months, and the grids that inference runs on.

A month is ``12 * year + (month - 1)``: differences are lags in months, and ordering is the
calendar's (proleptic Gregorian years; nothing here knows a day). Written form: ``1965-03``
(ISO 8601-1:2019, 5.2.2.2, calendar month).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from heelstamp.errors import InputError

Month = int
"""Months since January of year 0."""

MONTHS_A_YEAR = 12
_ISO_MONTH = re.compile(r"(\d{4})-(\d{2})")
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def parse_month(text: str, *, where: str = "") -> Month:
    """Read ``YYYY-MM``.

    Raises
    ------
    InputError
        The text has another form, or its month is not 01 to 12.

    Examples
    --------
    >>> parse_month("1965-03") - parse_month("1964-12")
    3
    """
    match = _ISO_MONTH.fullmatch(text) if isinstance(text, str) else None
    if match is None:
        raise InputError(
            "not a month", where=where, received=text, remedy="Write year and month as 1965-03."
        )
    year, month = int(match[1]), int(match[2])
    if not 1 <= month <= MONTHS_A_YEAR:
        raise InputError(
            "a year has no such month", where=where, received=text, remedy="Use 01 to 12."
        )
    return MONTHS_A_YEAR * year + month - 1


def format_month(month: Month) -> str:
    """Write *month* as ``YYYY-MM``."""
    year, index = divmod(int(month), MONTHS_A_YEAR)
    return f"{year:04d}-{index + 1:02d}"


def name_month(month: Month) -> str:
    """Write *month* for a reader: ``Mar 1965``."""
    year, index = divmod(int(month), MONTHS_A_YEAR)
    return f"{MONTH_NAMES[index]} {year}"


@dataclass(frozen=True, order=True, slots=True)
class Period:
    """A closed run of months, both ends included.

    Raises
    ------
    InputError
        The period ends before it begins.
    """

    first: Month
    last: Month

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise InputError(
                "a period ends before it begins",
                received=f"{format_month(self.first)} to {format_month(self.last)}",
                remedy="Give the earlier month first.",
            )

    @classmethod
    def parse(cls, text: str | list[str] | tuple[str, ...], *, where: str = "") -> Period:
        """Read one month, or a pair of months, earlier first."""
        if isinstance(text, str):
            month = parse_month(text, where=where)
            return cls(month, month)
        if len(text) != 2:  # a pair
            raise InputError(
                "a period is one month or two", where=where, received=text, remedy="Give two."
            )
        first, last = (parse_month(one, where=where) for one in text)
        try:
            return cls(first, last)
        except InputError as error:
            raise error.at(where) if where else error from None

    @classmethod
    def of_year(cls, year: int) -> Period:
        """January to December of *year*."""
        return cls(MONTHS_A_YEAR * year, MONTHS_A_YEAR * year + MONTHS_A_YEAR - 1)

    def __len__(self) -> int:
        return self.last - self.first + 1

    def __contains__(self, month: object) -> bool:
        return isinstance(month, int) and self.first <= month <= self.last

    def __str__(self) -> str:
        if self.first == self.last:
            return name_month(self.first)
        return f"{name_month(self.first)} to {name_month(self.last)}"

    def iso(self) -> str | list[str]:
        """The written form the contracts use: one month, or a pair."""
        if self.first == self.last:
            return format_month(self.first)
        return [format_month(self.first), format_month(self.last)]


@dataclass(frozen=True, slots=True)
class MonthGrid:
    """The consecutive months that a distribution lives on."""

    first: Month
    last: Month

    @classmethod
    def parse(cls, first: str, last: str) -> MonthGrid:
        """Read a grid from its two ends."""
        return cls(parse_month(first), parse_month(last))

    def __len__(self) -> int:
        return self.last - self.first + 1

    def __iter__(self) -> Iterator[Month]:
        return iter(range(self.first, self.last + 1))

    def __contains__(self, month: object) -> bool:
        return isinstance(month, int) and self.first <= month <= self.last

    def index(self, month: Month) -> int:
        """The position of *month*.

        Raises
        ------
        InputError
            The month lies outside the grid.
        """
        if month not in self:
            raise InputError(
                "month outside the grid",
                received=format_month(month),
                remedy=f"The grid runs {format_month(self.first)} to {format_month(self.last)}.",
            )
        return month - self.first
