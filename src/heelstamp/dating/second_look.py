"""What looking again at the observation in question would tell of two stories.

A second look by another person, blind to the first, has an error of its own. Where a story takes
the first look for right, the second shows the same but for that error; where a story takes it for
a mistake, the second shows what everything else leads one to expect of the part in that story:
P(outcome | story) = Z(story without the first look, with the outcome) / Z(story). Of mistakes a
share comes again in the second look (the same dent looks like the same figure to both); such looks
tell nothing, so the expected information is multiplied by the share that does not. That share is
a choice of this program, not a measurement.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import (
    Evidence,
    FeatureSeen,
    Mark,
    Observation,
    ScrewsSeen,
    SerialNumber,
    SignSeen,
)
from heelstamp.dating.explanations import (
    Conflict,
    Deciding,
    StoryRows,
    error_and_floor,
    told_of_two,
)
from heelstamp.dating.model import Array
from heelstamp.dating.outcomes import (
    feature_outcomes,
    mark_outcomes,
    screw_outcomes,
    serial_outcomes,
    sign_outcomes,
)
from heelstamp.dating.posterior import log_evidence_many
from heelstamp.units import Period

INDEPENDENT = 0.5
"""Share of mistakes that a second look by another person does not repeat (our choice)."""


def second_look(
    compiled: CompiledModel, evidence: Evidence, conflict: Conflict, place: int
) -> Deciding | None:
    """What a second look at the observation at *place* is expected to tell.

    Returns
    -------
    Deciding or None
        Named ``again``; None for observations without outcomes.
    """
    if place not in conflict.question.observations:
        raise ValueError("only an observation in question is looked at again")
    found = _outcomes(compiled, evidence[place])
    if found is None:
        return None
    outcomes, same = found
    error, _ = error_and_floor(compiled, evidence[place])
    floors = np.array([error_and_floor(compiled, one)[1] for one in outcomes])
    table = np.zeros((len(outcomes), 2))
    for column, story in enumerate((conflict.first, conflict.second)):
        if place not in story.mistaken:
            table[:, column] = story.share * ((1 - error) * same + error * floors)
            continue
        plan = StoryRows.make(compiled, evidence, conflict.question, story.states, story.mistaken)
        rows = [row for one in outcomes for row in plan.rows(evidence, (one,))]
        logs = log_evidence_many(compiled, [*rows, evidence])
        scale = np.exp(logs[:-1] - logs[-1]).reshape(len(outcomes), -1)
        table[:, column] = np.clip(scale @ np.array(plan.signs), 0, None)
    return Deciding("again", INDEPENDENT * told_of_two(table))


def _outcomes(
    compiled: CompiledModel, one: Observation
) -> tuple[Sequence[Observation], Array] | None:
    """All outcomes, and P(outcome | a second look at what was rightly seen)."""
    model = compiled.model
    if isinstance(one, FeatureSeen):
        outcomes = feature_outcomes(model, one.feature)
        return outcomes, np.array([float(other == one) for other in outcomes])
    if isinstance(one, SignSeen):
        outcomes = sign_outcomes(model, one.sign)
        return outcomes, np.array([float(other == one) for other in outcomes])
    if isinstance(one, ScrewsSeen):
        outcomes = screw_outcomes(one.opening, one.count)
        return outcomes, np.array([float(other == one) for other in outcomes])
    if isinstance(one, Mark):
        outcomes = mark_outcomes(model, one.part, one.error)
        cells = [m.readings[0].period for m in outcomes if isinstance(m, Mark)]
        named = [(r.period, r.weight / len(r.period)) for r in one.readings]
        return outcomes, _spread_over(cells, named)
    if isinstance(one, SerialNumber) and model.serial is not None:
        outcomes = serial_outcomes(model)
        cells = [
            Period(s.months[0][0], s.months[-1][0]) for s in outcomes if isinstance(s, SerialNumber)
        ]
        return outcomes, _spread_over(cells, [(Period(m, m), w) for m, w in one.months])
    return None


def _spread_over(cells: Sequence[Period], named: Sequence[tuple[Period, float]]) -> Array:
    """Spread weights a month over cells, as shares; months beyond the cells go to the nearest."""
    shares = np.zeros(len(cells))
    ends = np.array([cell.last for cell in cells])
    for period, weight in named:
        months = np.arange(period.first, period.last + 1)
        np.add.at(shares, np.minimum(np.searchsorted(ends, months), len(cells) - 1), weight)
    return np.asarray(shares / shares.sum(), dtype=np.float64)
