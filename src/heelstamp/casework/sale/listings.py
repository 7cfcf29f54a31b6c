"""What the sales of a shop tell of time: weeks on offer at which price, sold or not.

A hold stops the clock, and so does an agreement that fell through. A sale counts in the week of the
agreement; a piece withdrawn or still on offer is unsold until its last whole week. The value is the
one that was kept on the day of the first offer: a later one has learned from this very sale.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from math import log

from heelstamp.catalogue import DossierState, SaleStep
from heelstamp.catalogue.sale import SaleStanding, follow, on_day
from heelstamp.valuation.time_to_sell import Listing

WEEK = 7


@dataclass(frozen=True, slots=True)
class Offer:
    """One time on offer.

    Attributes
    ----------
    listing
        For the engine; None where no value was kept, or before its first whole week.
    weeks
        Whole weeks on offer, holds left out.
    open
        Whether it is still on offer.
    """

    listing: Listing | None
    weeks: int
    open: bool


def offers_of(state: DossierState, today: str) -> list[Offer]:
    """List the times that an instrument was offered, up to a day."""
    found: list[Offer] = []
    standing = SaleStanding()
    days: list[str] = []
    prices: list[float] = []
    first: SaleStep | None = None
    for step in state.of(SaleStep).values():
        if step.day > today:
            break
        if first is not None:
            _on_offer(standing, step.day, days, prices)
        standing = follow(standing, step)
        if step.event == "offered":
            first, days, prices = step, [], []
        if first is not None and step.event in ("agreed", "withdrawn"):
            ended = step.event == "agreed" and not _fell_through(state, step)
            if ended or step.event == "withdrawn":
                paid = log(float(step.amount)) if ended and step.amount else None
                found.append(_offer(first, prices, sold=ended, going=False, paid=paid))
                first = None
    if first is not None:
        _on_offer(standing, today, days, prices)
        found.append(_offer(first, prices, sold=False, going=True))
    return found


def _fell_through(state: DossierState, agreed: SaleStep) -> bool:
    later: Iterator[SaleStep] = iter(state.of(SaleStep).values())
    for step in later:
        if step.id == agreed.id:
            break
    return any(step.event == "fell through" for step in later)


def _on_offer(standing: SaleStanding, until: str, days: list[str], prices: list[float]) -> None:
    """Add the days on offer from the last step up to one day before *until*."""
    if standing.asked is None or not standing.day:
        return
    at, end = date.fromisoformat(standing.day).toordinal(), date.fromisoformat(until).toordinal()
    for ordinal in range(at, end):
        day = date.fromordinal(ordinal).isoformat()
        if on_day(standing, day).state == "offered":
            days.append(day)
            prices.append(log(float(standing.asked)))


def _offer(
    first: SaleStep, prices: list[float], *, sold: bool, going: bool, paid: float | None = None
) -> Offer:
    weekly = prices[::WEEK]
    if not sold:
        weekly = weekly[: len(prices) // WEEK]
    elif len(prices) % WEEK == 0:  # agreed on the first day of a week, which is not in it yet
        weekly = [*weekly, prices[-1] if prices else log(float(first.amount or 1))]
    listing = None
    if weekly and first.value is not None and first.doubt is not None:
        week = (date.fromisoformat(first.day).timetuple().tm_yday - 1) / WEEK
        value = log(float(first.value))
        listing = Listing(tuple(weekly), value, first.doubt, week, sold, paid)
    return Offer(listing, len(prices) // WEEK, going)
