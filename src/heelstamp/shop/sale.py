"""The sale of a dossier's instrument: what stands against each step, and the steps themselves.

To what the dossier alone says (`heelstamp.casework.sale`) the shop's lists, the tables of materials
and the terms add theirs. Sums that follow from terms are worked out here and typed by nobody: what
is due to the consignor is the settlement of what the buyer paid and kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.sale.blocks import Block, blocks_of, standing_of
from heelstamp.casework.sale.gate import require_open
from heelstamp.catalogue.bodies.sale import NEEDS
from heelstamp.catalogue.sale import SaleStanding, on_day, possible_steps
from heelstamp.errors import HeelstampError
from heelstamp.shop.sale_blocks import due_by_terms
from heelstamp.shop.title_file import TitleFile, title_file
from heelstamp.wording import about_sale as about

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.casework.sale.account import Account
    from heelstamp.shop.opened import OpenShop

HOLD_DAYS, WINDOW_DAYS = 7, 14
"""A hold and a return window where nobody says how long (common practice; the law of the place may
ask for more)."""

WIDTH_90 = 2 * 1.6449
"""Standard deviations between the ends of a 90 % range of a normal distribution."""

FIELDS = ("party", "amount", "of", "means", "until", "names", "lets", "note")


@dataclass(frozen=True)
class Possible:
    """A step that can follow: its fields, and what stands against it."""

    event: str
    fields: tuple[str, ...]
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class SaleView:
    """Where a sale stands, and what may follow.

    Attributes
    ----------
    net
        What is due to the consignor at the price agreed, exact; empty without terms or price.
    accounts
        Money of this dossier, by currency.
    """

    standing: SaleStanding
    possible: tuple[Possible, ...]
    title: TitleFile
    net: str
    accounts: Sequence[Account]
    overridden: tuple[str, ...]


def sale_view(shop: OpenShop, tag: str, today: str) -> SaleView:
    """Lay out the sale of a dossier on a day."""
    from heelstamp.casework.sale.account import accounts, movements_of
    from heelstamp.shop.terms import terms_for

    state = shop.subject(tag).state
    standing = on_day(standing_of(state), today)
    terms = terms_for(shop, tag)
    return SaleView(
        standing,
        tuple(
            Possible(event, _asked(event), tuple(sale_blocks(shop, tag, event)))
            for event in possible_steps(standing)
        ),
        title_file(shop, tag),
        str(standing.due) if standing.due is not None else due_by_terms(terms, standing),
        accounts(movements_of(state)),
        tuple(about.overridden.say(step=step, reason=why) for step, why in standing.overrides),
    )


def sale_blocks(shop: OpenShop, tag: str, event: str) -> list[Block]:
    """Return what stands against a step, the shop's lists, tables and terms among it."""
    state = shop.subject(tag).state
    return [*blocks_of(state, event), *shop.against(state, event)]


def take_step(
    shop: OpenShop, tag: str, stamp: EntryStamp, event: str, told: Mapping[str, str], *, by: str
) -> None:
    """Enter a step of a sale; sums and days that follow from terms are filled in.

    Parameters
    ----------
    told
        ``day`` and the fields of `heelstamp.catalogue.bodies.sale.SaleStep`; blank is not told.
        With *agreed* ``name`` and ``contact`` of the buyer, which are kept apart.

    Raises
    ------
    ConflictError
        Something stands against the step, or it cannot follow; says what lifts that.
    InputError
        A field is wanting or cannot be read.
    """
    from heelstamp.shop.terms import terms_for

    state = shop.subject(tag).state
    if stamp.id in state.entered:
        return
    require_open(state, event, shop.against, where=tag)
    standing, terms = standing_of(state), terms_for(shop, tag)
    body: dict[str, Any] = {"id": stamp.id, "event": event, "day": told.get("day") or stamp.at[:10]}
    body |= {key: told[key].strip() for key in FIELDS if told.get(key, "").strip()}
    _fill_in(body, event, standing, terms, shop.currency)
    if event == "offered":
        body |= value_now(shop, tag)
    new = [NewEntry("sale", body | stamp.late)]
    if event == "agreed":
        price = {"of": "sold", "amount": body.get("amount"), "currency": shop.currency}
        why = {"id": stamp.second("price"), "reason": f"agreed with {body.get('party', 'a buyer')}"}
        if body.get("amount"):
            new.append(NewEntry("price", price | why))
    shop.enter(tag, new, by=by)
    if event == "agreed" and told.get("name", "").strip():
        from heelstamp.shop.persons import keep_person

        keep_person(
            shop,
            tag,
            role=body["party"],
            name=told["name"],
            contact=told.get("contact", ""),
            purpose="buyer",
            day=body["day"],
        )


def value_now(shop: OpenShop, tag: str) -> dict[str, Any]:
    """Market value of an instrument as it is known now, as fields of an offer; none without one."""
    from math import log

    from heelstamp.shop.prices import priced
    from heelstamp.valuation.money import Money

    try:
        finding = priced(shop, tag).finding
    except HeelstampError:
        return {}
    if finding is None:
        return {}
    low, high = finding.market.interval_90
    middle = Money.nearest(round(finding.market.median), shop.currency)
    return {"value": str(middle.amount), "doubt": round(log(high / low) / WIDTH_90, 4)}


def shop_accounts(shop: OpenShop, first: str = "", last: str = "9999-12-31") -> Sequence[Account]:
    """Add up the money of all sales of a shop over a period, one account a currency."""
    from heelstamp.casework.dossier import state_of
    from heelstamp.casework.sale.account import accounts, movements_of

    moved = [one for tag in shop.journals.tags() for one in movements_of(state_of(shop, tag))]
    return accounts(moved, first=first, last=last)


def _asked(event: str) -> tuple[str, ...]:
    needed = [one for one in NEEDS.get(event, ()) if one != "currency"]
    return tuple(one for one in needed if (event, one) != ("final", "amount"))


def _fill_in(
    body: dict[str, Any], event: str, standing: SaleStanding, terms: Terms | None, currency: str
) -> None:
    needed = NEEDS.get(event, ())
    if "amount" in body:
        from heelstamp.valuation.money import Money

        sum_ = Money.parse(body["amount"].removesuffix(currency), currency, where="field amount")
        body["amount"] = str(sum_.amount)
    if "currency" in needed:
        body["currency"] = currency
    if event == "offered" and "amount" not in body and terms is not None and terms.start:
        body["amount"] = str(terms.start.amount)
    if event == "final":
        body["amount"] = due_by_terms(terms, standing) or None
    length = {"held": HOLD_DAYS, "window opened": _window(terms)}.get(event)
    if length is not None and "until" not in body:
        body["until"] = (day_of(body["day"], "field day") + timedelta(days=length)).isoformat()
    for key in [key for key, value in body.items() if value is None]:
        del body[key]


def _window(terms: Terms | None) -> int:
    return WINDOW_DAYS if terms is None else terms.document.return_days


def day_of(text: str, where: str) -> date:
    """Read a day, ``2026-11-02``.

    Raises
    ------
    InputError
        Another form, or no such day.
    """
    from heelstamp.units import read_day

    return read_day(text, where)
