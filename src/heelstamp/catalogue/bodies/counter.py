"""At the counter and on the way: enquiries, packing, what a logger saw, the tax scheme.

Persons are named by role, as ``enquirer 3``, never by name: names and addresses are kept apart,
where they can be erased.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from heelstamp.catalogue.bodies.appraisal import Currency, Sum
from heelstamp.catalogue.bodies.base import Day, EntryBody, FileDigest, Id, Reasoned, Text
from heelstamp.catalogue.conversion import join_place
from heelstamp.errors import InputError
from heelstamp.units import read_day

EnquiryEvent = Literal["asked", "answered", "price said", "waits", "viewing set", "viewed", "ended"]
ENQUIRY_NEEDS: dict[str, tuple[str, ...]] = {
    "asked": ("text",),
    "answered": ("text",),
    "price said": ("amount", "currency", "said_by"),
    "viewing set": ("on",),
    "ended": ("note",),
}
"""Fields without which an event says nothing."""

Positive = Annotated[float, msgspec.Meta(gt=0.0, le=100_000.0)]


class Enquiry(EntryBody, frozen=True):
    """One thing in the talk with somebody who may buy.

    Attributes
    ----------
    party
        Who, by role: ``enquirer 3``; never a name.
    day
        On which it happened.
    text
        What was asked, or answered.
    question
        With *answered*: the entry of the answer from the findings.
    amount, currency, said_by
        A price that was said, and by whom.
    on
        Day that is agreed for a viewing.
    before, after
        Of a viewing: photographs taken before it and after it; those after it may follow in an
        entry of their own.
    note
        Why it ended; what was noticed.
    """

    id: Id
    party: Text
    event: EnquiryEvent
    day: Day
    text: str = ""
    question: Id | None = None
    amount: Sum | None = None
    currency: Currency | None = None
    said_by: Literal["the shop", "the enquirer"] | None = None
    on: Day | None = None
    before: list[Id] = msgspec.field(default_factory=list)
    after: list[Id] = msgspec.field(default_factory=list)
    note: str = ""


class Packing(EntryBody, frozen=True):
    """How an instrument was packed for the carrier.

    Attributes
    ----------
    route
        Where it goes: the code of a country (ISO 3166), or ``EU``.
    weight_g, length_mm, width_mm, height_mm
        Of the parcel as packed.
    tuned_down
        How many semitones the strings were let down.
    seal
        What closes the parcel, and its mark.
    frames
        Photographs of the packing.
    logger
        Whether a logger of temperature and humidity travels inside.
    value, cover, limit
        Value that travels; the sum it is covered for on the way; the most that the carrier's own
        conditions cover. None while nobody asked.
    """

    id: Id
    day: Day
    route: Annotated[str, msgspec.Meta(pattern=r"^[A-Z]{2,3}$")]
    weight_g: Positive
    length_mm: Positive
    width_mm: Positive
    height_mm: Positive
    tuned_down: Annotated[int, msgspec.Meta(ge=0, le=12)] = 0
    seal: str = ""
    frames: list[Id] = msgspec.field(default_factory=list)
    logger: bool = False
    value: Sum | None = None
    cover: Sum | None = None
    limit: Sum | None = None
    currency: Currency | None = None
    note: str = ""


class TransitLog(EntryBody, frozen=True):
    """A logger's file, as it was read out where the parcel arrived.

    Attributes
    ----------
    file, name
        The file as the logger wrote it.
    room_c, room_rh
        Temperature and relative humidity of the room where it stands closed.
    """

    id: Id
    file: FileDigest
    name: Text
    room_c: Annotated[float, msgspec.Meta(ge=-20.0, le=50.0)]
    room_rh: Annotated[float, msgspec.Meta(gt=0.0, le=100.0)]
    note: str = ""


class TaxScheme(Reasoned, frozen=True):
    """Under which scheme a sale is taxed, as the shop declares it.

    Attributes
    ----------
    scheme
        ``commission``: the shop sells for the owner and earns a commission. ``purchase``: it sells
        what it bought, tax on the whole price. ``margin``: it sells what it bought, tax on the
        margin.
    rate
        Rate of the tax, as ``20 %``; nought where there is none.
    bought, currency
        What the shop paid for the instrument, where it bought it.
    """

    scheme: Literal["commission", "purchase", "margin"]
    rate: Annotated[str, msgspec.Meta(pattern=r"^\d{1,2}(\.\d{1,3})? ?%$")] = "0 %"
    bought: Sum | None = None
    currency: Currency | None = None


def check_enquiry(body: Enquiry, where: str) -> None:
    """Refuse an event without what it needs, and a day that is not in the calendar."""
    for name in ENQUIRY_NEEDS.get(body.event, ()):
        if not getattr(body, name):
            raise InputError(
                f'"{body.event}" does not say its {name}',
                where=join_place(where, f"field {name}"),
                remedy=f"It needs: {', '.join(ENQUIRY_NEEDS[body.event])}.",
            )
    if body.event == "viewed" and not (body.before or body.after):
        raise InputError(
            "a viewing without a photograph",
            where=join_place(where, "field before"),
            remedy="Name the photographs taken before it; those after it may follow.",
        )
    day = read_day(body.day, join_place(where, "field day"))
    if body.on is not None and read_day(body.on, join_place(where, "field on")) < day:
        raise InputError(
            "a viewing agreed for a day that is past",
            where=join_place(where, "field on"),
            received=f"{body.on}, agreed on {body.day}",
            remedy="Give the day on which they come.",
        )


def check_packing(body: Packing, where: str) -> None:
    """Refuse a day that is not in the calendar, and sums without a currency."""
    read_day(body.day, join_place(where, "field day"))
    if (body.value or body.cover or body.limit) and body.currency is None:
        raise InputError(
            "a sum without its currency",
            where=join_place(where, "field currency"),
            remedy="Give its code, such as USD.",
        )


def check_tax(body: TaxScheme, where: str) -> None:
    """Refuse a purchase without its price, and a price without a currency."""
    if body.scheme != "commission" and body.bought is None:
        raise InputError(
            "what the shop paid for it is not said",
            where=join_place(where, "field bought"),
            received=body.scheme,
            remedy="Give the sum, or enter the scheme commission.",
        )
    if body.bought is not None and body.currency is None:
        raise InputError(
            "a sum without its currency",
            where=join_place(where, "field currency"),
            remedy="Give its code, such as USD.",
        )
