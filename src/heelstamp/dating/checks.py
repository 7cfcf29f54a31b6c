"""Whether each observation fits the others, and which reading of a mark is borne out.

Leave-one-out: P(observation | others) = Z / Z without it, and the total variation between the
posteriors of the completion month with and without it. Surprise: predictive probability of
outcomes less probable than the seen one, plus half that of the seen one (mid-p), on the outcomes
of ``outcomes``. Below 0.01 an observation is flagged: it does not fit, which is not the same as
being wrong. Everything runs as rows of one batch.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import (
    Evidence,
    FeatureSeen,
    Mark,
    Observation,
    Reading,
    ScrewsSeen,
    SerialNumber,
    SignSeen,
)
from heelstamp.dating.model import Array
from heelstamp.dating.outcomes import (
    feature_outcomes,
    mark_outcomes,
    screw_outcomes,
    serial_outcomes,
    sign_outcomes,
)
from heelstamp.dating.posterior import infer_many, log_evidence_many
from heelstamp.dating.summary import quantile
from heelstamp.units import MonthGrid, Period
from heelstamp.units.months import MONTHS_A_YEAR

TAIL = 0.011
"""Share of P(T) on either side of the years that are told apart one by one."""

YEARS_AROUND = 3
"""Years further told apart on either side."""

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
    parts
        For each part half the summed difference of P(state) with and without it.
    """

    predictive: float
    total_variation: float
    months: Array
    parts: Mapping[str, float]


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
    moved = {
        part: np.abs(states[1:] - states[0]).sum(axis=1) / 2
        for part, states in posterior.states.items()
    }
    return tuple(
        LeftOut(
            float(p),
            float(np.abs(whole - months).sum() / 2),
            months,
            {part: float(shift[row]) for part, shift in moved.items()},
        )
        for row, (p, months) in enumerate(zip(predictive, posterior.months[1:], strict=True))
    )


def leave_one_out(compiled: CompiledModel, evidence: Evidence) -> tuple[LeftOut, ...]:
    """Leave each observation out in turn; results in the order of *evidence*."""
    return leave_out(compiled, evidence, [(i,) for i in range(len(evidence))])


def reading_posteriors(
    compiled: CompiledModel, evidence: Evidence, places: Iterable[int]
) -> dict[int, Array]:
    """P(reading | all) of the marks at *places*, one number a reading, by place.

    Raises
    ------
    TypeError
        An observation there is not a mark.
    """
    tried = EachReading.of(evidence, places)
    return tried.shares(log_evidence_many(compiled, tried.rows) if tried.rows else np.empty(0))


@dataclass(frozen=True)
class EachReading:
    """The evidence with one reading of a mark alone, one row a reading, for inference.

    Attributes
    ----------
    rows
        None for marks with one reading.
    places
        For each mark, by its place in the evidence, its rows.
    """

    rows: list[Evidence]
    places: Mapping[int, slice]

    @classmethod
    def of(cls, evidence: Evidence, places: Iterable[int]) -> EachReading:
        """Make the rows of the marks at *places*.

        Raises
        ------
        TypeError
            An observation there is not a mark.
        """
        rows: list[Evidence] = []
        at: dict[int, slice] = {}
        for place in places:
            mark = evidence[place]
            if not isinstance(mark, Mark):
                raise TypeError("only a mark has readings")
            begin = len(rows)
            if len(mark.readings) > 1:
                rows += [
                    (*evidence[:place], replace(mark, readings=(one,)), *evidence[place + 1 :])
                    for one in mark.readings
                ]
            at[place] = slice(begin, len(rows))
        return cls(rows, at)

    def shares(self, log_evidence: Array) -> dict[int, Array]:
        """P(reading | all), one number a reading, by place, from ln P(evidence) of each row."""
        found: dict[int, Array] = {}
        for place, some in self.places.items():
            logs = log_evidence[some] if some.stop > some.start else np.zeros(1)
            weights = np.exp(logs - logs.max())
            found[place] = weights / weights.sum()
        return found


def surprises(compiled: CompiledModel, evidence: Evidence) -> tuple[float | None, ...]:
    """The mid-p surprise of each observation, None for those without outcomes.

    For a mark the seen outcome is its most expected year: an ambiguous reading surprises only
    when none of its years was expected. The last answer is kept with the model: what does not fit
    is asked of the same evidence that was dated.
    """
    kept = compiled.surprises
    if kept is None or kept[0] != evidence:
        kept = compiled.surprises = evidence, _surprises(compiled, evidence)
    return kept[1]


def _surprises(compiled: CompiledModel, evidence: Evidence) -> tuple[float | None, ...]:
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
    logs = log_evidence_many(compiled, rows)
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
    """The outcomes that could have been seen and the positions of what was."""
    model = compiled.model
    if isinstance(one, FeatureSeen):
        outcomes = feature_outcomes(model, one.feature)
        return outcomes, [outcomes.index(one)]
    if isinstance(one, SignSeen):
        outcomes = sign_outcomes(model, one.sign)
        return outcomes, [outcomes.index(one)]
    if isinstance(one, ScrewsSeen):
        return screw_outcomes(one.opening, one.count), [one.turned]
    if isinstance(one, Mark):
        return _by_year(
            compiled, mark_outcomes(model, one.part, one.error), model.marks, _years(one)
        )
    if isinstance(one, SerialNumber):
        grid = model.completion
        held = {min(max(month, grid.first), grid.last) // MONTHS_A_YEAR for month, _ in one.months}
        return _by_year(compiled, serial_outcomes(model), grid, held)
    return None


def _years(mark: Mark) -> set[int]:
    """The years that the readings of a mark name."""
    return {
        year
        for one in mark.readings
        for year in range(one.period.first // MONTHS_A_YEAR, one.period.last // MONTHS_A_YEAR + 1)
    }


def _by_year(
    compiled: CompiledModel, outcomes: tuple[Observation, ...], grid: MonthGrid, seen: set[int]
) -> tuple[tuple[Observation, ...], list[int]]:
    """Keep one outcome a year around production; all years before, and all after, are one each."""
    completion = compiled.model.completion
    first = grid.first // MONTHS_A_YEAR
    low = (completion.first + quantile(compiled.prior, TAIL)) // MONTHS_A_YEAR - YEARS_AROUND
    high = (completion.first + quantile(compiled.prior, 1 - TAIL)) // MONTHS_A_YEAR + YEARS_AROUND
    groups: dict[int, list[Observation]] = {}
    for place, outcome in enumerate(outcomes):
        groups.setdefault(min(max(first + place, low), high), []).append(outcome)
    years = list(groups)
    kept = sorted({min(max(year, low), high) for year in seen})
    positions = [years.index(year) for year in kept if year in groups]
    return tuple(_joined(one) for one in groups.values()), positions


def _joined(outcomes: list[Observation]) -> Observation:
    """Make one outcome of several that differ in their months only."""
    first = outcomes[0]
    if isinstance(first, Mark):
        marks = [one for one in outcomes if isinstance(one, Mark)]
        period = Period(marks[0].readings[0].period.first, marks[-1].readings[0].period.last)
        return replace(first, readings=(Reading(period, 1.0),))
    numbers = [one for one in outcomes if isinstance(one, SerialNumber)]
    return SerialNumber(tuple(month for one in numbers for month in one.months))
