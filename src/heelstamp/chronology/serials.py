"""Serial numbers to nominal months, by the knots of a chronology, doubtful digits included.

The curve is linear between knots of one prefix and is continued at the slope of the last stretch,
no further than production. An unread character (``?``) stands for every digit; a number stamped
twice is met at its nominal month and, with equal weight, anywhere within two years of it.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from heelstamp.chronology.contents import Chronology
from heelstamp.errors import InputError
from heelstamp.units import Month, format_month, parse_month

DUPLICATE_REACH = 12
"""Months either side within which the second use of a number is looked for (our choice)."""

MOST_DIGITS = 12
"""Longest serial number."""

MOST_READINGS = 1000
"""Most numbers that unread digits may stand for."""

_NUMBER = re.compile(r"([A-Z]*)([0-9?]+)")


@dataclass(frozen=True)
class SerialCurve:
    """Knots by prefix: numbers and months, both rising."""

    knots: dict[str, tuple[tuple[int, Month], ...]]
    first: Month
    last: Month
    duplicated: tuple[tuple[int, int], ...]

    @classmethod
    def of(cls, chronology: Chronology) -> SerialCurve | None:
        """Take the curve of a chronology; None when it has none.

        Raises
        ------
        InputError
            A prefix has one knot only, or numbers and months do not rise together.
        """
        table = chronology.serial
        if table is None:
            return None
        by_prefix: dict[str, list[tuple[int, Month]]] = defaultdict(list)
        for knot in table.knot:
            by_prefix[knot.prefix].append((knot.number, parse_month(knot.month)))
        for prefix, knots in by_prefix.items():
            knots.sort()
            rising = all(a[0] < b[0] and a[1] <= b[1] for a, b in pairwise(knots))
            if len(knots) < 2 or not rising:
                raise InputError(
                    "a serial curve needs two points or more, number and month rising together",
                    where=f"chronology {chronology.id}, serial prefix {prefix!r}",
                    received=[(number, format_month(month)) for number, month in knots],
                    remedy="Correct or remove the point that falls back.",
                )
        return cls(
            {prefix: tuple(knots) for prefix, knots in by_prefix.items()},
            parse_month(chronology.production.first),
            parse_month(chronology.production.last),
            tuple((low, high) for low, high in table.duplicated),
        )

    def rate(self, month: Month) -> float:
        """Return instruments a month around *month*, summed over prefixes."""
        total = 0.0
        for knots in self.knots.values():
            for (number, begin), (after, end) in pairwise(knots):
                if begin <= month < end:
                    total += (after - number) / (end - begin)
        if total:
            return total
        # before the first knot or after the last: the slope of the nearest stretch
        stretches = [pair for knots in self.knots.values() for pair in pairwise(knots)]
        nearest = min(
            stretches, key=lambda pair: min(abs(pair[0][1] - month), abs(pair[1][1] - month))
        )
        (number, begin), (after, end) = nearest
        return (after - number) / max(1, end - begin)

    def months(self, text: str) -> tuple[tuple[Month, float], ...]:
        """Return the nominal months of a serial number as read, with weights.

        Raises
        ------
        InputError
            Not a number of a known prefix, or too many digits unread.
        """
        match = _NUMBER.fullmatch(re.sub(r"[\s.\-]", "", text.upper()))
        if match is None or match[1] not in self.knots:
            known = ", ".join(repr(prefix) for prefix in self.knots)
            raise InputError(
                "not a serial number of this chronology",
                received=text,
                remedy=f"Prefixes: {known}; write ? for each digit that cannot be read.",
            )
        prefix, digits = match[1], match[2]
        if len(digits) > MOST_DIGITS:
            raise InputError(
                "too long for a serial number", received=text, remedy="Enter the number alone."
            )
        if 10 ** digits.count("?") > MOST_READINGS:
            raise InputError(
                "too many digits unread", received=text, remedy="Record it as illegible."
            )
        choices = ["0123456789" if one == "?" else one for one in digits]
        weights: dict[Month, float] = defaultdict(float)
        for chosen in product(*choices):
            number = int("".join(chosen))
            if digits.count("?") and not self._made(prefix, number):
                continue
            nominal = self.nominal(prefix, number)
            if any(low <= number <= high for low, high in self.duplicated):
                around = range(nominal - DUPLICATE_REACH, nominal + DUPLICATE_REACH + 1)
                for month in around:
                    weights[month] += 0.5 / len(around)
                weights[nominal] += 0.5
            else:
                weights[nominal] += 1.0
        largest = max(weights.values(), default=0.0)
        if not largest:
            raise InputError(
                "no number of this reading was ever reached", received=text, remedy="Read again."
            )
        return tuple((month, weight / largest) for month, weight in sorted(weights.items()))

    def _made(self, prefix: str, number: int) -> bool:
        knots = self.knots[prefix]
        return knots[0][0] <= number <= knots[-1][0]

    def nominal(self, prefix: str, number: int) -> Month:
        """Return the month in which *number* falls on the curve, within production."""
        knots = self.knots[prefix]
        numbers = np.array([one[0] for one in knots], dtype=float)
        months = np.array([one[1] for one in knots], dtype=float)
        place = int(np.clip(np.searchsorted(numbers, number) - 1, 0, len(knots) - 2))
        slope = (months[place + 1] - months[place]) / (numbers[place + 1] - numbers[place])
        month = int(np.floor(months[place] + slope * (number - numbers[place])))
        return min(max(month, self.first), self.last)
