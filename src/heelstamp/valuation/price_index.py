"""Money of one month or year in that of another, by a consumer price index.

Amount times index then over index now: the definition of the index (U.S. Bureau of Labor
Statistics, *Handbook of Methods*, Consumer Price Index). A month that was never published lies
between its neighbours (geometric mean); months after the last are taken at the last, and
``known_to`` says so. A consumer index says nothing of the prices of instruments: it only takes
inflation out before those are compared.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from heelstamp.errors import InputError
from heelstamp.units import Month, format_month
from heelstamp.valuation.least_squares import Array


@dataclass(frozen=True)
class PriceIndex:
    """An index by month and by year.

    Attributes
    ----------
    name
        What it is called on papers.
    months, years
        Levels; their base does not matter.
    """

    name: str
    months: Mapping[Month, float]
    years: Mapping[int, float]

    @property
    def known_to(self) -> Month:
        """Last month with a level."""
        return max(self.months)

    def log_levels(self, months: Array) -> Array:
        """Ln(level) of many months.

        Raises
        ------
        InputError
            A month lies before the first.
        """
        known = np.array(sorted(self.months))
        if len(months) and float(np.min(months)) < known[0]:
            raise InputError(
                "before the first month of the price index",
                received=format_month(int(np.min(months))),
                remedy=f"It begins {format_month(int(known[0]))}; take those sales out.",
            )
        levels = np.log([self.months[int(one)] for one in known])
        return np.asarray(np.interp(months, known, levels))

    def between_months(self, amount: float, then: Month, now: Month) -> float:
        """An amount of *then* in money of *now*."""
        before, after = self.log_levels(np.array([then, now], dtype=float))
        return float(amount * np.exp(after - before))

    def between_years(self, amount: float, then: int, now: int) -> float:
        """An amount of one year in money of another, by annual averages.

        Raises
        ------
        InputError
            A year is not in the index.
        """
        for year in (then, now):
            if year not in self.years:
                raise InputError(
                    "no such year in the price index",
                    received=year,
                    remedy=f"It has {min(self.years)} to {max(self.years)}.",
                )
        return amount * self.years[now] / self.years[then]


FLAT = PriceIndex("none: prices as they were paid", {0: 1.0}, {})
"""Leaves every amount as it is."""
