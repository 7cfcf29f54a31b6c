"""Steps of a sale in a shop of tests: cleared, offered, sold."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fakes.web_shop import TAG
from heelstamp.casework.dossier import append
from heelstamp.casework.new_entry import EntryStamp
from heelstamp.shop.agreement import sign
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.sale import take_step
from heelstamp.shop.terms import terms_here

TERMS = Path(__file__).parents[2] / "examples" / "consignment.toml"
AT = "2026-03-{:02d}T12:00:00Z"
BY = "examiner A"


def enter(shop: OpenShop, kind: str, /, at: str = AT.format(2), **body: Any) -> None:
    """Enter one thing straight, past every page."""
    number = shop.subject(TAG).state.length
    append(shop, TAG, kind, {"id": f"e{number}", **body}, at=at, by=BY)


def clear_it(shop: OpenShop) -> None:
    """Take it in, search, look, sign: nothing stands against an offer."""
    enter(shop, "custody", event="received", giver="a consignor", receiver="examiner A")
    enter(shop, "title_search", register="the police list", hit=False, day="2026-03-02")
    enter(shop, "materials_looked", found="none", reason="looked at")
    enter(shop, "owner", role="a consignor", signed="2026-03-02")
    sign_it(shop)


def sign_it(shop: OpenShop) -> None:
    """Sign the terms that hold, on paper."""
    stamp = EntryStamp(f"s{shop.subject(TAG).state.length}", "", AT.format(2))
    base = terms_here(shop, TAG).digest
    sign(shop, TAG, stamp, role="a consignor", day="2026-03-02", base=base, by=BY)


def step(shop: OpenShop, event: str, day: int, by: str = BY, **told: str) -> None:
    """Enter a step on a day of March 2026, as the page does."""
    number = shop.subject(TAG).state.length
    stamp = EntryStamp(told.pop("id", f"v{number}"), "", AT.format(day))
    take_step(shop, TAG, stamp, event, {"day": f"2026-03-{day:02d}", **told}, by=by)


def ready_to_offer(shop: OpenShop) -> None:
    """Bring it up to an offer."""
    clear_it(shop)
    for event, day in (("examined", 2), ("cleared", 2), ("offered", 3)):
        step(shop, event, day)


def sold(shop: OpenShop) -> None:
    """Sell it for 9,100, paid by transfer and cleared."""
    ready_to_offer(shop)
    step(shop, "agreed", 4, party="buyer B", amount="9,100")
    step(shop, "payment", 4, of="balance", means="transfer", amount="9100", id="p1")
    step(shop, "funds cleared", 6, names="p1")
    step(shop, "paid", 6)
