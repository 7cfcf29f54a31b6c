"""What stands against the next step of a sale, from the dossier alone, and what lifts each.

Title, the owners' signatures, protected materials and the owner's consent block. What needs the
shop's lists and tables (near numbers, materials and routes, terms) is added by the shop
(`heelstamp.shop.sale`); all of it is looked at where entries are sealed, whatever way they come.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from heelstamp.casework.sale.last_sale import last_sale
from heelstamp.catalogue import (
    DossierState,
    MaterialsLooked,
    OwnerOf,
    Packing,
    SaleStep,
    TitleNote,
    TitleSearch,
)
from heelstamp.catalogue.sale import SaleStanding, sale_of
from heelstamp.wording import about_sale as about

OWNERSHIP = "ownership"
"""What a signed statement is about that stands for an owner's signature."""

HIT, TITLE, SIGNED, LOOKED, CONSENT, PAID, CUSTODY, PACKED = (
    *("hit", "title", "signed", "materials", "consent", "paid", "custody", "packed"),
)
NEEDS: Mapping[str, tuple[str, ...]] = {
    "cleared": (HIT, TITLE, SIGNED, LOOKED),
    "offered": (HIT, TITLE, SIGNED, LOOKED),
    "price cut": (HIT,),
    "held": (HIT,),
    "agreed": (HIT, TITLE, SIGNED, LOOKED, CONSENT),
    "payment": (HIT,),
    "refund": (HIT,),
    "paid": (HIT,),
    "handed over": (HIT, TITLE, CUSTODY),
    "to carrier": (HIT, TITLE, SIGNED, LOOKED, CONSENT, PAID, PACKED),
    "to buyer": (HIT, TITLE, SIGNED, LOOKED, CONSENT, PAID),
    "to owner": (HIT,),
    "sent out": (HIT,),
    "final": (HIT, TITLE),
    "payout": (HIT, TITLE),
    "settled": (HIT,),
}
"""What each step of a sale, and each hand-over, needs."""

PASSABLE = tuple(step for step, needs in NEEDS.items() if set(needs) - {HIT})
"""Steps that the owner of the shop can let pass: a hit is never let pass."""

PAID_STATES = frozenset({"paid", "handed over", "in return window", "final", "settled"})
PROMISED = frozenset({"agreed", "paid"})
"""While it is promised to a buyer, a carrier takes it to them."""

WITH_BUYER = frozenset({"with the carrier", "with the buyer"})


@dataclass(frozen=True, slots=True)
class Block:
    """What stands against a step: the need, its sentence, and whether it is never let pass."""

    need: str
    told: str
    firm: bool = False


def standing_of(state: DossierState) -> SaleStanding:
    """Where the sale of an instrument stands."""
    return sale_of(state.of(SaleStep).values())


def leaves_for_a_buyer(state: DossierState, step: str) -> bool:
    """Whether a hand-over takes it to a buyer: a carrier does while it is promised to one."""
    carried = step == "to carrier" and standing_of(state).state in PROMISED
    return carried or step == "to buyer"


def blocks_of(state: DossierState, step: str) -> list[Block]:
    """Return what stands against *step*, the firmest first."""
    needs = NEEDS.get(step, ())
    if step == "to carrier" and not leaves_for_a_buyer(state, step):
        needs = (HIT,)
    found = [one for one in _blocks(state) if one.need in needs]
    return sorted(found, key=lambda one: not one.firm)


ShopsBlocks = Callable[[DossierState, str], Sequence[Block]]
"""What a shop's own lists, tables and terms hold against a step, of a dossier as it would stand."""


def nothing_more(_: DossierState, __: str) -> Sequence[Block]:
    """Hold nothing against a step: a shop without lists, tables and terms."""
    return ()


def left_open(state: DossierState, step: str, shops: ShopsBlocks = nothing_more) -> list[Block]:
    """Return the blocks that no override of the shop's owner lets pass."""
    found = [*blocks_of(state, step), *shops(state, step)]
    let = any(lets == step for lets, _ in standing_of(state).overrides)
    return [one for one in found if one.firm or not let]


def _blocks(state: DossierState) -> Iterator[Block]:
    yield from _title(state)
    yield from _signatures(state)
    if state.last(MaterialsLooked) is None:
        yield Block(LOOKED, about.block_materials.say())
    for act in dict.fromkeys(one.act for one in state.treatments.values()):
        asked = [one for one in state.consents.values() if one.act == act]
        if asked and not asked[-1].granted:
            standing = state.leave(act).standing
            yield Block(CONSENT, about.block_consent.say(act=act, standing=standing))
    sale = standing_of(state)
    if sale.state not in PAID_STATES or sale.cleared <= 0:  # all may have been given back
        yield Block(PAID, about.block_unpaid.say(state=sale.state))
    last = last_sale(state)
    if last is None or not any(one.day >= last.agreed.day for one in state.of(Packing).values()):
        yield Block(PACKED, about.block_packed.say())
    if state.custody_state not in WITH_BUYER:
        yield Block(CUSTODY, about.block_custody.say(custody=state.custody_state))


def _title(state: DossierState) -> Iterator[Block]:
    searches = {one.register.casefold(): one for one in state.of(TitleSearch).values()}
    for one in searches.values():
        if one.hit:
            told = about.block_hit.say(register=one.register, result=one.result or "a hit")
            yield Block(HIT, told, firm=True)
    if not searches:
        yield Block(TITLE, about.block_search.say())
    notes = {one.subject.casefold(): one for one in state.of(TitleNote).values()}
    for note in notes.values():
        if note.open:
            yield Block(TITLE, about.block_note.say(note=note.subject))


def _signatures(state: DossierState) -> Iterator[Block]:
    owners = {one.role.casefold(): one for one in state.of(OwnerOf).values()}
    signed = [one for one in state.statements.values() if one.about == OWNERSHIP and one.signed]
    if not owners and not signed:
        yield Block(SIGNED, about.block_no_owner.say())
    for owner in owners.values():
        if owner.signed is None:
            yield Block(SIGNED, about.block_owner.say(role=owner.role))
