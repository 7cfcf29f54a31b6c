"""The condition of an instrument told: places, grades, and the difference of two visits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, get_args

from heelstamp.casework.condition.grading import AspectGrade, grades
from heelstamp.casework.condition.overlay import (
    ORDER,
    VISIT_WORDS,
    Compared,
    compare_visits,
    faces_looked,
)
from heelstamp.casework.condition.overlay import places as places_of
from heelstamp.casework.condition.vocabulary import LETTERS, describe_letter
from heelstamp.casework.feature_names import reader_words
from heelstamp.catalogue import Condition, DossierState, PartsTree, body_data
from heelstamp.catalogue.bodies.condition import Face, Visit
from heelstamp.wording import Statement, about_condition
from heelstamp.wording.sentences import Grounds

FACES: tuple[str, ...] = get_args(Face)


@dataclass(frozen=True, slots=True)
class ConditionFinding:
    """What is said of the condition.

    Attributes
    ----------
    visit
        The latest visit of which anything stands.
    places
        Each place of that visit, and its sentence.
    compared
        That visit laid over the one before it, and a sentence for each place; empty at intake.
    grades
        The aspects that somebody graded, and their sentences; what was not graded, last.
    """

    visit: Visit
    places: tuple[tuple[Condition, Statement], ...]
    compared: tuple[tuple[Compared, Statement], ...]
    grades: tuple[tuple[AspectGrade, Statement], ...]
    gaps: tuple[Statement, ...]

    @property
    def questions(self) -> tuple[Statement, ...]:
        """Differences that no act explains."""
        return tuple(said for row, said in self.compared if row.asks)

    def data(self) -> dict[str, Any]:
        """Write it as plain values."""
        return {
            "visit": self.visit,
            "places": [body_data(one) | {"said": said.text} for one, said in self.places],
            "changes": [
                {
                    "change": row.change,
                    "before": row.before and row.before.id,
                    "after": row.after and row.after.id,
                    "explained_by": list(row.explained_by),
                    "said": said.text,
                }
                for row, said in self.compared
            ],
            "grades": [
                {"aspect": one.aspect or "whole", "grade": one.letter, "apart": one.apart}
                | {"by": {who: grade.grade for who, grade in one.by.items()}, "said": said.text}
                for one, said in self.grades
            ],
            "not_seen": [one.text for one in self.gaps],
        }


def describe_condition(state: DossierState, tree: PartsTree) -> ConditionFinding:
    """Say what stands of the condition, and what changed since the visit before."""
    seen = [one for one in ORDER if places_of(state, one) or faces_looked(state, one)]
    visit = seen[-1] if seen else "intake"
    compared = compare_visits(state, seen[-2], visit) if len(seen) > 1 else ()
    graded = [one for one in grades(state) if one.by]
    return ConditionFinding(
        visit,
        tuple((one, describe_place(one, tree)) for one in places_of(state, visit)),
        tuple((one, _change(state, one, tree)) for one in compared),
        tuple((one, _grade(one)) for one in graded),
        _gaps(state, visit, [one.aspect for one in graded]),
    )


def where_of(one: Condition, tree: PartsTree) -> str:
    """Name the face, and the part where one is meant."""
    return f"{one.face}, {tree.part(one.part).label}" if one.part else one.face


def describe_place(one: Condition, tree: PartsTree) -> Statement:
    """Say one place: what, where, how large, since when."""
    return about_condition.place(
        f"condition:{one.id}",
        Grounds((one.id,), (one.frame,) if one.frame else ()),
        damage=one.damage,
        material=one.material,
        where=where_of(one, tree),
        length_mm=one.length_mm,
        width_mm=one.width_mm,
        uncertainty_mm=one.uncertainty_mm,
        since=one.since,
    )


def _change(state: DossierState, row: Compared, tree: PartsTree) -> Statement:
    both = [one for one in (row.before, row.after) if one is not None]
    frames = tuple(one.frame for one in both if one.frame)
    return about_condition.change(
        f"condition change:{row.place.id}",
        Grounds((*(one.id for one in both), *row.explained_by), frames),
        change=row.change,
        what=row.place.damage,
        where=where_of(row.place, tree),
        acts=[reader_words(state.treatments[one].act) for one in row.explained_by],
    )


def _grade(one: AspectGrade) -> Statement:
    best = one.letter == LETTERS[0]
    said = about_condition.grade_without_fault if best else about_condition.grade
    return said(
        f"grade:{one.aspect or 'whole'}",
        Grounds(tuple(grade.id for grade in one.by.values())),
        aspect=one.aspect,
        letter=one.letter,
        means=describe_letter(one.aspect, one.letter),
        people=tuple(one.by),
        apart=one.apart,
    )


def _gaps(state: DossierState, visit: Visit, graded: Sequence[str]) -> tuple[Statement, ...]:
    looked = faces_looked(state, visit)
    unseen = [one for one in FACES if one not in looked]
    ungraded = [one.aspect for one in grades(state) if one.aspect and one.aspect not in graded]
    found = []
    if unseen:
        found.append(
            about_condition.not_looked("faces not whole", faces=unseen, when=VISIT_WORDS[visit])
        )
    if ungraded:
        found.append(about_condition.not_graded("condition not graded", aspects=ungraded))
    return tuple(found)
