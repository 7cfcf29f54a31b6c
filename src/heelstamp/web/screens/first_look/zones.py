"""Where the looking stands, part by part: what a drawing shows before anything is inferred.

*Not looked at* is where every part begins and it is a fact of its own, as are *absent*,
*illegible* and *not applicable*. A part is *partly looked at* when some of its questions have an
answer and some have none.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from heelstamp.casework.first_look import questions_of
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.chronology import Chronology

Looking = Literal[
    "looked at",
    "partly looked at",
    "not looked at",
    "absent",
    "illegible",
    "not applicable",
    "not asked",
]
LOOKINGS: tuple[Looking, ...] = (
    "looked at",
    "partly looked at",
    "not looked at",
    "absent",
    "illegible",
    "not applicable",
    "not asked",
)


@dataclass(frozen=True, slots=True)
class Zone:
    """One part: its key, its name, how far it was looked at, and answers over questions."""

    key: str
    label: str
    looking: Looking
    answered: int
    asked: int


def zones(state: DossierState, tree: PartsTree, chronology: Chronology) -> tuple[Zone, ...]:
    """Every part of the tree, in its order."""
    return tuple(_zone(state, tree, chronology, part.key, part.label) for part in tree)


def counts(all_zones: Iterable[Zone]) -> Mapping[Looking, int]:
    """Count the parts by how far they were looked at, in the order of `LOOKINGS`."""
    found = [zone.looking for zone in all_zones]
    return {one: found.count(one) for one in LOOKINGS if one in found}


def _zone(
    state: DossierState, tree: PartsTree, chronology: Chronology, key: str, label: str
) -> Zone:
    questions = questions_of(state, tree, chronology, key)
    seen = state.of_part(key)
    answered = sum(
        one.standing is not None and one.standing.status != "not looked" for one in questions
    )
    statuses: set[str] = {one.status for one in seen}
    return Zone(key, label, _looking(statuses, answered, len(questions)), answered, len(questions))


def _looking(statuses: set[str], answered: int, asked: int) -> Looking:
    told = statuses - {"not looked"}
    if not told:
        return "not looked at" if asked or statuses else "not asked"
    if answered < asked:
        return "partly looked at"
    if told == {"absent"}:
        return "absent"
    if told == {"illegible"}:
        return "illegible"
    if told == {"not applicable"}:
        return "not applicable"
    return "looked at"
