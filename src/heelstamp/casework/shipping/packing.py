"""How an instrument was packed: what the entry shows and lacks, what to ask about the route.

Prompts only: carriers' conditions, customs and consumer law are for the carrier, the authority of
each country and a licensed adviser. Numbers are common practice without a source unless one is
named.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from heelstamp.casework.photo_plan import PhotoPlan, Slot
from heelstamp.catalogue import DossierState, Packing
from heelstamp.valuation.money import Money
from heelstamp.wording import about_shipping as about

PACKED_STAGES = ("packed", "in the parcel")
"""Stages of the photo plan in which packing is photographed."""

WITHDRAWAL_DAYS = 14
"""Directive 2011/83/EU, article 9 (1): a consumer may withdraw from a contract at a distance within
14 days."""


@dataclass(frozen=True, slots=True)
class Shot:
    """A photograph that the plan asks of a packing, and frames that are it, the newest first."""

    slot: Slot
    frames: tuple[str, ...]


def packing_shots(state: DossierState, plan: PhotoPlan) -> tuple[Shot, ...]:
    """The photographs of packing, in the order of the plan."""
    taken = tuple(reversed(tuple(state.photographs.values())))
    return tuple(
        Shot(slot, tuple(one.id for one in taken if slot.holds(one)))
        for slot in plan.slots
        if slot.stage in PACKED_STAGES
    )


def packing_told(packing: Packing, state: DossierState, shots: Sequence[Shot]) -> list[str]:
    """Say what a packing shows and what it lacks, the photographs of the plan among it."""
    return list(_told(packing, state, shots))


def _told(one: Packing, state: DossierState, shots: Sequence[Shot]) -> Iterator[str]:
    yield about.parcel.say(
        weight_g=one.weight_g,
        sides=(one.length_mm, one.width_mm, one.height_mm),
        girth_mm=one.length_mm + 2 * (one.width_mm + one.height_mm),
    )
    weighed = [passed.weight_g for passed in state.custody.values() if passed.weight_g is not None]
    if weighed and one.weight_g <= weighed[-1]:
        yield about.too_light.say(parcel=one.weight_g, own=weighed[-1])
    if one.tuned_down:
        yield about.tuned_down.say(semitones=one.tuned_down)
    else:
        yield about.not_tuned_down.say()
    if not one.seal.strip():
        yield about.no_seal.say()
    named = set(one.frames)
    wanting = [shot.slot.label for shot in shots if named.isdisjoint(shot.frames)]
    yield about.packing_frames.say(taken=len(shots) - len(wanting), wanting=wanting)
    if not one.logger:
        yield about.no_logger.say()
    yield from _cover(one)


def _cover(one: Packing) -> Iterator[str]:
    currency = one.currency or ""
    if one.value is None or one.cover is None:
        yield about.cover_not_asked.say()
        return
    value, cover = Decimal(one.value), Decimal(one.cover)
    if cover < value:
        short = str(Money.of(value - cover, currency))
        yield about.cover_short.say(short=short, value=str(Money.of(value, currency)))
    if one.limit is None:
        yield about.limit_not_asked.say()
    elif cover > Decimal(one.limit):
        limit = str(Money.of(Decimal(one.limit), currency))
        yield about.beyond_limit.say(limit=limit, cover=str(Money.of(cover, currency)))


def route_prompts(route: str, *, known: bool, window_days: int) -> list[str]:
    """What to ask about a route besides protected materials.

    Parameters
    ----------
    known
        Whether rules of this route are known here.
    window_days
        Of the shop's own return window.
    """
    told = [about.batteries.say(), about.customs.say(route=route)]
    if not known:
        told.insert(0, about.route_not_known.say(route=route))
    if route == "EU" and window_days < WITHDRAWAL_DAYS:
        told.append(about.window_short.say(days=window_days, law=WITHDRAWAL_DAYS))
    else:
        told.append(about.distance_sale.say(days=window_days, law=WITHDRAWAL_DAYS))
    return told
