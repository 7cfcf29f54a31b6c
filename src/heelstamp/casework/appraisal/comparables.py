"""A comparable: one sale or one asking price, with what was known of the instrument.

Sold, asking and unsold (offered and taken back without a buyer) are never mixed: the kind stands on
every row. A row is never changed: one that corrects or withdraws it is kept beside it, and the last
counts. The price is what the buyer paid or
was asked in all, buyer's premium included. What nobody recorded is None, which is not the same as
absent, none or nought; such a quality counts as the average of the rows that have it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

import msgspec

from heelstamp.units import parse_month
from heelstamp.valuation.money import Money

Kind = Literal["sold", "asking", "unsold"]
Venue = Literal["auction", "shop", "private", "online", "fair"]
Finish = Literal["original", "touched_up", "refinished", "old_refinish", "recent_refinish"]
Grade = Literal["A", "B", "C", "D", "E"]
ASPECTS = ("structural", "finish", "electronics", "hardware", "frets", "case")
GRADES: tuple[Grade, ...] = ("A", "B", "C", "D", "E")

SAME_PRICE = 0.01
"""Share by which two prices may differ and be thought the same."""


class Comparable(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One row.

    Attributes
    ----------
    month
        Of the sale or offer, ``2021-02``.
    minor, currency
        What the buyer paid or was asked in all, in smallest units.
    premium
        Buyer's premium inside it, as it was written; empty when there was none or none is known.
    venue
        Kind of place; None when not recorded.
    made
        First and last year of making that it was sold as.
    grade, aspects
        Overall condition, A the best; condition of single aspects.
    pickups, others, other_model
        Changed pickups, other changed parts, and parts of another model.
    routed, repaired_break, refretted
        Whether the body was cut later, a break was repaired, the frets were replaced.
    neck, neck_seen
        First or later; whether its own date was looked at.
    case
        Whether it came with a case.
    days
        From the first offer to the sale, or to the day on which it was last known unsold.
    piece
        What the rows of one instrument have in common; empty where nobody said.
    corrects, withdrawn, reason
        Id of the row that this one stands for, whether it only takes that away, and why.
    """

    id: Annotated[str, msgspec.Meta(min_length=1, max_length=100)]
    month: str
    kind: Kind
    minor: Annotated[int, msgspec.Meta(gt=0, le=10**15)]
    currency: Annotated[str, msgspec.Meta(pattern=r"^[A-Z]{3}$")]
    premium: str = ""
    venue: Venue | None = None
    made: tuple[int, int] | None = None
    grade: Grade | None = None
    aspects: dict[str, Grade] = {}
    finish: Finish | None = None
    pickups: Annotated[int, msgspec.Meta(ge=0, le=8)] | None = None
    others: Annotated[int, msgspec.Meta(ge=0, le=50)] | None = None
    other_model: Annotated[int, msgspec.Meta(ge=0, le=50)] | None = None
    routed: bool | None = None
    repaired_break: bool | None = None
    refretted: bool | None = None
    neck: Literal["first", "later"] | None = None
    neck_seen: bool | None = None
    case: bool | None = None
    colour: Literal["standard", "rare"] | None = None
    weight_g: Annotated[float, msgspec.Meta(gt=0, le=50_000)] | None = None
    days: Annotated[int, msgspec.Meta(ge=0, le=20_000)] | None = None
    piece: str = ""
    source: str = ""
    note: str = ""
    corrects: str = ""
    withdrawn: bool = False
    reason: str = ""

    @property
    def price(self) -> Money:
        """What the buyer paid or was asked in all."""
        return Money(self.minor, self.currency)

    @property
    def steps(self) -> float | None:
        """Steps of condition below A: the overall grade, else the mean of the aspects."""
        if self.grade is not None:
            return float(GRADES.index(self.grade))
        if self.aspects:
            return sum(map(GRADES.index, self.aspects.values())) / len(self.aspects)
        return None


def encode(row: Comparable) -> str:
    """Write a row as it is stored."""
    return msgspec.json.encode(row).decode()


def decode(text: str) -> Comparable:
    """Read a stored row."""
    return msgspec.json.decode(text, type=Comparable)


def standing(rows: Sequence[Comparable]) -> list[Comparable]:
    """Return what stands of rows in the order they were kept: each as corrected last, by its id."""
    found: dict[str, Comparable] = {}
    for one in rows:
        if not one.corrects:
            found[one.id] = one
        elif one.corrects in found:
            found[one.corrects] = msgspec.structs.replace(one, id=one.corrects, corrects="")
    return [one for one in found.values() if not one.withdrawn]


def possible_repeats(rows: Sequence[Comparable]) -> list[tuple[str, str]]:
    """Return pairs that may be one sale told twice: same kind, price to 1 %, within a month.

    Years of making that are known on both sides must overlap. Nothing is dropped.
    """
    ordered = sorted(rows, key=lambda one: (one.kind, one.currency, one.minor))
    found = []
    for place, one in enumerate(ordered):
        for other in ordered[place + 1 :]:
            same = (one.kind, one.currency) == (other.kind, other.currency)
            if not same or other.minor > one.minor * (1 + SAME_PRICE):
                break
            near = abs(parse_month(one.month) - parse_month(other.month)) <= 1
            if near and _overlap(one, other):
                found.append((one.id, other.id))
    return found


def _overlap(one: Comparable, other: Comparable) -> bool:
    if one.made is None or other.made is None:
        return True
    first, second = sorted((one.made, other.made))
    return second[0] <= first[1]
