"""Condition: the grades that were given, then what was seen of wear and damage.

A sign belongs here by its name: wear, checking, corrosion, cracks and the like. The map of where it
lies is the drawing of parts and the photographs named; a grade is an opinion and says so.
"""

from __future__ import annotations

import re
from dataclasses import replace

from heelstamp.casework.condition.describe import describe_condition
from heelstamp.casework.feature_names import FeatureNames, heading, part_label
from heelstamp.casework.papers.audience import REASON_KEPT
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.wording import Grounds, Statement, about_condition, about_record, about_summary

_OF_CONDITION = re.compile(
    r"wear|worn|check|craz|crack|corro|rust|dent|ding|scratch|shrink|warp|gass|fad(?:ed|ing)|bare",
    re.IGNORECASE,
)


def grade_statements(state: DossierState, tree: PartsTree) -> tuple[Statement, ...]:
    """The letter of the whole and of each aspect, the whole first, with the reasons entered."""
    told = []
    for one, graded in describe_condition(state, tree).grades:
        reasons = [
            grade.reason
            for grade in one.by.values()
            if grade.grade == one.letter and grade.reason not in ("", REASON_KEPT)
        ]
        told.append((one.aspect, _with_reason(graded, reasons[0]) if reasons else graded))
    return tuple(said for _, said in sorted(told, key=lambda one: one[0] != ""))


def _with_reason(graded: Statement, reason: str) -> Statement:
    """A letter with its reason; one that tells of no fault stays such."""
    fault = graded.template == about_condition.grade.id
    return replace(
        graded,
        text=about_summary.with_reason.say(said=graded.text, reason=reason),
        template=about_summary.with_reason.id if fault else graded.template,
    )


def is_condition(seen: Observation) -> bool:
    """Tell whether an observation is of wear or damage."""
    told = " ".join(filter(None, (seen.sign, seen.outcome)))
    return seen.is_read and seen.kind == "sign" and bool(_OF_CONDITION.search(told))


def condition_section(
    state: DossierState, tree: PartsTree, names: FeatureNames
) -> tuple[Statement, ...]:
    """Grades, places that are not whole, what was not looked over, signs of wear and damage."""
    found = describe_condition(state, tree)
    told = list(grade_statements(state, tree)) or [about_summary.no_grade("grade:none")]
    told += [said for _, said in found.places]
    told += found.gaps
    for one in state.observations.values():
        if not is_condition(one):
            continue
        note = f". {heading(one.note.rstrip('.'))}" if one.note else ""
        outcome = names.variant(one.outcome) if one.outcome else "seen"
        told.append(
            about_record.sign_seen(
                f"wear:{one.id}",
                Grounds((one.id,), tuple(one.frames)),
                part=heading(part_label(tree, one.part)),
                sign=names.name(one.subject),
                outcome=f"{outcome}{note}",
            )
        )
    return tuple(told)
