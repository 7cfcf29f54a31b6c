"""Money as a whole number of the currency's smallest units, and its one rounding rule.

Sums never leave whole units. A share of a sum (a commission, a tax) is worked out exactly in
decimals and rounded once, half away from zero, as invoices are (our rule, stated on every
statement). Number of decimals of a currency: ISO 4217, list one (exceptions from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from fractions import Fraction

from heelstamp.errors import InputError

ROUNDING_RULE = "each line is rounded by itself to the smallest unit, half away from zero"

_DECIMALS = {"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "VND": 0, "KWD": 3, "BHD": 3, "TND": 3}
_CODE = re.compile(r"[A-Z]{3}")
_AMOUNT = re.compile(r"[-+]?[0-9][0-9,' \u00a0\u2009\u202f]*(\.[0-9]+)?")
_LARGEST = 10**15


def decimals_of(currency: str) -> int:
    """The number of decimals of a currency, two unless it is known to have another."""
    return _DECIMALS.get(currency, 2)


@dataclass(frozen=True, slots=True, order=False)
class Money:
    """An amount.

    Attributes
    ----------
    minor
        Whole smallest units, such as cents.
    currency
        ISO 4217 code.

    Raises
    ------
    InputError
        The code is not three capitals, or the amount is beyond a thousand billion.
    """

    minor: int
    currency: str

    def __post_init__(self) -> None:
        if not _CODE.fullmatch(self.currency):
            raise InputError(
                "not a currency", received=self.currency, remedy="Use its code, such as USD."
            )
        if abs(self.minor) > _LARGEST:
            raise InputError("more money than can be meant", received=self.minor)

    @classmethod
    def parse(cls, text: str, currency: str, *, where: str = "") -> Money:
        """Read ``9,100`` or ``9 100.50``; a comma parts thousands, a point the decimals.

        Raises
        ------
        InputError
            Another form, or more decimals than the currency has.
        """
        bare = text.strip()
        groups = re.split(r"[,' \u00a0\u2009\u202f]", bare.partition(".")[0])
        fits = all(len(one) == 3 for one in groups[1:])
        if not _AMOUNT.fullmatch(bare) or not fits:
            raise InputError(
                "not an amount of money", where=where, received=text, remedy="Write it as 9100.50."
            )
        return cls.of(Decimal(re.sub(r"[^0-9.+-]", "", bare)), currency, where=where)

    @classmethod
    def of(cls, amount: Decimal | int, currency: str, *, where: str = "") -> Money:
        """Take an exact amount.

        Raises
        ------
        InputError
            It has more decimals than the currency.
        """
        try:
            minor = Decimal(amount).scaleb(decimals_of(currency))
            whole = int(minor)
        except (InvalidOperation, ValueError, OverflowError):
            raise InputError("not an amount of money", where=where, received=amount) from None
        if whole != minor:
            raise InputError(
                "more decimals than the currency has",
                where=where,
                received=f"{amount} {currency}",
                remedy=f"Give at most {decimals_of(currency)}.",
            )
        return cls(whole, currency)

    @classmethod
    def nearest(cls, amount: float | Decimal, currency: str) -> Money:
        """Round an estimate to the smallest unit."""
        exact = amount if isinstance(amount, Decimal) else Decimal(repr(amount))
        return cls(_half_up(exact.scaleb(decimals_of(currency))), currency)

    @property
    def amount(self) -> Decimal:
        """The amount in whole units of the currency, exact."""
        return Decimal(self.minor).scaleb(-decimals_of(self.currency))

    def share(self, rate: Decimal) -> Money:
        """A share of it, rounded once."""
        return Money(_half_up(Decimal(self.minor) * rate), self.currency)

    def part(self, of: Decimal, whole: Decimal) -> Money:
        """The part *of* out of *whole*, worked out exactly and rounded once."""
        ratio = Fraction(of) / Fraction(whole) * self.minor
        halves = 2 * abs(ratio.numerator) + ratio.denominator
        size = halves // (2 * ratio.denominator)
        return Money(-size if ratio < 0 else size, self.currency)

    def rounded_to(self, step: Money, *, up: bool = False) -> Money:
        """Round to whole steps, to the nearest (half up) or upwards."""
        self._same(step)
        if step.minor <= 0:
            raise InputError("a step of rounding is above nought", received=str(step))
        whole, rest = divmod(self.minor, step.minor)
        more = rest > 0 if up else 2 * rest >= step.minor
        return Money((whole + more) * step.minor, self.currency)

    def __add__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.minor + other.minor, self.currency)

    def __sub__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.minor - other.minor, self.currency)

    def __neg__(self) -> Money:
        return Money(-self.minor, self.currency)

    def __lt__(self, other: Money) -> bool:
        self._same(other)
        return self.minor < other.minor

    def __le__(self, other: Money) -> bool:
        self._same(other)
        return self.minor <= other.minor

    def __str__(self) -> str:
        """Write it as ``9,100.50 USD``, without decimals when they are nought."""
        places = decimals_of(self.currency)
        whole = self.minor % 10**places == 0
        text = f"{self.amount:,.0f}" if whole else f"{self.amount:,.{places}f}"
        return f"{text} {self.currency}".replace("-", "−")

    def exact(self) -> str:
        """Write it with all its decimals, for a statement: ``7,113.00 USD``."""
        return f"{self.amount:,.{decimals_of(self.currency)}f} {self.currency}".replace("-", "−")

    def _same(self, other: Money) -> None:
        if other.currency != self.currency:
            raise InputError(
                "two currencies cannot be added or compared",
                received=f"{self.currency} and {other.currency}",
                remedy="Convert one of them by a rate with its date.",
            )


def total(amounts: Iterable[Money], currency: str) -> Money:
    """Add amounts; none make nought."""
    found = Money(0, currency)
    for one in amounts:
        found = found + one
    return found


def parse_rate(text: str, *, where: str = "") -> Decimal:
    """Read a share, ``22 %`` or ``0.22``, between nought and one.

    Raises
    ------
    InputError
        Another form, or out of range.
    """
    bare = text.strip().removesuffix("%").strip()
    try:
        value = Decimal(bare)
    except InvalidOperation:
        value = Decimal(-1)
    if text.strip().endswith("%"):
        value /= 100
    if not (value.is_finite() and 0 <= value <= 1):
        raise InputError("not a share", where=where, received=text, remedy="Write it as 22 %.")
    return value


def _half_up(value: Decimal) -> int:
    return int(value.quantize(Decimal(1), rounding=ROUND_HALF_UP))
