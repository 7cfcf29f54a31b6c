"""What is insured where each night: the sum at each place against the limit of its cover.

Every hand-over and every night's storage names a place (custody). The value of an instrument on a
night is the insured value agreed by then. A place is covered by the first row of the policy whose
name stands in it; everything else is the row without a name. The alarm comes before a limit is
passed: from nine tenths of it, and for what would pass it with one more piece.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import msgspec

from heelstamp.casework.appraisal.agreed import INSURED
from heelstamp.catalogue import DossierState, Price
from heelstamp.catalogue.conversion import convert
from heelstamp.catalogue.custody import NOT_RECEIVED, next_state
from heelstamp.errors import InputError
from heelstamp.units import read_day
from heelstamp.valuation.money import Money

SCHEMA = "heelstamp/cover/1"
NEAR = 9, 10
"""Nine tenths of a limit: from there on the alarm is on (our choice)."""
ELSEWHERE = {
    "with the carrier": "on the way",
    "out for work": "out for work",
    "missing": "",
    "with the buyer": "",
    "back with the owner": "",
    NOT_RECEIVED: "",
}
"""Places by state of custody; empty where it is not in the shop's care."""


class CoverRow(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The cover of a place.

    Attributes
    ----------
    name
        Stands in the places it covers, such as ``store``; empty for every other place.
    limit
        The most that is paid, a sum.
    until
        Last day of the cover; empty where that is not told.
    """

    name: Annotated[str, msgspec.Meta(max_length=100)] = ""
    limit: str
    until: str = ""


class Cover(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The shop's cover, as it declares it."""

    schema: str
    currency: str
    place: list[CoverRow] = []


@dataclass(frozen=True, slots=True)
class Stay:
    """Where an instrument is on a night, and its value then; None where none is agreed."""

    tag: str
    place: str
    value: Money | None


@dataclass(frozen=True, slots=True)
class PlaceSum:
    """What lies at one place on a night.

    Attributes
    ----------
    limit
        None where no row of the cover names the place.
    unvalued
        Tags without an agreed value in the shop's currency: the sum is too small by them.
    """

    place: str
    sum: Money
    limit: Money | None
    until: str
    tags: tuple[str, ...]
    unvalued: tuple[str, ...]

    @property
    def over(self) -> bool:
        """Whether the limit is passed."""
        return self.limit is not None and self.limit < self.sum

    @property
    def near(self) -> bool:
        """Whether nine tenths of the limit are reached."""
        part, whole = NEAR
        return self.limit is not None and self.sum.minor * whole >= self.limit.minor * part

    @property
    def left(self) -> Money | None:
        """What may be added before the limit is passed."""
        return None if self.limit is None else self.limit - self.sum


def parse_cover(data: Mapping[str, Any], *, where: str) -> Cover:
    """Read the shop's cover.

    Raises
    ------
    InputError
        Another schema, an unknown field, a limit or a day that cannot be read, one place twice.
    """
    found = convert(dict(data), Cover, where=where)
    if found.schema != SCHEMA:
        raise InputError(
            "not a cover this program reads",
            where=where,
            received=found.schema,
            remedy=f'Write schema = "{SCHEMA}".',
        )
    names = [one.name.strip().casefold() for one in found.place]
    twice = next((one for one in names if names.count(one) > 1), None)
    if twice is not None:
        raise InputError("a place stands twice", where=where, received=twice or "elsewhere")
    for one in found.place:
        Money.parse(one.limit, found.currency, where=f"{where}, place {one.name or 'elsewhere'}")
        if one.until:
            read_day(one.until, where)
    return found


def stay_on(state: DossierState, night: str, currency: str) -> Stay | None:
    """Where an instrument is at the end of a day; None where it is not in the shop's care."""
    custody, place = NOT_RECEIVED, ""
    for passed in state.custody.values():
        at = state.entered[passed.id].at
        if at and at[:10] > night:
            continue
        custody = next_state(custody, passed.event)
        place = passed.place or place
    named = ELSEWHERE.get(custody)
    if named == "":
        return None
    where = named or place or custody
    value: Money | None = None
    for price in state.of(Price).values():
        at = state.entered[price.id].at
        if price.of == INSURED and (not at or at[:10] <= night):
            value = Money.parse(price.amount, price.currency or currency)
    return Stay(state.instrument.tag, where, value)


def sums_on(stays: Iterable[Stay], cover: Cover) -> list[PlaceSum]:
    """Add up what lies at each place, the places in the order of the cover, unnamed ones last."""
    by_row: dict[int, list[Stay]] = {}
    for stay in stays:
        by_row.setdefault(_row_of(stay.place, cover.place), []).append(stay)
    found = []
    for place, row in enumerate([*cover.place, None]):
        here = by_row.get(-1 if row is None else place, [])
        if row is None and not here:
            continue
        total, unvalued = Money(0, cover.currency), []
        for stay in here:
            if stay.value is None or stay.value.currency != cover.currency:
                unvalued.append(stay.tag)
            else:
                total += stay.value
        found.append(
            PlaceSum(
                "no cover names it" if row is None else row.name or "elsewhere",
                total,
                None if row is None else Money.parse(row.limit, cover.currency),
                "" if row is None else row.until,
                tuple(one.tag for one in here),
                tuple(unvalued),
            )
        )
    return found


def _row_of(place: str, rows: Sequence[CoverRow]) -> int:
    low = place.casefold()
    named = [i for i, one in enumerate(rows) if one.name and one.name.strip().casefold() in low]
    if named:
        return named[0]
    return next((i for i, one in enumerate(rows) if not one.name.strip()), -1)
