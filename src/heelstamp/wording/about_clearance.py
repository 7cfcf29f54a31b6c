"""What stands before a listing: title, near numbers, protected materials (rule 13).

Words of the record are quoted; a phrase that no paper may carry is left out of them, for a note on
title must be shown whatever it says. A search without a hit is told as that, and a species only
appears.
"""

from __future__ import annotations

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import Sentence, sentence


@sentence("listing clear", "opinion", 13)
def listing_clear() -> str:
    return "Nothing recorded stands against advertising it. This is a checklist, not legal advice."


@sentence("listing blocked", "opinion", 13)
def listing_blocked() -> str:
    return "Not to be advertised: blocked by what follows."


@sentence("listing open", "opinion", 13)
def listing_open() -> str:
    return "Not to be advertised yet: what follows has to be settled first."


STANDING: dict[str, Sentence[[]]] = {
    "clear": listing_clear,
    "blocked": listing_blocked,
    "not settled": listing_open,
}
"""Whether it may be advertised."""


@sentence("title note", "seen", 13)
def title_note(*, note: str) -> str:
    return f"An open note on title: {quoted(note)}."


@sentence("search clear", "seen", 13)
def search_clear(*, register: str, at: str) -> str:
    return (
        f"{quoted(register)}: no hit on {_day(at)}. That shows only that none was found in that "
        "list on that day."
    )


@sentence("search hit", "seen", 13)
def search_hit(*, register: str, result: str, at: str) -> str:
    return (
        f"{quoted(register)}, {_day(at)}: {quoted(result.rstrip('.'))}. Stop: tell the police "
        "and take legal advice before anything else, then ask who keeps the list."
    )


@sentence("not searched", "seen", 13)
def not_searched() -> str:
    return "No list of stolen goods was searched, as far as recorded."


@sentence("same number", "seen", 13)
def same_number(*, number: str, where: str) -> str:
    return f"The number {quoted(number)} stands in {quoted(where)}."


@sentence("near number", "seen", 13)
def near_number(*, number: str, where: str, misread: int) -> str:
    return (
        f"The number {quoted(number)} in {quoted(where)} may be this one, if {misread} of its "
        f"characters {'was' if misread == 1 else 'were'} misread."
    )


@sentence("materials not looked", "seen", 13)
def materials_not_looked() -> str:
    return (
        "No look for protected materials is recorded (fingerboard, bridge, nut, pickguard, inlay, "
        "binding)."
    )


@sentence("material question", "opinion", 13)
def material_question(*, rule: str, in_force: str, because: str, question: str) -> str:
    """Ask about a material, whose species is not determined by looking."""
    return (
        f"{rule}{_from(in_force)}: the record says “{quoted(because)}”; species not determined. "
        f"{question} To be answered before it is advertised; this is not legal advice."
    )


@sentence("route question", "opinion", 13)
def route_question(*, rule: str, in_force: str, because: str, question: str) -> str:
    return (
        f"{rule}{_from(in_force)}: the record says “{quoted(because)}”. {question} To be answered "
        "before it is advertised; this is not legal advice."
    )


ROUTE_NOT_KNOWN = "This route is not known here: what does its authority ask for?"


def route_named(code: str) -> str:
    """Name a route by its code."""
    return f"Route to {code}"


@sentence("route unknown", "seen", 13)
def route_unknown(*, rule: str) -> str:
    return (
        f"{rule}: this route is not known here: ask its authority, and enter the answer. To be "
        "answered before it is advertised there; this is not legal advice."
    )


def _from(in_force: str) -> str:
    return f" (from {in_force})" if in_force else ""


def _day(at: str) -> str:
    return at[:10] or "a day not recorded"
