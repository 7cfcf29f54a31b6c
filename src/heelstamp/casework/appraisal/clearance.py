"""What must be settled before an instrument is advertised: title, near numbers, materials, routes.

What was searched, noted, compared and answered are entries of kinds of their own; of each matter
what was entered last counts. A search shows only that no hit was found in that list on that day.
Words of the record raise questions about protected materials; that none is there may mean that
nobody looked.

Prompts only, never legal advice: listings change, and looking does not determine a species.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import msgspec

from heelstamp.catalogue import (
    DossierState,
    MaterialAnswer,
    MaterialsLooked,
    NearNumber,
    TitleNote,
    TitleSearch,
)
from heelstamp.errors import InputError
from heelstamp.marks.misread import near_numbers
from heelstamp.wording import about_clearance as about

NO_HIT = "no hit on that day"
KNOWN_ROUTES = frozenset({"EU", "US"})
"""Routes on which rules are known here; of every other its authority is to be asked."""

ROUTE_ID = "route:"
_ROUTE = re.compile(r"[A-Z]{2,3}")
Standing = Literal["clear", "blocked", "not settled"]


@dataclass(frozen=True)
class ProtectedMaterial:
    """A rule about a material or a route, with the words that raise it and the question to ask."""

    id: str
    rule: str
    words: tuple[str, ...]
    appendix: str
    in_force: str
    reach: str
    scope: str
    question: str
    source: str


@dataclass(frozen=True)
class ListedNumber:
    """A number of one of the shop's lists, or of another dossier."""

    number: str
    where: str


class SearchMade(msgspec.Struct, frozen=True, kw_only=True):
    """A search as it was recorded."""

    list: str
    result: str
    when: str
    reason: str


class NearFound(msgspec.Struct, frozen=True, kw_only=True):
    """A number this one may be, and how it was settled; None while it is open."""

    number: str
    where: str
    misread: int
    settled: str | None


class MaterialAsked(msgspec.Struct, frozen=True, kw_only=True):
    """A question about a material or a route, why it is asked, and the answer if there is one."""

    id: str
    rule: str
    appendix: str
    in_force: str
    scope: str
    because: str
    question: str
    source: str
    answer: str | None


class Clearance(msgspec.Struct, frozen=True, kw_only=True):
    """Whether an instrument may be advertised.

    Attributes
    ----------
    standing
        ``blocked`` by an open title note, a hit or a near number that is not settled; ``not
        settled`` while nothing was searched or a question has no answer; else ``clear``.
    """

    standing: Standing
    searches: list[SearchMade]
    materials_looked: str | None
    open_notes: list[str]
    near: list[NearFound]
    materials: list[MaterialAsked]
    sentences: list[str]


def clearance(
    state: DossierState,
    listed: Sequence[ListedNumber],
    materials: Sequence[ProtectedMaterial],
    routes: Sequence[str],
) -> Clearance:
    """Tell whether what stands in a dossier may be advertised.

    Parameters
    ----------
    listed
        Numbers of the shop's lists and of its other dossiers.
    routes
        Where it may go: ``EU``, ``US`` or the code of a country; rules of other reach are not
        asked then, and a route that no rule here knows is a question by itself.

    Raises
    ------
    InputError
        A route that is no code.
    """
    made = [(_search(one, state), one.hit) for one in state.of(TitleSearch).values()]
    searches = [one for one, _ in made]
    notes = {one.subject.casefold(): one for one in state.of(TitleNote).values()}
    open_notes = [one.subject for one in notes.values() if one.open]
    near = _near(state, listed)
    asked = _asked(state, materials, routes)
    latest = {one.list.casefold(): (one, hit) for one, hit in made}
    hits = [one for one, hit in latest.values() if hit]
    near_open = [one for one in near if one.settled is None]
    unanswered = [one for one in asked if one.answer is None]
    look = state.last(MaterialsLooked)
    looked = None if look is None else look.found
    if open_notes or hits or near_open:
        standing: Standing = "blocked"
    elif not searches or unanswered or looked is None:
        standing = "not settled"
    else:
        standing = "clear"
    told = [about.STANDING[standing].say()]
    told += [about.title_note.say(note=note) for note in open_notes]
    told += [
        about.search_hit.say(register=one.list, result=one.result, at=one.when) for one in hits
    ]
    told += [
        about.search_clear.say(register=one.list, at=one.when)
        for one, hit in latest.values()
        if not hit
    ]
    if not searches:
        told.append(about.not_searched.say())
    told += [_describe_near(one) for one in near_open]
    if looked is None:
        told.append(about.materials_not_looked.say())
    told += [
        about.route_unknown.say(rule=one.rule)
        if one.id.startswith(ROUTE_ID)
        else (about.route_question if one.appendix == "-" else about.material_question).say(
            rule=one.rule, in_force=one.in_force, because=one.because, question=one.question
        )
        for one in unanswered
    ]
    return Clearance(
        standing=standing,
        searches=searches,
        materials_looked=looked,
        open_notes=open_notes,
        near=near,
        materials=asked,
        sentences=told,
    )


def _search(one: TitleSearch, state: DossierState) -> SearchMade:
    at = state.entered[one.id].at
    numbers = ", ".join(one.numbers) or "no number that was read"
    return SearchMade(
        list=one.register,
        result=one.result or ("a hit" if one.hit else NO_HIT),
        when=at,
        reason=one.note or f"searched on {one.day or at[:10]} for {numbers}",
    )


def _describe_near(one: NearFound) -> str:
    if not one.misread:
        return about.same_number.say(number=one.number, where=one.where)
    return about.near_number.say(number=one.number, where=one.where, misread=one.misread)


def numbers_of(state: DossierState) -> tuple[str, ...]:
    """Every reading of the serial number that stands."""
    found: list[str] = []
    for one in state.observations.values():
        if one.kind == "serial" and one.is_read:
            found += [one.text] if one.text else [r.text for r in one.readings if r.text]
    return tuple(dict.fromkeys(found))


def _near(state: DossierState, listed: Sequence[ListedNumber]) -> list[NearFound]:
    answers = {one.number.casefold(): one.settled for one in state.of(NearNumber).values()}
    found: dict[tuple[str, str], NearFound] = {}
    places: dict[str, list[str]] = {}
    for one in listed:
        places.setdefault(one.number, []).append(one.where)
    for read in numbers_of(state):
        for hit in near_numbers(read, places):
            for where in places[hit.number]:
                key = (hit.number, where)
                settled = answers.get(hit.number.casefold())
                before = found.get(key)
                if before is None or hit.misread < before.misread:
                    found[key] = NearFound(
                        number=hit.number, where=where, misread=hit.misread, settled=settled
                    )
    return sorted(found.values(), key=lambda one: one.misread)


def _asked(
    state: DossierState, materials: Sequence[ProtectedMaterial], routes: Sequence[str]
) -> list[MaterialAsked]:
    answers = {one.rule.casefold(): one.answer for one in state.of(MaterialAnswer).values()}
    told = {text.casefold(): text for text in _texts(state)}
    wanted = {one.casefold() for one in routes}
    found = []
    for one in materials:
        if one.reach in ("US", "EU") and one.reach.casefold() not in wanted:
            continue
        because = next((text for low, text in told.items() if _names(low, one.words)), None)
        if because is None:
            continue
        found.append(
            MaterialAsked(
                id=one.id,
                rule=one.rule,
                appendix=one.appendix,
                in_force=one.in_force,
                scope=one.scope,
                because=because,
                question=one.question,
                source=one.source,
                answer=answers.get(one.id.casefold()),
            )
        )
    unknown = [one for one in routes if one.strip().upper() not in KNOWN_ROUTES]
    return [*found, *(_unknown_route(one, answers) for one in dict.fromkeys(unknown))]


def _unknown_route(route: str, answers: Mapping[str, str]) -> MaterialAsked:
    named = route_id(route)
    if not _ROUTE.fullmatch(named.removeprefix(ROUTE_ID)):
        raise InputError(
            "not a route",
            where="to",
            received=route,
            remedy="Give a country by its code, such as JP (ISO 3166), or EU.",
        )
    return MaterialAsked(
        id=named,
        rule=about.route_named(named.removeprefix(ROUTE_ID)),
        appendix="-",
        in_force="",
        scope="unknown route",
        because=route.strip(),
        question=about.ROUTE_NOT_KNOWN,
        source="no rule of this program",
        answer=answers.get(named.casefold()),
    )


def route_id(route: str) -> str:
    """The id by which the answer about a route that no rule here knows is kept."""
    return f"{ROUTE_ID}{route.strip().upper()}"


def _names(text: str, words: Sequence[str]) -> bool:
    # whole words, but "rosewood-like" names rosewood: what only looks so must be asked about
    return any(re.search(rf"(?<!\w){re.escape(word)}(?!\w)", text) for word in words if word)


def _texts(state: DossierState) -> Iterable[str]:
    for seen in state.observations.values():
        yield from (text for text in (seen.variant, seen.outcome, seen.note) if text)
    for item in state.contents.values():
        yield item.item
