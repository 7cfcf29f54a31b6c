"""The next look at a dossier, with what each would clear up in money; remembered."""

from __future__ import annotations

from collections.abc import Hashable
from typing import TYPE_CHECKING

from heelstamp.shop.comparables import sales_of
from heelstamp.shop.prices import money_gain, rests_on
from heelstamp.shop.subjects import plan_of

if TYPE_CHECKING:
    from heelstamp.casework.inspections import Plan
    from heelstamp.shop.opened import OpenShop


def next_look(shop: OpenShop, tag: str) -> Plan:
    """Plan the next look at a dossier; it takes seconds, so ask for it where it is not ready."""
    subject = shop.subject(tag)

    def make() -> Plan:
        rows = sales_of(shop, subject.chronology.id)
        return plan_of(subject, money_gain(shop, subject, rows))

    return shop.remembered(_ground(shop, tag), tag, make)


def next_look_ready(shop: OpenShop, tag: str) -> bool:
    """Whether the next look at a dossier as it stands is remembered."""
    return shop.has(_ground(shop, tag), tag)


def _ground(shop: OpenShop, tag: str) -> Hashable:
    return ("next look", rests_on(shop, tag))
