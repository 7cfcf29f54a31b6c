"""Whether each observation fits the others, and which reading of a mark is borne out.

Leave-one-out: P(observation | others) = Z / Z without it, and the total variation between the
posteriors of the completion month with and without it. Surprise: predictive probability of
outcomes less probable than the seen one, plus half that of the seen one (mid-p), on the outcomes
of ``outcomes``. Below 0.01 an observation is flagged: it does not fit, which is not the same as
being wrong. Everything runs as rows of one batch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import (
    Evidence,
    FeatureSeen,
    Mark,
    Observation,
    SerialNumber,
    SignSeen,
)
from heelstamp.dating.model import Array
from heelstamp.dating.outcomes import (
    feature_outcomes,
    mark_outcomes,
    serial_outcomes,
    sign_outcomes,
)
from heelstamp.dating.posterior import infer_many
from heelstamp.units.months import MONTHS_A_YEAR

SURPRISING = 0.01
"""Mid-p surprise below which an observation is flagged."""


@dataclass(frozen=True)
class LeftOut:
    """One observation against all others.

    Attributes
    ----------
    predictive
        P(observation | others).
    total_variation
        Half the summed difference of the completion posteriors with and without it.
    months
        Completion posterior without it, (months,).
    """

    predictive: float
    total_variation: float
    months: Array


def leave_out(
    compiled: CompiledModel, evidence: Evidence, groups: Sequence[Sequence[int]]
) -> tuple[LeftOut, ...]:
    """Leave each group of observations (positions in *evidence*) out in turn."""
    rows = [evidence]
    for group in groups:
        left = set(group)
        rows.append(tuple(one for i, one in enumerate(evidence) if i not in left))
    posterior = infer_many(compiled, rows)
    whole = posterior.months[0]
    predictive = np.exp(posterior.log_evidence[0] - posterior.log_evidence[1:])
    return tuple(
        LeftOut(float(p), float(np.abs(whole - months).sum() / 2), months)
        for p, months in zip(predictive, posterior.months[1:], strict=True)
    )


def leave_one_out(compiled: CompiledModel, evidence: Evidence) -> tuple[LeftOut, ...]:
    """Leave each observation out in turn; results in the order of *evidence*."""
    return leave_out(compiled, evidence, [(i,) for i in range(len(evidence))])


def reading_posterior(compiled: CompiledModel, evidence: Evidence, index: int) -> Array:
    """Give P(reading | all) of the mark at *index*, one number a reading.

    Raises
    ------
    TypeError
        The observation there is not a mark.
    """
    mark = evidence[index]
    if not isinstance(mark, Mark):
        raise TypeError("only a mark has readings")
    rows = [
        (*evidence[:index], replace(mark, readings=(one,)), *evidence[index + 1 :])
        for one in mark.readings
    ]
    logs = infer_many(compiled, rows).log_evidence
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum(), dtype=np.float64)


def surprises(compiled: CompiledModel, evidence: Evidence) -> tuple[float | None, ...]:
    """Give the mid-p surprise of each observation, None for those without outcomes.

    For a mark the seen outcome is its most expected year: an ambiguous reading surprises only
    when none of its years was expected.
    """
    rows: list[Evidence] = []
    plans: list[tuple[int, list[int]] | None] = []
    for index, one in enumerate(evidence):
        found = _outcomes(compiled, one)
        if found is None:
            plans.append(None)
            continue
        outcomes, seen = found
        plans.append((len(outcomes), seen))
        rows += [(*evidence[:index], other, *evidence[index + 1 :]) for other in outcomes]
    if not rows:
        return tuple(None for _ in plans)
    logs = infer_many(compiled, rows).log_evidence
    result: list[float | None] = []
    begin = 0
    for plan in plans:
        if plan is None:
            result.append(None)
            continue
        count, seen = plan
        part = logs[begin : begin + count]
        begin += count
        predictive = np.exp(part - part.max())
        predictive /= predictive.sum()
        level = predictive[seen].max()
        below = predictive[predictive < level * (1 - 1e-9)].sum()
        equal = predictive[np.isclose(predictive, level, rtol=1e-9, atol=0)].sum()
        result.append(float(below + equal / 2))
    return tuple(result)


def _outcomes(
    compiled: CompiledModel, one: Observation
) -> tuple[tuple[Observation, ...], list[int]] | None:
    """Give the outcomes that could have been seen and the positions of what was."""
    model = compiled.model
    if isinstance(one, FeatureSeen):
        outcomes = feature_outcomes(model, one.feature)
        return outcomes, [outcomes.index(one)]
    if isinstance(one, SignSeen):
        outcomes = sign_outcomes(model, one.sign)
        return outcomes, [outcomes.index(one)]
    if isinstance(one, Mark):
        outcomes = mark_outcomes(model, one.part, one.error)
        first = model.marks.first // MONTHS_A_YEAR
        years = {
            year
            for reading in one.readings
            for year in range(
                reading.period.first // MONTHS_A_YEAR, reading.period.last // MONTHS_A_YEAR + 1
            )
        }
        return outcomes, [y - first for y in sorted(years) if 0 <= y - first < len(outcomes)]
    if isinstance(one, SerialNumber):
        outcomes = serial_outcomes(model)
        first = model.completion.first // MONTHS_A_YEAR
        grid = model.completion
        held = {min(max(month, grid.first), grid.last) // MONTHS_A_YEAR for month, _ in one.months}
        return outcomes, [year - first for year in sorted(held)]
    return None
