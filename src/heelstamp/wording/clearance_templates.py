"""Sentences about what stands before a listing: layer, rule and text of each (rule 13).

A part of the one table of sentences (``sentences.TEMPLATES``), kept in a file of its own. A search
without a hit is told as that, and a species only appears.
"""

from __future__ import annotations

from typing import Literal

Row = tuple[Literal["seen", "measured", "inferred", "opinion"], int, str]


def _opinion(rule: int, text: str) -> Row:
    return "opinion", rule, text


def _seen(rule: int, text: str) -> Row:
    return "seen", rule, text


CLEARANCE: dict[str, Row] = {
    "listing clear": _opinion(
        13, "Nothing recorded stands against advertising it. This is a checklist, not legal advice."
    ),
    "listing blocked": _opinion(13, "Not to be advertised: blocked by what follows."),
    "listing open": _opinion(13, "Not to be advertised yet: what follows has to be settled first."),
    "title note": _seen(13, "An open note on title: {note}."),
    "search clear": _seen(
        13, "{list}: no hit on {day}. That shows only that none was found in that list on that day."
    ),
    "search hit": _seen(13, "{list}, {day}: {result}. Stop, and ask who keeps the list."),
    "not searched": _seen(13, "No list of stolen goods was searched, as far as recorded."),
    "same number": _seen(13, "The number {number} stands in {where}."),
    "near number": _seen(
        13,
        (
            "The number {number} in {where} may be this one, if {misread} of its characters {were} "
            "misread."
        ),
    ),
    "materials not looked": _seen(
        13,
        "No look for protected materials is recorded (board, bridge, nut, guard, inlay, binding).",
    ),
    "material question": _opinion(
        13,
        (
            "{rule}{day}: the record says “{because}”; species not determined. {question} To be "
            "answered before it is advertised; this is not legal advice."
        ),
    ),
    "route question": _opinion(
        13,
        (
            "{rule}{day}: the record says “{because}”. {question} To be answered before it is "
            "advertised; this is not legal advice."
        ),
    ),
}
"""Templates by name."""
