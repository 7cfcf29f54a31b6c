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
from datetime import date
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
    """

    document: Consignment
    settlement: SettlementTerms
    reserve: Money | None
    start: Money | None
    least_price: Money | None
    received: date | None

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
        """Lay out the price cuts from a first day; none without a cut or a first price."""
        cut = self.document.cut
        if cut is None or self.start is None:
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
    if document.cover_until is not None:
        read_day(document.cover_until, "field cover_until")
    return Terms(
        document,
        settlement,
        money(document.reserve, "reserve"),
        money(document.start, "start"),
        None if floor is None else least_price_for(floor, settlement),
        None if document.received is None else read_day(document.received, "field received"),
    )
