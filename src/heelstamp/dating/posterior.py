"""Exact posterior of completion month, part states, openings and history, for many instruments.

One forward and one backward pass over assemblies and parts (``docs/methods/dating.md``, section
3); cost is proportional to parts x rows x months. Given completion month and global configuration
g (history class and roots), assemblies are independent, so every marginal is a sum over the
completion month of what lies outside an assembly times what lies inside (``assemblies``). Arrays
carry what an assembly tells of g as their second axis: nothing, the history class, or all of g.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.elimination import Filling, Marginals, infer_table
from heelstamp.dating.evidence import Evidence, EvidenceError
from heelstamp.dating.model import Array, DatingModel
from heelstamp.dating.table import EvidenceTable, encode

BLOCK = 1024
"""Instruments laid out in one table, to bound the memory."""


@dataclass(frozen=True)
class Posterior:
    """Posterior of *n* instruments.

    Attributes
    ----------
    log_evidence
        ln P(all observations), (n,).
    months
        P(T = month | all), (n, completion months).
    states
        For each part P(state | all), (n, states).
    openings, swapped, careful
        P(open | all), P(swapped whole | all), P(a careful hand left no trace | all): (n, ...) in
        the order of the model's ``every_opening``, ``sets`` and ``accesses``.
    history
        P(history class | all), (n, classes).
    """

    model: DatingModel
    log_evidence: Array
    months: Array
    states: dict[str, Array]
    openings: Array
    swapped: Array
    careful: Array
    history: Array

    @property
    def disturbed(self) -> Array:
        """P(assembly disturbed | all) of the model's ``assemblies``, (n, assemblies)."""
        return self.openings[:, : len(self.model.assemblies)]

    def part(self, rows: slice) -> Posterior:
        """The posterior of some of the instruments; arrays are views of these."""
        return Posterior(
            self.model,
            self.log_evidence[rows],
            self.months[rows],
            {part: states[rows] for part, states in self.states.items()},
            self.openings[rows],
            self.swapped[rows],
            self.careful[rows],
            self.history[rows],
        )


def infer_many(
    model: DatingModel | CompiledModel, instruments: Sequence[Evidence] | EvidenceTable
) -> Posterior:
    """Compute the posterior of many instruments under one model.

    Parameters
    ----------
    model
        Tables of the maker; pass a ``CompiledModel`` to reuse it between calls.
    instruments
        One tuple of observations an instrument (an empty one gives the prior), or a table.

    Raises
    ------
    ModelError, EvidenceError
        An observation names something the model does not know.
    """
    compiled = model if isinstance(model, CompiledModel) else CompiledModel(model)
    count = instruments.count if isinstance(instruments, EvidenceTable) else len(instruments)
    marginals = Marginals(
        np.empty((count, len(compiled.prior))),
        np.empty((count, compiled.columns.width)),
        np.empty((count, len(compiled.history))),
    )
    log_evidence = np.empty(count)
    _fill(compiled, instruments, Filling(log_evidence, marginals))
    return _posterior(compiled, log_evidence, marginals)


def log_evidence_many(
    model: DatingModel | CompiledModel, instruments: Sequence[Evidence] | EvidenceTable
) -> Array:
    """Compute ln P(all observations) of many, (n,): that of ``infer_many``, bit for bit.

    Half of the work: no way back is gone for marginals.

    Raises
    ------
    ModelError, EvidenceError
        As ``infer_many`` does.
    """
    compiled = model if isinstance(model, CompiledModel) else CompiledModel(model)
    count = instruments.count if isinstance(instruments, EvidenceTable) else len(instruments)
    found = np.empty(count)
    _fill(compiled, instruments, Filling(found, None))
    return found


def _fill(
    compiled: CompiledModel, instruments: Sequence[Evidence] | EvidenceTable, result: Filling
) -> None:
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        if isinstance(instruments, EvidenceTable):
            infer_table(compiled, instruments, result)
        else:
            for begin in range(0, len(instruments), BLOCK):
                block = slice(begin, min(begin + BLOCK, len(instruments)))
                infer_table(compiled, encode(compiled, instruments[block]), result.part(block))
    if not np.isfinite(result.log_evidence).all():
        row = int(np.argmin(np.isfinite(result.log_evidence)))
        raise EvidenceError(
            "so many improbable observations that their likelihood is no number",
            where=f"instrument {row + 1}",
            remedy="Enter each fact once; look which observations contradict all others.",
        )


def infer(model: DatingModel | CompiledModel, evidence: Evidence) -> Posterior:
    """Compute the posterior of one instrument: ``infer_many`` with a single row."""
    return infer_many(model, [evidence])


def _posterior(compiled: CompiledModel, log_evidence: Array, found: Marginals) -> Posterior:
    """The posterior; arrays are views of those of *found*."""
    model, at = compiled.model, compiled.columns
    hands = at.sets + len(model.sets)
    return Posterior(
        model,
        log_evidence,
        found.months,
        {
            one.name: found.told[:, at.states[one.name] :][:, : len(one.states)]
            for one in model.parts
        },
        found.told[:, : at.sets],
        found.told[:, at.sets : hands],
        found.told[:, hands : hands + len(at.accesses)],
        found.history,
    )
