"""A schedule of asking prices that falls to a floor, and the age of a consignment.

Common practice of the trade, no source. Days are whole calendar days (ISO 8601).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from heelstamp.errors import InputError
from heelstamp.valuation.money import Money

MOST_STEPS = 200


@dataclass(frozen=True, slots=True)
class PriceStep:
    """An asking price and the day from which it holds."""

    day: date
    price: Money


def price_cuts(
    start: Money, floor: Money, *, first: date, every_days: int, cut: Decimal, step: Money
) -> tuple[PriceStep, ...]:
    """Lay out a schedule of price cuts.

    Parameters
    ----------
    start, floor
        First asking price, and the one below which it never falls.
    first
        Day of the first price.
    every_days
        Days between cuts.
    cut
        Share of the price before that comes off each time.
    step
        Prices are rounded to whole steps (the floor is kept as it is).

    Raises
    ------
    InputError
        The floor is above the start, the cut is not between 0 and 1, or the schedule never ends.
    """
    if start < floor:
        raise InputError(
            "the floor is above the first price",
            received=f"{floor} and {start}",
            remedy="Lower the floor, or ask more.",
        )
    if not 0 < cut < 1 or every_days < 1:
        raise InputError(
            "a schedule cuts by a share, every so many days",
            received=f"{cut} every {every_days}",
            remedy="Such as 5 % every 30 days.",
        )
    found = [PriceStep(first, start)]
    while floor < found[-1].price:
        if len(found) > MOST_STEPS:
            raise InputError("the schedule never ends", remedy="Cut more, or in finer steps.")
        before = found[-1].price
        price = (before - before.share(cut)).rounded_to(step)
        if not price < before:
            price = before - step
        price = max(floor, price)
        found.append(PriceStep(first + timedelta(days=every_days * len(found)), price))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Ageing:
    """How long a consignment has run.

    Attributes
    ----------
    days, left
        Days since it was received; days until the term ends, below nought when it is over.
    ends
        Last day of the term.
    """

    days: int
    left: int
    ends: date


def ageing(received: date, term_days: int, today: date) -> Ageing:
    """Tell how far a term has run.

    Raises
    ------
    InputError
        *today* lies before the day of receipt, or there is no term.
    """
    if today < received or term_days < 1:
        raise InputError(
            "a consignment cannot be younger than nought days",
            received=f"{received} to {today}, term {term_days} days",
            remedy="Check the dates.",
        )
    ends = received + timedelta(days=term_days)
    return Ageing((today - received).days, (ends - today).days, ends)


def payment_day(sold: date, after_days: int) -> date:
    """The day by which the consignor is paid."""
    return sold + timedelta(days=after_days)
