"""Months, periods and quantities: the measures every engine shares."""

from heelstamp.units.months import (
    Month,
    MonthGrid,
    Period,
    format_month,
    name_month,
    parse_month,
)
from heelstamp.units.quantity import Quantity, UnitError

__all__ = [
    "Month",
    "MonthGrid",
    "Period",
    "Quantity",
    "UnitError",
    "format_month",
    "name_month",
    "parse_month",
]
