"""What the page of other shops shows: who is known, what is here of them, this shop's own key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from heelstamp.casework.federation.limits import LEAST, SHARP
from heelstamp.casework.federation.summary import GATHERED
from heelstamp.shop.census import census_here
from heelstamp.shop.federation import Taken, given_before, taken
from heelstamp.shop.known_shops import known_shops
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.shop_key import known_keys
from heelstamp.wording import about_federation as about


@dataclass(frozen=True, slots=True)
class ShopHere:
    """A shop that is known, and its last tables of this maker; None where nothing was taken."""

    key: str
    name: str
    last: Taken | None

    @property
    def standing(self) -> str:
        """What is here of it, in words."""
        if self.last is None:
            return "nothing taken yet"
        tables = self.last.tables
        told = (
            f"tables {tables.number} of {tables.day}: {len(tables.tables)} change-overs, from "
            f"{tables.gathered}, dated by {' and '.join(tables.dated_by) or 'nothing told'}"
        )
        return told if self.last.joins else f"{told}; made on another edition, not joined"


def other_shops_view(shop: OpenShop, id_: str) -> dict[str, Any]:
    """Lay out the page of one maker."""
    here = taken(shop, id_)
    last = {one.key: one for one in here}  # by key and number: the last one stays
    keys = [one.fingerprint for one in known_keys(shop.folder).values() if not one.earlier]
    return {
        "shops": [
            ShopHere(key, name, last.get(key))
            for key, name in sorted(known_shops(shop).items(), key=lambda one: one[1].casefold())
        ],
        "own_key": keys[0] if keys else "",
        "teaching": len(census_here(shop, id_).taught),
        "told_before": sum(one.kind == "tables" for one in given_before(shop, id_)),
        "gathered": GATHERED,
        "least": LEAST,
        "sharp": SHARP,
        "guessed": about.months_can_be_guessed.say(),
        "found": about.masked_can_be_found.say(),
    }


def taken_sentence(one: Taken) -> str:
    """Say what was taken."""
    return about.tables_taken.say(
        shop=one.name,
        number=one.tables.number,
        chronology=one.tables.chronology,
        features=len(one.tables.tables),
        gathered=one.tables.gathered,
    )
