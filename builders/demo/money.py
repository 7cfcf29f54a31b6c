"""The last day of the scenario: grades, the value to insure, the sale up to the price agreed."""

from __future__ import annotations

from typing import Any

from demo.telling import Day, Entry, Picture


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
    _sale(day)
    said(
        "price",
        "price-agreed",
        "Agreed with a buyer; not yet collected.",
        of="sold",
        amount="9100",
        currency="USD",
    )
    return day.entries


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


def _sale(day: Day) -> None:
    """Write what a sale needs, and its steps up to the price agreed."""
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
    steps: tuple[dict[str, Any], ...] = (
        {"event": "examined"},
        {"event": "cleared"},
        {"event": "offered", "amount": "9900", "currency": "USD"},
        {"event": "agreed", "party": "buyer B", "amount": "9100", "currency": "USD"},
    )
    for one in steps:
        day.add("sale", id=f"sale-{one['event']}", day=today, **one)
