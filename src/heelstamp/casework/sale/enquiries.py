"""Enquiries about one instrument: who waits for an answer, who comes, what was said of price.

Folded from the journal, each enquirer by role. Nothing is decided here: who wants it and may not
have it yet stands in a queue, in the order in which they said so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from heelstamp.catalogue import Enquiry
from heelstamp.errors import ConflictError
from heelstamp.valuation.money import Money


@dataclass(frozen=True, slots=True)
class PriceSaid:
    """A price that was said: the day, by whom, how much."""

    day: str
    said_by: str
    sum: str


@dataclass(frozen=True, slots=True)
class Viewing:
    """A viewing that took place, with the photographs before and after it."""

    id: str
    day: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Enquirer:
    """Somebody who may buy.

    Attributes
    ----------
    since, last
        Days of the first and the last thing that was said.
    open
        What was asked and not answered: id, day, words; the oldest first.
    told
        Questions with their answers, the oldest first.
    waits
        Day since which they wait for their turn; empty for who does not.
    viewing
        Day agreed for a viewing; empty without.
    ended
        Day on which the talk ended; empty while it goes on.
    """

    party: str
    since: str
    last: str
    open: tuple[tuple[str, str, str], ...] = ()
    told: tuple[tuple[str, str], ...] = ()
    waits: str = ""
    viewing: str = ""
    viewed: tuple[Viewing, ...] = ()
    prices: tuple[PriceSaid, ...] = ()
    ended: str = ""
    why: str = ""


def enquirers_of(said: Iterable[Enquiry]) -> tuple[Enquirer, ...]:
    """Fold what was said, the enquirers in the order in which they came.

    Raises
    ------
    ConflictError
        Something was said before its cause: an answer to nothing, a day before the one before.
    """
    found: dict[str, Enquirer] = {}
    for one in said:
        before = found.get(one.party) or Enquirer(one.party, one.day, one.day)
        found[one.party] = _follow(before, one)
    return tuple(found.values())


def queue_of(enquirers: Iterable[Enquirer]) -> tuple[Enquirer, ...]:
    """Who waits for their turn, the first one first; equal days in the order they came."""
    return tuple(
        sorted((one for one in enquirers if one.waits and not one.ended), key=lambda one: one.waits)
    )


def _follow(before: Enquirer, one: Enquiry) -> Enquirer:
    if one.day < before.last:
        raise ConflictError(
            "a day before what it follows",
            where=one.id,
            received=f"{one.day}, after {before.last}",
            remedy="Give the day on which it happened, or correct what stands before.",
        )
    return _TAKE[one.event](replace(before, last=one.day, ended="", why=""), one)


def _asked(now: Enquirer, one: Enquiry) -> Enquirer:
    return replace(now, open=(*now.open, (one.id, one.day, one.text)))


def _answered(now: Enquirer, one: Enquiry) -> Enquirer:
    if not now.open:
        raise ConflictError(
            "an answer to nothing that was asked",
            where=one.id,
            received=one.party,
            remedy="Enter first what was asked.",
        )
    first, *rest = now.open
    return replace(now, open=tuple(rest), told=(*now.told, (first[2], one.text)))


def _price(now: Enquirer, one: Enquiry) -> Enquirer:
    amount = Money.parse(one.amount or "", one.currency or "", where=one.id)
    price = PriceSaid(one.day, one.said_by or "", str(amount))
    return replace(now, prices=(*now.prices, price))


def _waits(now: Enquirer, one: Enquiry) -> Enquirer:
    return now if now.waits else replace(now, waits=one.day)


def _viewing(now: Enquirer, one: Enquiry) -> Enquirer:
    return replace(now, viewing=one.on or "")


def _viewed(now: Enquirer, one: Enquiry) -> Enquirer:
    if not one.before:
        return _after(now, one)
    seen = Viewing(one.id, one.day, tuple(one.before), tuple(one.after), one.note)
    return replace(now, viewing="", viewed=(*now.viewed, seen))


def _ended(now: Enquirer, one: Enquiry) -> Enquirer:
    return replace(now, ended=one.day, why=one.note, waits="", viewing="")


def _after(now: Enquirer, one: Enquiry) -> Enquirer:
    """Photographs after a viewing that was entered before."""
    if not now.viewed or now.viewed[-1].after:
        raise ConflictError(
            "photographs after a viewing that is not entered",
            where=one.id,
            received=one.party,
            remedy="Enter the viewing with the photographs taken before it.",
        )
    *earlier, last = now.viewed
    note = " ".join(filter(None, (last.note, one.note)))
    return replace(now, viewed=(*earlier, replace(last, after=tuple(one.after), note=note)))


_TAKE: dict[str, Callable[[Enquirer, Enquiry], Enquirer]] = {
    "asked": _asked,
    "answered": _answered,
    "price said": _price,
    "waits": _waits,
    "viewing set": _viewing,
    "viewed": _viewed,
    "ended": _ended,
}
