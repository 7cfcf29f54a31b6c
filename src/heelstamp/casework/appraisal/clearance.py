"""What must be settled before an instrument is advertised: title, near numbers, materials, routes.

Kept in the journal as decisions, so that nothing new has to be understood by who reads it later:

- ``title search: LIST``: what a search of one list found, such as *no hit on that day*. It shows
  only that no hit was found in that list on that day.
- ``title note: WHAT``: *open* or *closed*; while one is open nothing is advertised.
- ``near number: NUMBER``: how a number of a list that this one may be was settled.
- ``material: ID``: the answer to a question about a protected material or a route.
- ``material: looked``: what was found when board, nut, guard and inlay were looked at for such
  materials. Words of the record raise questions; that none is there may mean that nobody looked.

Prompts only, never legal advice: listings change, and looking does not determine a species.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import msgspec

from heelstamp.catalogue import DossierState
from heelstamp.marks.misread import near_numbers
from heelstamp.wording import about_clearance as about

SEARCH, NOTE, NEAR, MATERIAL = "title search:", "title note:", "near number:", "material:"
NO_HIT = "no hit on that day"
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
        Where it may go: ``EU``, ``US`` and so on; rules of other reach are not asked then.
    """
    said = decisions_of(state)
    searches = [
        SearchMade(
            list=about_[len(SEARCH) :].strip(),
            result=one.decided,
            when=state.entered[id_].at,
            reason=one.reason,
        )
        for id_, one in state.decisions.items()
        if (about_ := one.about.casefold()).startswith(SEARCH)
    ]
    open_notes = [
        key[len(NOTE) :].strip()
        for key, decided in said.items()
        if key.startswith(NOTE) and decided.casefold() != "closed"
    ]
    near = _near(state, listed, said)
    asked = _asked(state, materials, routes, said)
    latest = {one.list: one for one in searches}
    hits = [one for one in latest.values() if one.result.casefold() != NO_HIT]
    near_open = [one for one in near if one.settled is None]
    unanswered = [one for one in asked if one.answer is None]
    looked = said.get(f"{MATERIAL} looked")
    if open_notes or hits or near_open:
        standing: Standing = "blocked"
    elif not searches or unanswered or looked is None:
        standing = "not settled"
    else:
        standing = "clear"
    told = [about.standing(standing)]
    told += [about.title_note(note) for note in open_notes]
    told += [about.search_hit(one.list, one.result, one.when) for one in hits]
    told += [about.search_clear(one.list, one.when) for one in latest.values() if one not in hits]
    if not searches:
        told.append(about.not_searched())
    told += [about.near_number(one.number, one.where, one.misread) for one in near_open]
    if looked is None:
        told.append(about.materials_not_looked())
    told += [
        about.material_question(
            one.rule, one.in_force, one.because, one.question, species=one.appendix != "-"
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
        sentences=[one.text for one in told],
    )


def decisions_of(state: DossierState) -> dict[str, str]:
    """Give what was decided last on each matter, in small letters."""
    return {one.about.casefold().strip(): one.decided.strip() for one in state.decisions.values()}


def numbers_of(state: DossierState) -> tuple[str, ...]:
    """Give every reading of the serial number that stands."""
    found: list[str] = []
    for one in state.observations.values():
        if one.kind == "serial" and one.is_read:
            found += [one.text] if one.text else [r.text for r in one.readings if r.text]
    return tuple(dict.fromkeys(found))


def _near(
    state: DossierState, listed: Sequence[ListedNumber], said: Mapping[str, str]
) -> list[NearFound]:
    found: dict[tuple[str, str], NearFound] = {}
    places: dict[str, list[str]] = {}
    for one in listed:
        places.setdefault(one.number, []).append(one.where)
    for read in numbers_of(state):
        for hit in near_numbers(read, places):
            for where in places[hit.number]:
                key = (hit.number, where)
                settled = said.get(f"{NEAR} {hit.number.casefold()}")
                before = found.get(key)
                if before is None or hit.misread < before.misread:
                    found[key] = NearFound(
                        number=hit.number, where=where, misread=hit.misread, settled=settled
                    )
    return sorted(found.values(), key=lambda one: one.misread)


def _asked(
    state: DossierState,
    materials: Sequence[ProtectedMaterial],
    routes: Sequence[str],
    said: Mapping[str, str],
) -> list[MaterialAsked]:
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
                answer=said.get(f"{MATERIAL} {one.id}"),
            )
        )
    return found


def _names(text: str, words: Sequence[str]) -> bool:
    # whole words, but "rosewood-like" names rosewood: what only looks so must be asked about
    return any(re.search(rf"(?<!\w){re.escape(word)}(?!\w)", text) for word in words if word)


def _texts(state: DossierState) -> Iterable[str]:
    for seen in state.observations.values():
        yield from (text for text in (seen.variant, seen.outcome, seen.note) if text)
    for item in state.contents.values():
        yield item.item
