"""What would change the conclusion: the same evidence under other tables, one row a change.

The changes are those of `heelstamp.dating.changed_tables`; each row is a whole posterior, exact
like the first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from heelstamp.dating.changed_tables import Assumption, assumptions
from heelstamp.dating.checks import EachReading
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence
from heelstamp.dating.model import Array, DatingModel
from heelstamp.dating.posterior import Posterior, infer_many
from heelstamp.dating.summary import central_interval, median
from heelstamp.units import Month, Period

Words = Mapping[str, str]
"""What a verdict comes down to, by the name of the statement."""

Readings = Mapping[int, Array]
"""P(reading | all) of marks, by their place in the evidence."""

Verdict = Callable[[CompiledModel, Evidence, Posterior, Readings], Words]
"""Reduces one posterior to the words of each statement; it knows wording, this module does not."""


@dataclass(frozen=True)
class Row:
    """What comes of one assumption.

    Attributes
    ----------
    months
        Completion posterior, (months,).
    states
        For each part P(state | all), (states,).
    words
        Verdicts under it.
    """

    name: str
    factor: float
    log_evidence: float
    months: Array
    states: Mapping[str, Array]
    words: Words

    def interval(self, model: DatingModel, level: float = 0.9) -> Period:
        """The central interval of the completion month."""
        return central_interval(self.months, model.completion, level)

    def median(self, model: DatingModel) -> Month:
        """The median completion month."""
        return median(self.months, model.completion)


@dataclass(frozen=True)
class Sensitivity:
    """The model as it stands (``base``) and every changed row."""

    model: DatingModel
    base: Row
    rows: tuple[Row, ...]

    def ends(self, level: float = 0.9) -> tuple[Period, Period]:
        """The months between which the lower and the upper end of the interval moves."""
        spans = [row.interval(self.model, level) for row in (self.base, *self.rows)]
        lower, upper = [one.first for one in spans], [one.last for one in spans]
        return Period(min(lower), max(lower)), Period(min(upper), max(upper))

    def states(self, part: str) -> tuple[Array, Array]:
        """The least and the greatest P(state) of a part, one number a state each."""
        table = np.array([row.states[part] for row in (self.base, *self.rows)])
        return table.min(axis=0), table.max(axis=0)

    def turned(
        self, name: str, implies: Callable[[str, str], bool] = lambda word, base: word == base
    ) -> tuple[Row, ...]:
        """The rows whose word for statement *name* no longer bears the first one out.

        Parameters
        ----------
        implies
            Whether a row's word (first argument) leaves the base's word true.
        """
        base = self.base.words[name]
        return tuple(row for row in self.rows if not implies(row.words[name], base))


def sensitivity(
    compiled: CompiledModel,
    evidence: Evidence,
    verdict: Verdict,
    matched: Sequence[str] | None = None,
    marks: Sequence[int] = (),
) -> Sensitivity:
    """Run every row.

    Parameters
    ----------
    verdict
        Reduces a posterior to words.
    matched
        Parts whose share of period replacements is varied; None takes all that can be one.
    marks
        Places of the marks of which the verdict is told P(reading | all).
    """
    base = _row(compiled, Assumption("", 1.0, compiled.model, evidence), verdict, marks)
    rows = [
        _row(_compiled(compiled, one.model), one, verdict, marks)
        for one in assumptions(compiled.model, evidence, matched)
    ]
    return Sensitivity(compiled.model, base, tuple(rows))


def _compiled(base: CompiledModel, model: DatingModel) -> CompiledModel:
    return base if model is base.model else CompiledModel(model, like=base)


def _row(compiled: CompiledModel, one: Assumption, verdict: Verdict, marks: Sequence[int]) -> Row:
    readings = EachReading.of(one.evidence, marks)
    every = infer_many(compiled, [one.evidence, *readings.rows])
    posterior = every.part(slice(0, 1))
    return Row(
        one.name,
        one.factor,
        float(posterior.log_evidence[0]),
        posterior.months[0],
        {part: states[0] for part, states in posterior.states.items()},
        verdict(compiled, one.evidence, posterior, readings.shares(every.log_evidence[1:])),
    )
