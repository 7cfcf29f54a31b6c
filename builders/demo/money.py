"""The last days of the scenario: grades, the value to insure, the sale up to its parcel."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from demo.telling import Day, Entry, Picture

TERMS = (
    Path(__file__).resolve().parents[2]
    / "src"
    / "heelstamp"
    / "reference"
    / "demo"
    / "consignment.toml"
)


def money(pictures: dict[str, Picture]) -> list[Entry]:
    """Write what the price rests on besides the dating."""
    day = Day("2026-11-12", "09:30", pictures)

    def said(kind: str, id_: str, reason: str, **body: Any) -> None:
        day.add(kind, minutes=0, id=id_, **body, reason=reason)

    _grades(day)
    wear = "Buckle wear through the coat, pick wear, two small patches."
    said("grade", "grade", wear, grade="B", public=True)
    usual = "Walnut stain under clear, the maker's usual one."
    said("colour", "colour", usual, colour="standard")
    said("case_included", "case-with", "Slate lining, olive outside.", included=True)
    said(
        "price",
        "insured",
        "Retail replacement, agreed with the consignor; cover in carriage apart.",
        of="insured value",
        amount="10500",
        currency="USD",
    )
    _offered(day)
    return [*day.entries, *_sold(pictures)]


_GRADES = (
    ("structural", "A", "No crack, no filled hole in the wood.", "A", "Sound, neck joint tight."),
    (
        "finish",
        "C",
        "Buckle wear to the wood, pick wear, two small patches.",
        "C",
        "One bare place.",
    ),
    ("electronics", "C", "Quiet after cleaning; the jack was redone.", "C", "Quiet; jack redone."),
    ("hardware", "D", "One tuner replaced.", "C", "Plating worn, one tuner of a later pattern."),
    ("frets", "B", "Low wear in the first five positions.", "B", "Light grooves, plays clean."),
    ("case", "B", "Worn, all latches work.", "B", "Worn, closes well."),
)


def _grades(day: Day) -> None:
    """Six grades by two people, the second without having seen the first one's."""
    for aspect, first, why, second, besides in _GRADES:
        public = {"public": True} if aspect == "frets" else {}
        day.add(
            "grade",
            minutes=0,
            id=f"grade-{aspect}",
            grade=first,
            aspect=aspect,
            reason=why,
            **public,
        )
        day.add(
            "grade",
            minutes=0,
            writer="examiner B",
            id=f"grade-{aspect}-second",
            grade=second,
            aspect=aspect,
            reason=besides,
        )


def _offered(day: Day) -> None:
    """Write what a sale needs, the terms signed among it, and its steps up to the first offer."""
    today = day.now.date().isoformat()
    day.add(
        "title_search",
        id="search-stolen",
        register="the stolen-goods list of the invented town",
        hit=False,
        day=today,
        numbers=["S10350"],
    )
    day.add(
        "materials_looked",
        id="materials",
        reason="Looked at under the lens, nothing touched.",
        found="Fingerboard rosewood-like, species not determined; no ivory, no tortoiseshell.",
    )
    for rule, answer in _LAW:
        day.add(
            "material",
            id=f"law-{rule.replace('_', '-')}",
            rule=rule,
            answer=answer,
            reason="Asked of the authority of the invented town, which decides; not legal advice.",
        )
    day.add(
        "agreement",
        id="terms-signed",
        role="a consignor",
        terms=hashlib.sha256(TERMS.read_bytes()).hexdigest(),
        how="on paper",
        day=today,
    )
    _step(day, "examined")
    _step(day, "cleared")
    _step(day, "offered", amount="9900", currency="USD")


_LAW = (
    ("dalbergia_nigra", "Not determined; so it is offered and sold within the country alone."),
    ("dalbergia_finished", "A finished instrument; no border is crossed before it is determined."),
    ("dalbergia_cochinchinensis", "Not determined; so no border is crossed."),
)
"""Questions that looking at a fingerboard raises, and what was answered before it was offered."""


def _step(day: Day, event: str, id_: str = "", **more: Any) -> None:
    today = day.now.date().isoformat()
    day.add("sale", id=id_ or f"sale-{event.replace(' ', '-')}", event=event, day=today, **more)


def _sold(pictures: dict[str, Picture]) -> list[Entry]:
    """13 to 20 November: asked, seen, agreed, paid in cleared funds, packed for the carrier."""
    days = [Day(f"2026-11-{one}", "10:00", pictures) for one in (13, 16, 17, 18, 20)]
    asked, viewed, deposit, balance, packed = days

    def talk(day: Day, id_: str, event: str, **more: Any) -> None:
        today = day.now.date().isoformat()
        day.add("enquiry", id=id_, party="enquirer 1", event=event, day=today, **more)

    talk(asked, "talk-asked", "asked", text="Has the neck been off, and by whom?")
    talk(
        asked,
        "talk-answered",
        "answered",
        text="It was taken off here on 6 November, by examiner A, with the owner's word for it: "
        "photographs F040 and F041. Whether it had been off before is in the report.",
    )
    offer = {"amount": "8800", "currency": "USD", "said_by": "the enquirer"}
    talk(asked, "talk-price", "price said", **offer)
    talk(asked, "talk-viewing", "viewing set", on="2026-11-16")
    viewed.shoot("F047")
    talk(
        viewed,
        "talk-viewed",
        "viewed",
        before=["F045"],
        after=["F047"],
        note="Played for half an hour, with us beside it.",
    )
    _step(viewed, "agreed", party="buyer B", amount="9100", currency="USD")
    talk(viewed, "talk-ended", "ended", note="Became buyer B.")
    viewed.add(
        "price",
        minutes=0,
        id="price-agreed",
        of="sold",
        amount="9100",
        currency="USD",
        reason="Agreed with a buyer; not yet collected.",
    )
    paid = {"currency": "USD", "means": "transfer"}
    _step(deposit, "payment", "deposit", amount="1000", of="deposit", **paid)
    _step(balance, "funds cleared", "deposit-cleared", names="deposit")
    _step(balance, "payment", "balance", amount="8100", of="balance", **paid)
    _step(packed, "funds cleared", "balance-cleared", names="balance")
    _step(packed, "paid")
    packed.shoot("F048", "F049", "F050")
    packed.add(
        "packing",
        id="packing",
        day=packed.now.date().isoformat(),
        route="US",
        weight_g=9840.0,
        length_mm=1200.0,
        width_mm=520.0,
        height_mm=220.0,
        tuned_down=2,
        seal="seal 0417",
        frames=["F046", "F048", "F049", "F050"],
        logger=True,
        value="9100",
        cover="9100",
        limit="10000",
        currency="USD",
        note="The buyer's carrier collects it; the case stands in its box.",
    )
    return [entry for one in days for entry in one.entries]
