"""What the instrument's own page shows: one line for each thing known, and the next step."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from heelstamp.casework.condition.grading import grades
from heelstamp.casework.condition.overlay import ORDER, places
from heelstamp.casework.feature_names import heading
from heelstamp.casework.next_step import Step, due, steps
from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.casework.papers.finish_section import looks_with_findings
from heelstamp.casework.papers.part_section import FINISH
from heelstamp.casework.rack import deepest_opening, last_sum, picture_of, place_of
from heelstamp.catalogue import DossierState
from heelstamp.catalogue.clock import unsure_times
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.photographs import photo_plan
from heelstamp.wording import about_record

CHANGED = frozenset({"period-correct", "later", "from another", "replaced", "not settled"})
"""Verdicts of parts that a buyer will ask about by name."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Where an instrument is, and what comes next.

    Attributes
    ----------
    where
        Whose hands it is in and the place entered last.
    clock
        What is to be said of times that contradict the journal; empty where none do.
    opened
        How far it was ever opened.
    due
        What is owed already.
    next
        The one next step.
    """

    picture: str
    clock: str
    where: str
    opened: str
    claimed: str
    due: tuple[Step, ...]
    next: Step


@dataclass(frozen=True, slots=True)
class Known:
    """One line: what it is about, what is known, and the screen that tells more."""

    about: str
    text: str
    screen: str


def standing(shop: OpenShop, tag: str, *, sums: bool) -> Standing:
    """Where it is and what comes next, from what was entered alone."""
    subject = shop.subject(tag)
    state, tree = subject.state, subject.tree
    ahead = [one for one in steps(state, tree, photo_plan()) if sums or one.screen != "money"]
    owed = due(state)
    unsure = len(unsure_times([one.at for one in state.entered.values()]))
    place = place_of(state)
    return Standing(
        picture=picture_of(state),
        clock=about_record.clock_unsure.say(count=unsure) if unsure else "",
        where=heading(state.custody_state) + (f": {place}" if place else ""),
        opened=deepest_opening(state, tree),
        claimed=state.instrument.claimed or "",
        due=owed,
        next=ahead[0],
    )


def is_known(shop: OpenShop, tag: str) -> bool:
    """Whether what has to be worked out is remembered for the dossier as it stands."""
    return shop.has("said", tag)


def known_lines(shop: OpenShop, tag: str, *, sums: bool) -> tuple[Known, ...]:
    """One line each: date, state, finish, condition, and the sum for who may see it."""
    state, said = shop.subject(tag).state, shop.said(tag)
    dated, rows = said.dated, said.rows
    lines = [
        Known("Date", _dated(dated.headline, dated.headline_note), "findings"),
        Known("Parts", _parts(rows), "findings"),
        Known("Finish", _finish(state, rows), "uv-lamp"),
        Known("Condition", _condition(state), "condition"),
    ]
    if sums:
        lines.append(Known("Price", heading(last_sum(state)) or "Nothing was entered.", "money"))
    return tuple(lines)


def _dated(headline: str, note: str) -> str:
    return f"{headline} ({note.rstrip('.')})." if note else headline


def _parts(rows: tuple[PartRow, ...]) -> str:
    judged = [one for one in rows if one.key != FINISH]
    counted = Counter(one.verdict for one in judged)
    told = []
    if counted["original"]:
        told.append(f"original, with the word for it: {counted['original']} of {len(judged)}")
    for verdict in sorted(CHANGED):
        named = [one.label for one in judged if one.verdict == verdict]
        if named:
            told.append(f"{verdict}: {_named(named)}")
    bare = counted["not examined"] + counted["not judged"]
    if bare:
        told.append(f"{bare} not examined or not judged")
    return heading("; ".join(told)) + "." if told else "No part was examined."


def _named(labels: list[str]) -> str:
    return ", ".join(labels[:3]) + (f" and {len(labels) - 3} more" if len(labels) > 3 else "")


def _finish(state: DossierState, rows: tuple[PartRow, ...]) -> str:
    row = next((one for one in rows if one.key == FINISH), None)
    verdict = "not examined" if row is None else row.said
    faces = len(looks_with_findings(state))
    compared = (
        f"{faces} face{'' if faces == 1 else 's'} compared under UV"
        if faces
        else "no face compared under UV"
    )
    return f"{heading(verdict)}; {compared}."


def _condition(state: DossierState) -> str:
    """The letters, the whole one first, and how many places are not whole."""
    given = {one.aspect or "whole": one.letter for one in grades(state) if one.by}
    told = [f"whole {given.pop('whole')}"] if "whole" in given else []
    told += [f"{aspect} {letter}" for aspect, letter in given.items()]
    seen = [one for one in ORDER if places(state, one)]
    count = len(places(state, seen[-1])) if seen else 0
    marked = f"; {count} {'place' if count == 1 else 'places'} on the map" if count else ""
    return (f"Grades: {', '.join(told)}" if told else "Not graded") + marked + "."
