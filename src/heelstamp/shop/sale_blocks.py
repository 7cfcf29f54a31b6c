"""What the shop's lists, tables and terms hold against a step of a sale.

An opened shop hands this to where entries are sealed, so that it holds whatever way a step comes.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from heelstamp.casework.sale.blocks import PAID_STATES, Block, leaves_for_a_buyer, standing_of
from heelstamp.errors import InputError
from heelstamp.shop.subjects import Subject
from heelstamp.wording import about_sale as about

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.catalogue import DossierState
    from heelstamp.catalogue.sale import SaleStanding
    from heelstamp.shop.opened import OpenShop

LISTED = frozenset({"cleared", "offered", "agreed"})
"""Steps for which the shop's lists and tables are asked too, beside a hand-over for a buyer."""


def shops_blocks(shop: OpenShop, state: DossierState, event: str) -> list[Block]:
    """Return what the shop's lists, tables and terms hold against a step.

    Parameters
    ----------
    state
        The dossier as it stands, or as it would stand with the step.
    """
    from heelstamp.shop.clearance import clear
    from heelstamp.shop.terms import terms_for

    tag, found = state.instrument.tag, []
    if event in LISTED or leaves_for_a_buyer(state, event):
        one = state.instrument
        chronology = shop.chronology(one.chronology)
        subject = Subject(tag, state, shop.tree_for(one.kind), chronology, shop)
        cleared = clear(shop, subject, ())
        near = [one for one in cleared.near if one.settled is None]
        told = [about.block_near.say(number=one.number, where=one.where) for one in near]
        told += [
            about.block_material.say(rule=one.rule, question=one.question)
            for one in cleared.materials
            if one.answer is None
        ]
        found += [Block("clearance", one) for one in told]
    if event in ("offered", "agreed", "final") and terms_for(shop, tag) is None:
        found.append(Block("terms", about.block_terms.say()))
    elif event in ("offered", "agreed") and not _signed(shop, state):
        found.append(Block("terms", about.block_unsigned.say()))
    if event == "final":
        found += _other_sum(shop, tag, standing_of(state))
    return found


def due_by_terms(terms: Terms | None, standing: SaleStanding) -> str:
    """What is due to the consignor of what the buyer pays and keeps; empty when not known.

    Raises
    ------
    InputError
        The consignor would owe.
    """
    from heelstamp.valuation.money import Money

    if terms is None or standing.agreed is None:
        return ""
    paid = standing.state in PAID_STATES
    kept: Decimal = standing.cleared if paid else standing.agreed
    net = terms.settled(Money.of(kept, terms.document.currency)).net
    if net.minor < 0:
        raise InputError(
            "the sale leaves the consignor owing",
            received=str(net),
            remedy="Agree with the consignor how charges are borne, and change the terms.",
        )
    return str(net.amount)


def _other_sum(shop: OpenShop, tag: str, standing: SaleStanding) -> list[Block]:
    """A sum entered as due that the terms do not make."""
    from heelstamp.shop.terms import terms_for

    due = due_by_terms(terms_for(shop, tag), standing) if standing.due is not None else ""
    if not due or standing.due == Decimal(due):
        return []
    return [Block("terms", about.block_other_sum.say(due=f"{due} {standing.currency}"))]


def _signed(shop: OpenShop, state: DossierState) -> bool:
    from heelstamp.archive import sha256
    from heelstamp.casework.appraisal.agreement import signatures_of
    from heelstamp.shop.files import read_file
    from heelstamp.shop.terms import terms_file

    path = terms_file(shop.folder, state.instrument.tag)
    return path is not None and bool(signatures_of(state, sha256(read_file(path))).signed)
