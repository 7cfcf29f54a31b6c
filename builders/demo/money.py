"""The last day of the scenario: grades, the value to insure, the price agreed with a buyer."""

from __future__ import annotations

from demo.telling import Day, Entry, Picture


def money(pictures: dict[str, Picture]) -> list[Entry]:
    """Write what the price rests on besides the dating."""
    day = Day("2026-11-12", "09:30", pictures)

    def decide(id_: str, about: str, decided: str, reason: str) -> None:
        day.add("decision", minutes=0, id=id_, about=about, decided=decided, reason=reason)

    decide("grade", "grade", "B", "Buckle wear through the coat, pick wear, two small patches.")
    decide("grade-frets", "grade: frets", "B", "Low wear in the first five positions.")
    decide("colour", "colour", "standard", "Walnut stain under clear, the maker's usual one.")
    decide("case-with", "case", "yes", "Slate lining, olive outside.")
    decide(
        "insured",
        "insured value",
        "10,500 USD",
        "Retail replacement, agreed with the consignor; cover in carriage apart.",
    )
    decide("price-agreed", "sold", "9,100 USD", "Agreed with a buyer; not yet collected.")
    return day.entries
