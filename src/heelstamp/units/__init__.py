"""Months, periods and quantities: the measures every engine shares."""

from heelstamp.units.days import read_day
from heelstamp.units.lengths import (
    LENGTH_UNITS,
    LengthUnit,
    TypedLength,
    read_length,
    show_length,
    with_inches,
)
from heelstamp.units.months import Month, MonthGrid, Period, format_month, name_month, parse_month
from heelstamp.units.quantity import Quantity, UnitError

__all__ = [
    "LENGTH_UNITS",
    "LengthUnit",
    "Month",
    "MonthGrid",
    "Period",
    "Quantity",
    "TypedLength",
    "UnitError",
    "format_month",
    "name_month",
    "parse_month",
    "read_day",
    "read_length",
    "show_length",
    "with_inches",
]
