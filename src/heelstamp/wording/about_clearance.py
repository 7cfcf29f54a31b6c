"""Sentences about title, near numbers and protected materials, before anything is advertised.

Words of the record are quoted; a phrase that no paper may carry is left out of them, for a note on
title must be shown whatever it says.
"""

from __future__ import annotations

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import NO_GROUNDS, Statement, write


def standing(found: str) -> Statement:
    """Say whether it may be advertised."""
    name = {"clear": "listing clear", "blocked": "listing blocked"}.get(found, "listing open")
    return write(name, "clearance:standing", NO_GROUNDS)


def title_note(note: str) -> Statement:
    """Name an open note on title."""
    return write("title note", f"clearance:note:{note}", NO_GROUNDS, note=quoted(note))


def search_clear(list_: str, at: str) -> Statement:
    """Tell of a search without a hit."""
    return write(
        "search clear", f"clearance:search:{list_}", NO_GROUNDS, list=quoted(list_), day=_day(at)
    )


def search_hit(list_: str, result: str, at: str) -> Statement:
    """Tell of a search with any other result."""
    return write(
        "search hit",
        f"clearance:search:{list_}",
        NO_GROUNDS,
        list=quoted(list_),
        day=_day(at),
        result=quoted(result.rstrip(".")),
    )


def not_searched() -> Statement:
    """Say that nothing was searched."""
    return write("not searched", "clearance:search", NO_GROUNDS)


def near_number(number: str, where: str, misread: int) -> Statement:
    """Name a listed number that this one is or may be."""
    id_ = f"clearance:near:{number}"
    if not misread:
        return write("same number", id_, NO_GROUNDS, number=quoted(number), where=quoted(where))
    return write(
        "near number",
        id_,
        NO_GROUNDS,
        number=quoted(number),
        where=quoted(where),
        misread=str(misread),
        were="was" if misread == 1 else "were",
    )


def materials_not_looked() -> Statement:
    """Say that nobody recorded a look for protected materials."""
    return write("materials not looked", "clearance:materials", NO_GROUNDS)


def material_question(
    rule: str, in_force: str, because: str, question: str, *, species: bool
) -> Statement:
    """Ask about a material, whose species is not determined by looking, or about a route."""
    return write(
        "material question" if species else "route question",
        f"clearance:material:{rule}",
        NO_GROUNDS,
        rule=rule,
        day=f" (from {in_force})" if in_force else "",
        because=quoted(because),
        question=question,
    )


def _day(at: str) -> str:
    return at[:10] or "a day not recorded"
