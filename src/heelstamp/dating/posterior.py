"""Exact posterior of completion month, part states, disturbance and history, for many instruments.

One forward and one backward pass over assemblies and parts (``docs/methods/dating.md``, section
3); cost is proportional to parts x states x months. Given completion month, history class and
disturbance, units (single parts, or marked parts of one batch) are independent, so every marginal
is a sum over the completion month of what lies outside a part times what lies inside. Arrays
carry disturbance (undisturbed, disturbed) as their second axis.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence
from heelstamp.dating.factors import Members, PartFactors, joint_marks, part_factors
from heelstamp.dating.model import Array, DatingModel
from heelstamp.dating.table import EvidenceTable, encode

CHUNK = 16
"""Instruments worked on at a time: their arrays then stay in the second-level cache."""


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
    table = instruments if isinstance(instruments, EvidenceTable) else encode(compiled, instruments)
    count = table.count
    result = Posterior(
        compiled.model,
        np.empty(count),
        np.empty((count, len(compiled.model.completion))),
        {part.name: np.empty((count, len(part.states))) for part in compiled.model.parts},
        np.empty((count, len(compiled.model.assemblies))),
        np.empty((count, len(compiled.history))),
    )
    for begin in range(0, count, CHUNK):
        _infer_chunk(compiled, table, slice(begin, min(begin + CHUNK, count)), result)
    return result


def infer(model: DatingModel | CompiledModel, evidence: Evidence) -> Posterior:
    """Compute the posterior of one instrument: ``infer_many`` with a single row."""
    return infer_many(model, [evidence])


@dataclass
class _Part:
    """A part within its unit: what was seen on it, P(timing class | D) (n, 2, 4), P(seen | S)."""

    name: str
    index: int
    factors: PartFactors
    weights: Array
    seen: Array | None


@dataclass
class _Unit:
    """Parts that must be summed together, with U_d(t), (n, 2, months); None stands for ones.

    For a batch also ``built`` and ``rest``, the sums over original and other states of each
    member without its own marks of the first kind, and ``joint``, the marks of each subset.
    """

    parts: list[_Part]
    values: Array | None
    built: list[Array]
    rest: list[Array]
    joint: dict[Members, Array | None]


def _infer_chunk(
    compiled: CompiledModel, table: EvidenceTable, rows: slice, result: Posterior
) -> None:
    inside: list[Array] = []
    assembly_units: list[list[_Unit]] = []
    signs = [table.assemblies[rows, k, :, None] for k in range(table.assemblies.shape[1])]
    for sign, assembly in zip(signs, compiled.model.assemblies, strict=True):
        units = _units(compiled, table, rows, assembly.parts)
        product = np.repeat(sign, len(compiled.prior), axis=2)
        for unit in units:
            if unit.values is not None:
                product *= unit.values
        inside.append(product)
        assembly_units.append(units)
    outside = _over_history(compiled, table, inside, rows, result)
    for place, units in enumerate(assembly_units):
        # the assembly's own sign belongs to the outside of each of its units
        _unit_marginals(compiled, units, outside[place] * signs[place], rows, result)
    for states in result.states.values():
        states[rows] /= states[rows].sum(axis=1, keepdims=True)


def _over_history(
    compiled: CompiledModel,
    table: EvidenceTable,
    inside: list[Array],
    rows: slice,
    result: Posterior,
) -> list[Array]:
    """Sum over history and disturbance; give what lies outside each assembly, (n, 2, months)."""
    count, span = rows.stop - rows.start, len(compiled.prior)
    start = compiled.history[None, :, None] * compiled.prior
    if table.months is not None:
        start = start * table.months[rows, None, :]
    before = [np.broadcast_to(start, (count, len(compiled.history), span))]
    mixed: list[Array] = []
    logs = np.zeros(count)
    for given, one in zip(compiled.disturbed, inside, strict=True):
        largest = one.max(axis=(1, 2))  # products of many small numbers stay in range
        logs += np.log(largest)
        mixed.append(np.matmul(given / largest[:, None, None], one))
        before.append(before[-1] * mixed[-1])
    joint = before[-1]
    by_history = joint.sum(axis=2)
    evidence = by_history.sum(axis=1)
    result.log_evidence[rows] = np.log(evidence) + logs
    result.months[rows] = joint.sum(axis=1) / evidence[:, None]
    result.history[rows] = by_history / evidence[:, None]
    outside: list[Array] = []
    after: Array | None = None
    for place in range(len(inside) - 1, -1, -1):
        around = before[place] if after is None else before[place] * after
        outside.append(np.matmul(compiled.disturbed[place].T, around))
        after = mixed[place] if after is None else after * mixed[place]
    outside.reverse()
    for place, one in enumerate(outside):
        weight = np.vecdot(one, inside[place])
        result.disturbed[rows, place] = weight[:, 1] / weight.sum(axis=1)
    return outside


def _units(
    compiled: CompiledModel, table: EvidenceTable, rows: slice, names: Sequence[str]
) -> list[_Unit]:
    """Build the units of one assembly: batches with two marked members or more, else parts."""
    units: list[_Unit] = []
    done: set[str] = set()
    for name in names:
        if name in done:
            continue
        batch = compiled.batch_of_part.get(name)
        together = batch is not None and sum(one in table.marks for one in batch.parts) > 1
        members = batch.parts if batch is not None and together else (name,)
        done.update(members)
        parts = [_part(compiled, table, rows, member) for member in members]
        if batch is None or not together:
            units.append(_Unit(parts, _alone(parts[0]), [], [], {}))
            continue
        factors = {part.name: part.factors for part in parts}
        joint = joint_marks(compiled, table, rows, factors, batch.share)
        built, rest = zip(*[_sides(part) for part in parts], strict=True)
        unit = _Unit(parts, None, list(built), list(rest), joint)
        unit.values = _subset_sum(unit, parts)
        units.append(unit)
    return units


def _part(compiled: CompiledModel, table: EvidenceTable, rows: slice, name: str) -> _Part:
    index = compiled.part_index[name]
    factors = part_factors(compiled, table, rows, name)
    prior, states = compiled.state_prior[index], table.states[index]
    if states is None:
        shape = (rows.stop - rows.start, *prior.shape[1:])
        return _Part(name, index, factors, np.broadcast_to(prior.sum(axis=0), shape), None)
    seen = states[rows]
    weights = (seen @ prior.reshape(len(prior), -1)).reshape(-1, *prior.shape[1:])
    return _Part(name, index, factors, weights, seen)


def _alone(part: _Part) -> Array | None:
    """Give U_d(t) of a part that is its own unit."""
    factors, weights = part.factors, part.weights
    timed = factors.timed
    if timed is None and factors.marks is None and part.seen is None:
        return None
    even = _even(part)
    total: Array
    if factors.marks is not None:
        timed = factors.marks[0] if timed is None else timed * factors.marks[0]
        late = (weights[:, :, 2] * factors.later[:, None])[:, :, None]
        total = np.matmul(weights[:, :, :2], timed) + late * factors.marks[1][:, None] + even
    elif timed is None:
        total = even + weights[:, :, :2].sum(axis=2, keepdims=True)
    else:
        total = np.matmul(weights[:, :, :2], timed) + even
    return total


def _even(part: _Part) -> Array:
    """Give the terms of U that do not depend on the completion month, (n, 2, 1)."""
    factors, weights = part.factors, part.weights
    even = np.zeros(weights.shape[:2])
    if factors.marks is None:
        even = even + weights[:, :, 2] * factors.later[:, None]
    if factors.donor is not None:
        even = even + weights[:, :, 3] * factors.donor[:, None]
    return even[:, :, None]


def _sides(part: _Part) -> tuple[Array, Array]:
    """Give the sums over built states, own marks left out, and over all other states."""
    factors, weights = part.factors, part.weights
    built = weights[:, :, 0, None]
    rest = weights[:, :, 1, None]
    if factors.timed is not None:
        built = built * factors.timed[:, None, 0]
        rest = rest * factors.timed[:, None, 1]
    if factors.marks is not None:
        late = (weights[:, :, 2] * factors.later[:, None])[:, :, None]
        rest = rest * factors.marks[0][:, None, 1] + late * factors.marks[1][:, None]
    return built, rest + _even(part)


def _subset_sum(unit: _Unit, members: list[_Part], always: Members = ()) -> Array:
    """Sum over which of *members* are original; those of *always* count as original marks."""
    total: Array | None = None
    for size in range(len(members) + 1):
        for subset in combinations([one.name for one in members], size):
            key = tuple(one.name for one in unit.parts if one.name in subset or one.name in always)
            marks = unit.joint[key]
            term = np.ones((1, 1, 1)) if marks is None else marks[:, None, :]
            for part, built, rest in zip(unit.parts, unit.built, unit.rest, strict=True):
                if part in members:
                    term = term * (built if part.name in subset else rest)
            total = term if total is None else total + term
    assert total is not None
    return total


def _unit_marginals(
    compiled: CompiledModel, units: list[_Unit], around: Array, rows: slice, result: Posterior
) -> None:
    """Write each part's P(state | all), up to a common factor, from what lies around its unit."""
    before = [around]
    for unit in units[:-1]:
        before.append(before[-1] if unit.values is None else before[-1] * unit.values)
    after: Array | None = None
    for place in range(len(units) - 1, -1, -1):
        unit = units[place]
        outside = before[place] if after is None else before[place] * after
        if unit.values is not None:
            after = unit.values if after is None else after * unit.values
        if len(unit.parts) == 1:
            _write_states(
                compiled, unit.parts[0], _class_sums(unit.parts[0], outside), rows, result
            )
            continue
        for part in unit.parts:
            others = [one for one in unit.parts if one is not part]
            original = outside * _subset_sum(unit, others, (part.name,))
            other = outside * _subset_sum(unit, others)
            sums = _class_sums(part, other)
            timed = part.factors.timed
            sums[:, :, 0] = (
                original.sum(axis=2) if timed is None else np.vecdot(original, timed[:, None, 0])
            )
            _write_states(compiled, part, sums, rows, result)


def _class_sums(part: _Part, outside: Array) -> Array:
    """Sum what lies outside times the part's own factors over months, by timing class."""
    factors = part.factors
    sums = np.empty((*outside.shape[:2], 4))
    timed = factors.timed
    if factors.marks is not None:
        timed = factors.marks[0] if timed is None else timed * factors.marks[0]
    plain = (
        outside.sum(axis=2)
        if timed is None or factors.marks is None or (factors.donor is not None)
        else None
    )
    if timed is None:
        assert plain is not None
        sums[:, :, :2] = plain[:, :, None]
    else:
        sums[:, :, :2] = np.matmul(outside, timed.transpose(0, 2, 1))
    if factors.marks is not None:
        sums[:, :, 2] = np.vecdot(outside, factors.marks[1][:, None]) * factors.later[:, None]
    else:
        assert plain is not None
        sums[:, :, 2] = plain * factors.later[:, None]
    sums[:, :, 3] = 0 if factors.donor is None or plain is None else plain * factors.donor[:, None]
    return sums


def _write_states(
    compiled: CompiledModel, part: _Part, sums: Array, rows: slice, result: Posterior
) -> None:
    """Within a timing class a state's share does not depend on the completion month."""
    prior = compiled.state_prior[part.index]
    states = sums.reshape(len(sums), -1) @ prior.reshape(len(prior), -1).T
    result.states[part.name][rows] = states if part.seen is None else states * part.seen
