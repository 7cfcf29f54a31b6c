"""Odd ones in the sets of a dossier, with the rate of the census; the same for both faces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.casework.odd_parts import BaseRate, OddSet
    from heelstamp.shop.opened import OpenShop


@dataclass(frozen=True)
class OddTold:
    """A set, its rate in the census, and both in words."""

    set: OddSet
    rate: BaseRate
    materiality: str
    said: tuple[str, ...]
    entered: bool


def odd_parts(shop: OpenShop, tag: str) -> tuple[OddTold, ...]:
    """Every set that was looked over; sets that hold an odd one first."""
    from heelstamp.casework.odd_parts import SIGN, base_rate, materiality, odd_sets
    from heelstamp.shop.census import last_rows
    from heelstamp.shop.prices import market_of
    from heelstamp.units import Period, parse_month

    subject = shop.subject(tag)
    sets = odd_sets(subject.state, subject.tree, subject.chronology)
    if not sets:
        return ()
    ends = shop.finding(tag).completion.interval["90"]
    period = None if ends is None else Period(parse_month(ends[0]), parse_month(ends[1]))
    rows = [one for one in last_rows(shop, subject.chronology) if one.id != tag]
    market = market_of(shop)
    said = {one.part for one in subject.state.observations.values() if one.sign == SIGN}
    found = []
    for one in sorted(sets, key=lambda each: not each.odd):
        rate = base_rate(rows, one, subject.chronology, period)
        worth = materiality(one.part, market)
        label = subject.tree[one.part].label
        found.append(OddTold(one, rate, worth, _said(one, rate, worth, label), one.part in said))
    return tuple(found)


def enter_odd(shop: OpenShop, tag: str, stamp: EntryStamp, key: str, *, by: str) -> None:
    """Enter of a set whether it holds an odd one, so that the census learns of it.

    Raises
    ------
    InputError
        There is no such set, or it was said already.
    """
    from heelstamp.casework.odd_parts import odd_sets, sign_entries

    subject = shop.subject(tag)
    sets = odd_sets(subject.state, subject.tree, subject.chronology)
    shop.enter(tag, sign_entries(subject.state, stamp, sets, key), by=by)


def _said(one: OddSet, rate: BaseRate, worth: str, label: str) -> tuple[str, ...]:
    from heelstamp.units.months import name_month
    from heelstamp.wording import about_odd_parts as about

    if not one.odd:
        return (about.alike.say(part=label, looked=one.looked, usual=one.usual),)
    first, last = (
        ("", "")
        if rate.period is None
        else (name_month(rate.period.first), name_month(rate.period.last))
    )
    return (
        about.odd.say(part=label, looked=one.looked, odd=one.odd, usual=one.usual),
        about.rate.say(
            odd=rate.odd, of=rate.of, low=rate.low, high=rate.high, first=first, last=last
        ),
        about.materiality.say(word=worth),
    )
