"""How long the next inspection of the demonstration's guitar takes to plan.

One core, model compiled beforehand, as in a shop that keeps it between questions. *Ten
inspections*: the guard is off, its ten inspections are options of their own, every outcome is
enumerated. *Bundles*: nothing is open, and what lies behind each act is one option with its joint
gain, partly drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from heelstamp.casework.inspections import plan_inspections
from heelstamp.catalogue import DossierState, Folding
from heelstamp.chronology import dating_model
from heelstamp.dating import CompiledModel
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.demonstration import demo_journal
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.reference.tables import mark_context
from results import Result, seconds

OUTSIDE_DONE, GUARD_LIFTED = "decision-guard", "t-guard-off"
"""Entries of the journal after which a stage is over."""

MOST_MS = 100
"""Goal for a plan of ten inspections, milliseconds."""


def measure() -> Iterator[Result]:
    """Plan ten single inspections, then everything there is with its bundles."""
    tree, chronology = load_parts_tree("guitar"), load_chronology("sallowby-wherry")
    context, table = mark_context(), load_stop_table()
    compiled = CompiledModel(dating_model(chronology))
    cavity = tuple(
        row for row in chronology.inspections if row.opening == "guard" and row.invasiveness < 4
    )

    def plan(state: DossierState, known: Any) -> Any:
        return plan_inspections(state, tree, known, context, table=table, compiled=compiled)

    opened, only = state_after(GUARD_LIFTED), replace(chronology, inspections=cavity)
    found = plan(opened, only)
    took = seconds(lambda: plan(opened, only))
    outcomes = sum(one.outcomes for one in found.options)
    yield Result(
        f"plan of {len(found.options)} inspections",
        1000 * took,
        "ms",
        ("at most", MOST_MS),
        beside=f"{outcomes} outcomes, each an exact dating",
    )
    shut = state_after(OUTSIDE_DONE)
    found = plan(shut, chronology)
    took = seconds(lambda: plan(shut, chronology), repeat=3)
    drawn = [one for one in found.options if one.gain.standard_error is not None]
    beside = f"{sum(one.outcomes for one in found.options)} cases, {len(drawn)} bundle drawn"
    if drawn:
        gain = drawn[0].gain
        beside += f": {gain.date_bits:.2f} ± {gain.standard_error:.2f} bit"
    yield Result("plan with bundles behind each act", 1000 * took, "ms", beside=beside)


def state_after(entry: str) -> DossierState:
    """Fold the demonstration's journal up to an entry."""
    folding = Folding(load_parts_tree("guitar"))
    for place, one in enumerate(demo_journal()):
        folding.add(one["kind"], one["body"], where=str(place))
        if one["body"].get("id") == entry:
            break
    return folding.state


if __name__ == "__main__":
    for result in measure():
        print(" | ".join(result.cells()))
