"""Exact posterior of completion month, part states, disturbance and history, for many instruments.

One forward and one backward pass over assemblies and parts (``docs/methods/dating.md``, section
3); cost is proportional to parts x states x months. Given completion month and history class,
assemblies are independent, so every marginal is a sum over the completion month of what lies
outside an assembly times what lies inside (``assemblies``). Arrays carry history class or
disturbance (undisturbed, disturbed) as their second axis.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heelstamp.dating.assemblies import AssemblyPass
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence, EvidenceError
from heelstamp.dating.model import Array, DatingModel
from heelstamp.dating.table import EvidenceTable, encode

CHUNK = 16
"""Instruments worked on at a time: their arrays then stay in the second-level cache."""

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
    disturbed
        P(assembly disturbed | all), (n, assemblies).
    history
        P(history class | all), (n, classes).
    """

    model: DatingModel
    log_evidence: Array
    months: Array
    states: dict[str, Array]
    disturbed: Array
    history: Array

    def part(self, rows: slice) -> Posterior:
        """Give the posterior of some of the instruments; arrays are views of these."""
        return Posterior(
            self.model,
            self.log_evidence[rows],
            self.months[rows],
            {part: states[rows] for part, states in self.states.items()},
            self.disturbed[rows],
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
    result = Posterior(
        compiled.model,
        np.empty(count),
        np.empty((count, len(compiled.prior))),
        {part.name: np.empty((count, len(part.states))) for part in compiled.model.parts},
        np.empty((count, len(compiled.model.assemblies))),
        np.empty((count, len(compiled.history))),
    )
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        if isinstance(instruments, EvidenceTable):
            _infer_table(compiled, instruments, result)
        else:
            for begin in range(0, count, BLOCK):
                block = slice(begin, min(begin + BLOCK, count))
                _infer_table(compiled, encode(compiled, instruments[block]), result.part(block))
    if not np.isfinite(result.log_evidence).all():
        row = int(np.argmin(np.isfinite(result.log_evidence)))
        raise EvidenceError(
            "so many improbable observations that their likelihood is no number",
            where=f"instrument {row + 1}",
            remedy="Enter each fact once; look which observations contradict all others.",
        )
    return result


def infer(model: DatingModel | CompiledModel, evidence: Evidence) -> Posterior:
    """Compute the posterior of one instrument: ``infer_many`` with a single row."""
    return infer_many(model, [evidence])


def _infer_table(compiled: CompiledModel, table: EvidenceTable, result: Posterior) -> None:
    passes = [
        AssemblyPass(compiled, table, place) for place in range(len(compiled.model.assemblies))
    ]
    history = np.broadcast_to(compiled.history, (table.count, len(compiled.history)))
    for one in passes:
        if not one.units:
            history = history * one.factor.sum(axis=2)
    # those that do not tell history classes apart go first: their arrays have one class only
    moving = sorted((one for one in passes if one.units), key=lambda one: not one.level)
    tells = next((one for one in moving if not one.level), None)
    if tells is not None:
        tells.factor = tells.factor * history[:, :, None]
    result.log_evidence[:] = sum(one.scale for one in passes)
    for begin in range(0, table.count, CHUNK):
        rows = slice(begin, min(begin + CHUNK, table.count))
        _infer_chunk(compiled, table, moving, rows, result)
    if tells is None:
        result.history[:] *= history
    total = result.history.sum(axis=1)
    result.log_evidence[:] += np.log(total)
    result.history[:] /= total[:, None]
    for place, one in enumerate(passes):
        if not one.units:
            one.still(result.history)
        result.disturbed[:, place] = 0 if one.settled else one.mass[:, 1] / one.mass.sum(axis=1)
        for part, states in one.states().items():
            result.states[part][:] = states


def _infer_chunk(
    compiled: CompiledModel,
    table: EvidenceTable,
    passes: list[AssemblyPass],
    rows: slice,
    result: Posterior,
) -> None:
    """Multiply the *passes* over history classes, and give each what lies around it.

    Writes the months, and the mass of each history class and ln of its scale unnormalised.
    """
    start = np.broadcast_to(compiled.prior, (rows.stop - rows.start, 1, len(compiled.prior)))
    if table.months is not None:
        start = start * table.months[rows, None, :]
    before = [start]
    mixed: list[Array] = []
    for one in passes:
        inside, scale = one.forward(rows)
        result.log_evidence[rows] += scale
        mixed.append(inside)
        before.append(before[-1] * inside)
    joint = before.pop()
    mass = joint.sum(axis=2)
    result.history[rows] = mass
    np.divide(joint.sum(axis=1), mass.sum(axis=1, keepdims=True), out=result.months[rows])
    after: Array | None = None
    for one, inside, outside in zip(passes[::-1], mixed[::-1], before[::-1], strict=True):
        if not one.settled:
            one.backward(rows, outside if after is None else outside * after)
        after = inside if after is None else after * inside
