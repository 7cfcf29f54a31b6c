"""Condition: the grades that were given, then what was seen of wear and damage.

A sign belongs here by its name: wear, checking, corrosion, cracks and the like. The map of where it
lies is the drawing of parts and the photographs named; a grade is an opinion and says so.
"""

from __future__ import annotations

import re

from heelstamp.casework.feature_names import FeatureNames, heading, part_label
from heelstamp.casework.papers.audience import REASON_KEPT
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.catalogue.bodies.appraisal import Grade
from heelstamp.wording import Grounds, Statement, about_record, about_summary

_OF_CONDITION = re.compile(
    r"wear|worn|check|craz|crack|corro|rust|dent|ding|scratch|shrink|warp|gass|fad(?:ed|ing)|bare",
    re.IGNORECASE,
)


def grades(state: DossierState) -> tuple[Statement, ...]:
    """The last grade of the whole and of each aspect, the whole first."""
    last = {one.aspect: one for one in state.of(Grade).values()}
    ordered = sorted(last.values(), key=lambda one: one.aspect != "")
    return tuple(
        about_summary.graded(
            f"grade:{one.aspect or 'overall'}",
            Grounds((one.id,)),
            aspect=one.aspect,
            grade=one.grade,
            reason="" if one.reason == REASON_KEPT else one.reason,
        )
        for one in ordered
    )


def is_condition(seen: Observation) -> bool:
    """Tell whether an observation is of wear or damage."""
    told = " ".join(filter(None, (seen.sign, seen.outcome)))
    return seen.is_read and seen.kind == "sign" and bool(_OF_CONDITION.search(told))


def condition_section(
    state: DossierState, tree: PartsTree, names: FeatureNames
) -> tuple[Statement, ...]:
    """Grades, or that none was given, then a statement for each sign of wear or damage."""
    told = list(grades(state)) or [about_summary.not_graded("grade:none")]
    for one in state.observations.values():
        if not is_condition(one):
            continue
        note = f". {heading(one.note.rstrip('.'))}" if one.note else ""
        outcome = names.variant(one.outcome) if one.outcome else "seen"
        told.append(
            about_record.sign_seen(
                f"condition:{one.id}",
                Grounds((one.id,), tuple(one.frames)),
                part=heading(part_label(tree, one.part)),
                sign=names.name(one.subject),
                outcome=f"{outcome}{note}",
            )
        )
    return tuple(told)
