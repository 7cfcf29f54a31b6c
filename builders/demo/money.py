"""The last day of the scenario: grades, the value to insure, the price agreed with a buyer."""

from __future__ import annotations

from typing import Any

from demo.telling import Day, Entry, Picture


def money(pictures: dict[str, Picture]) -> list[Entry]:
    """Write what the price rests on besides the dating."""
    day = Day("2026-11-12", "09:30", pictures)

    def said(kind: str, id_: str, reason: str, **body: Any) -> None:
        day.add(kind, minutes=0, id=id_, **body, reason=reason)

    wear = "Buckle wear through the coat, pick wear, two small patches."
    said("grade", "grade", wear, grade="B", public=True)
    low = "Low wear in the first five positions."
    said("grade", "grade-frets", low, grade="B", aspect="frets", public=True)
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
    said(
        "price",
        "price-agreed",
        "Agreed with a buyer; not yet collected.",
        of="sold",
        amount="9100",
        currency="USD",
    )
    return day.entries
