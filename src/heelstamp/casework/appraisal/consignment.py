"""Terms of a consignment as the shop declares them.

A document in TOML, schema ``heelstamp/consignment/1``: commission by tiers, charges, tax as
declared, reserve and floor, term, payment day, price cuts, and clauses in the shop's own words
(who may open what, who bears a loss, what a return costs). Amounts are text, so that no binary
fraction comes between the paper and the sum. Nothing here judges whether a clause or a tax scheme
is lawful: advice is not given.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Annotated, Any

import msgspec

from heelstamp.catalogue.conversion import convert
from heelstamp.errors import HeelstampError, InputError
from heelstamp.units import read_day
from heelstamp.valuation.money import Money, parse_rate
from heelstamp.valuation.price_cuts import Ageing, PriceStep, ageing, price_cuts
from heelstamp.valuation.settlement import (
    SCHEMES,
    Charge,
    Settlement,
    SettlementTerms,
    Tax,
    Tier,
    least_price_for,
    settle,
)

CONSIGNMENT_SCHEMA = "heelstamp/consignment/1"
Days = Annotated[int, msgspec.Meta(ge=1, le=3650)]


class _Row(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    pass


class TierRow(_Row, frozen=True):
    """A commission rate up to a price; the last has no end."""

    rate: str
    up_to: str | None = None


class ChargeRow(_Row, frozen=True):
    """A fixed sum."""

    name: Annotated[str, msgspec.Meta(pattern=r"\S")]
    amount: str


class TaxRow(_Row, frozen=True):
    """A tax scheme and rate, as the shop declares them."""

    scheme: str
    rate: str = "0"


class CutRow(_Row, frozen=True):
    """How the asking price falls."""

    share: str
    every_days: Days
    step: str = "50"


class PathRow(_Row, frozen=True):
    """An asking price from so many days after the first offer on."""

    after_days: Days
    price: str


class Clause(_Row, frozen=True):
    """A clause in the shop's own words."""

    title: str
    text: str


class Consignment(_Row, frozen=True):
    """A consignment; see the module head.

    Attributes
    ----------
    reserve
        Price below which nothing is sold without asking.
    floor_net
        What the consignor wants to net at least.
    start
        First asking price.
    received
        Day of receipt, ``2026-11-02``.
    return_days
        For how many days after delivery a buyer may give it back.
    cover_until
        Last day of the insurance cover, where that is agreed.
    path
        Asking prices after the first one, in place of equal cuts.
    unsold_worth
        What the piece unsold is worth to the consignor, as they say; the floor less what a return
        costs without it.
    return_cost
        What a return of the piece unsold costs them.
    waiting
        What a month of waiting costs them, a share.
    """

    schema: str
    currency: str
    commission: list[TierRow]
    least_commission: str | None = None
    charge: list[ChargeRow] = []
    tax: TaxRow | None = None
    reserve: str | None = None
    floor_net: str | None = None
    start: str | None = None
    received: str | None = None
    return_days: Annotated[int, msgspec.Meta(ge=0, le=365)] = 14
    cover_until: str | None = None
    term_days: Days = 180
    pay_days: Days = 14
    cut: CutRow | None = None
    path: Annotated[list[PathRow], msgspec.Meta(max_length=100)] = []
    unsold_worth: str | None = None
    return_cost: str | None = None
    waiting: str = "1 %"
    clause: list[Clause] = []


@dataclass(frozen=True)
class Terms:
    """Terms, read and checked.

    Attributes
    ----------
    settlement
        For the engine.
    least_price
        Least price that nets the consignor's floor, or None.
    path
        Days after the first offer, and the price from then on, in place of equal cuts.
    unsold
        What the piece unsold is worth to the consignor; None where neither that nor a floor is
        told.
    waiting
        What a month of waiting costs them, a share.
    """

    document: Consignment
    settlement: SettlementTerms
    reserve: Money | None
    start: Money | None
    least_price: Money | None
    received: date | None
    path: tuple[tuple[int, Money], ...] = ()
    unsold: Money | None = None
    waiting: Decimal = Decimal("0.01")

    def settled(self, price: Money) -> Settlement:
        """Settle a price."""
        return settle(price, self.settlement)

    def offer(self, price: Money) -> tuple[Settlement, str]:
        """Settle an offer, and say how it stands to reserve and floor."""
        found = settle(price, self.settlement)
        if self.reserve is not None and price < self.reserve:
            return found, f"below the reserve of {self.reserve}: ask the consignor"
        if self.least_price is not None and price < self.least_price:
            return found, f"below {self.least_price}, which nets the consignor's floor: ask"
        return found, "at or above reserve and floor"

    def schedule(self, first: date) -> tuple[PriceStep, ...]:
        """Lay out the asking prices from a first day; none without cuts, path or first price."""
        cut = self.document.cut
        if self.start is None:
            return ()
        if self.path:
            later = [PriceStep(first + timedelta(days=days), price) for days, price in self.path]
            return (PriceStep(first, self.start), *later)
        if cut is None:
            return ()
        currency = self.document.currency
        floors = [one for one in (self.reserve, self.least_price) if one is not None]
        floor = (
            max(floors, key=lambda one: one.minor) if floors else self.start.share(Decimal("0.5"))
        )
        return price_cuts(
            self.start,
            floor,
            first=first,
            every_days=cut.every_days,
            cut=parse_rate(cut.share, where="cut.share"),
            step=Money.parse(cut.step, currency, where="cut.step"),
        )

    def age(self, today: date) -> Ageing | None:
        """Tell how far the term has run, when the day of receipt is known."""
        if self.received is None:
            return None
        return ageing(self.received, self.document.term_days, today)


def parse_terms(data: Mapping[str, Any], *, where: str) -> Terms:
    """Read terms.

    Raises
    ------
    InputError
        Another schema, an unknown field, an amount, share or day that cannot be, tiers that do not
        rise.
    """
    if data.get("schema") != CONSIGNMENT_SCHEMA:
        raise InputError(
            "not terms of consignment this program reads",
            where=where,
            received=data.get("schema"),
            remedy=f'Write schema = "{CONSIGNMENT_SCHEMA}" at the top.',
        )
    document = convert(dict(data), Consignment, where=where)
    try:
        return _terms(document)
    except HeelstampError as error:
        raise error.at(where) from None


def _terms(document: Consignment) -> Terms:
    currency = document.currency

    def money(text: str | None, field: str) -> Money | None:
        return None if text is None else Money.parse(text, currency, where=f"field {field}")

    tax = Tax()
    if document.tax is not None:
        scheme = next((one for one in SCHEMES if one == document.tax.scheme), None)
        if scheme is None:
            raise InputError(
                "no such tax scheme",
                where="field tax.scheme",
                received=document.tax.scheme,
                remedy="Use one of: " + ", ".join(SCHEMES) + ".",
            )
        tax = Tax(scheme, parse_rate(document.tax.rate, where="field tax.rate"))
    settlement = SettlementTerms(
        currency,
        [
            Tier(money(one.up_to, "commission.up_to"), parse_rate(one.rate, where="commission"))
            for one in document.commission
        ],
        money(document.least_commission, "least_commission"),
        [
            Charge(one.name, Money.parse(one.amount, currency, where=f"charge {one.name}"))
            for one in document.charge
        ],
        tax,
    )
    floor = money(document.floor_net, "floor_net")
    unsold = money(document.unsold_worth, "unsold_worth")
    cost = money(document.return_cost, "return_cost")
    if unsold is None and floor is not None:
        unsold = floor if cost is None else floor - cost
    if document.cover_until is not None:
        read_day(document.cover_until, "field cover_until")
    return Terms(
        document,
        settlement,
        money(document.reserve, "reserve"),
        money(document.start, "start"),
        None if floor is None else least_price_for(floor, settlement),
        None if document.received is None else read_day(document.received, "field received"),
        _path(document),
        unsold,
        parse_rate(document.waiting, where="field waiting"),
    )


def _path(document: Consignment) -> tuple[tuple[int, Money], ...]:
    """Prices after the first: later each time, and lower."""
    if not document.path:
        return ()
    where = "field path"
    if document.cut is not None or document.start is None:
        raise InputError(
            "a path of prices stands in place of equal cuts, after a first price",
            where=where,
            received="cuts besides" if document.cut is not None else "no first price",
            remedy="Leave the cuts blank, or the path." if document.cut else "Give a first price.",
        )
    currency = document.currency
    days, before = 0, Money.parse(document.start, currency, where="field start")
    found = []
    for row in document.path:
        price = Money.parse(row.price, currency, where=where)
        if row.after_days <= days or not price < before or price.minor <= 0:
            raise InputError(
                "a path of prices falls, each price later than the one before",
                where=where,
                received=f"{row.price} after {row.after_days} days",
                remedy=f"After {days} days it is {before}.",
            )
        found.append((row.after_days, price))
        days, before = row.after_days, price
    return tuple(found)
