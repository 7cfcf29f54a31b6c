"""Exact posterior of completion month, part states, disturbance and history, for many instruments.

One forward and one backward pass over assemblies and parts (``docs/methods/dating.md``, section
3); cost is proportional to parts x states x months. Given completion month, history class and
disturbance, units (single parts, or parts of one batch) are independent, so every marginal is a
sum over the completion month of a product of what lies outside a part and what lies inside.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
import numpy.typing as npt

from heelstamp.dating.evidence import Evidence
from heelstamp.dating.factors import Members, PartFactors, joint_marks, part_factors
from heelstamp.dating.model import DatingModel
from heelstamp.dating.table import CompiledModel, EvidenceTable, encode

Array = npt.NDArray[np.float64]

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
    """A part within its unit: class coefficients (n, 2, 4), factors, and the donor's constant."""

    name: str
    index: int
    factors: PartFactors
    weights: Array
    donor: Array
    seen: Array | None
    rest: list[Array] = field(default_factory=list)
    built: list[Array] = field(default_factory=list)


@dataclass
class _Unit:
    """Parts that must be summed together, and U_d(t) for d = undisturbed, disturbed."""

    parts: list[_Part]
    joint: dict[Members, Array | None]
    values: list[Array]


def _infer_chunk(
    compiled: CompiledModel, table: EvidenceTable, rows: slice, result: Posterior
) -> None:
    model = compiled.model
    count, span = rows.stop - rows.start, len(model.completion)
    logs = np.zeros(count)
    inside: list[list[Array]] = []
    assembly_units: list[list[_Unit]] = []
    for place, assembly in enumerate(model.assemblies):
        units = list(_units(compiled, table, rows, assembly.parts))
        pair = []
        for d in range(2):
            product = np.repeat(table.assemblies[rows, place, d][:, None], span, axis=1)
            for unit in units:
                product *= unit.values[d]
            pair.append(product)
        largest = np.maximum(pair[0].max(axis=1), pair[1].max(axis=1))
        logs += np.log(largest)
        for product in pair:
            product /= largest[:, None]
        inside.append(pair)
        assembly_units.append(units)
    base = np.broadcast_to(compiled.prior, (count, span))
    if table.months is not None:
        base = base * table.months[rows]
    outside = _history_pass(compiled, inside, base, rows, result, logs)
    for place, units in enumerate(assembly_units):
        for d in range(2):
            # the assembly's own sign belongs to the outside of each of its units
            around = outside[place][d] * table.assemblies[rows, place, d][:, None]
            _unit_marginals(compiled, units, around, d, rows, result)
    for part in model.parts:
        states = result.states[part.name][rows]
        result.states[part.name][rows] = states / states.sum(axis=1, keepdims=True)


def _history_pass(
    compiled: CompiledModel,
    inside: list[list[Array]],
    base: Array,
    rows: slice,
    result: Posterior,
    logs: Array,
) -> list[list[Array]]:
    """Sum over history and disturbance; give what lies outside each assembly, by disturbance."""
    assemblies = len(inside)
    count, span = base.shape
    outside = [[np.zeros((count, span)) for _ in range(2)] for _ in range(assemblies)]
    total = np.zeros((count, span))
    by_history = np.empty((count, len(compiled.history)))
    for h, share in enumerate(compiled.history):
        mixed = []
        for place in range(assemblies):
            p = compiled.disturbed[place, h]
            mixed.append((1 - p) * inside[place][0] + p * inside[place][1])
        before = [base * share]
        for one in mixed[:-1]:
            before.append(before[-1] * one)
        joint = before[-1] * mixed[-1]
        by_history[:, h] = joint.sum(axis=1)
        total += joint
        after: Array | None = None
        for place in range(assemblies - 1, -1, -1):
            around = before[place] if after is None else before[place] * after
            p = compiled.disturbed[place, h]
            outside[place][0] += (1 - p) * around
            if p:
                outside[place][1] += p * around
            after = mixed[place] if after is None else after * mixed[place]
    evidence = total.sum(axis=1)
    result.log_evidence[rows] = np.log(evidence) + logs
    result.months[rows] = total / evidence[:, None]
    result.history[rows] = by_history / evidence[:, None]
    for place in range(assemblies):
        weight = [
            np.einsum("ng,ng->n", outside[place][d], inside[place][d]) for d in range(2)
        ]
        result.disturbed[rows, place] = weight[1] / (weight[0] + weight[1])
    return outside


def _units(
    compiled: CompiledModel, table: EvidenceTable, rows: slice, names: Sequence[str]
) -> Iterator[_Unit]:
    """Build the units of one assembly: batches with two marked members or more, else parts."""
    model = compiled.model
    done: set[str] = set()
    for name in names:
        if name in done:
            continue
        batch = next((one for one in model.batches if name in one.parts), None)
        marked = [one for one in batch.parts if one in table.marks] if batch else []
        together = len(marked) > 1
        members = list(batch.parts) if batch and together else [name]
        done.update(members)
        parts = [
            _part(compiled, table, rows, member, for_batch=together and member in marked)
            for member in members
        ]
        factors = {part.name: part.factors for part in parts}
        joint = joint_marks(compiled, factors, batch.share) if batch and together else {}
        unit = _Unit(parts, joint, [])
        for d in range(2):
            for part in parts:
                built, rest = _sides(compiled, part, d, with_marks=not together)
                part.built.append(built)
                part.rest.append(rest)
            if together:
                unit.values.append(_subset_sum(unit, d, parts))
            else:
                unit.values.append(parts[0].built[d] + parts[0].rest[d])
        yield unit


def _part(
    compiled: CompiledModel, table: EvidenceTable, rows: slice, name: str, *, for_batch: bool
) -> _Part:
    index = compiled.part_index[name]
    factors = part_factors(compiled, table, rows, name, for_batch=for_batch)
    count = rows.stop - rows.start
    table_states = table.states[index]
    seen = None if table_states is None else table_states[rows]
    prior, classes = compiled.state_prior[index], compiled.state_class[index]
    if seen is None:
        weights = np.broadcast_to(prior @ classes, (count, 2, 4))
    else:
        weights = (prior[None] * seen[:, None, :]) @ classes
    donor = np.ones(count)
    if classes[:, 3].any():
        own = factors.built
        if factors.marks is not None:
            own = factors.marks[0] if own is None else own * factors.marks[0]
        if own is not None:
            donor = own @ compiled.prior
    return _Part(name, index, factors, weights, donor, seen)


def _sides(
    compiled: CompiledModel, part: _Part, d: int, *, with_marks: bool
) -> tuple[Array, Array]:
    """Give the sums over built states and over all others of P(s | d) Phi_s(t)."""
    weights, factors = part.weights[:, d, :], part.factors
    marks = factors.marks
    span = len(compiled.model.completion)
    built = _scaled(weights[:, 0], factors.built, span)
    if marks is not None and with_marks:
        built = built * marks[0]
    rest = _scaled(weights[:, 1], factors.period, span)
    late = weights[:, 2] * factors.later
    if marks is None:
        return built, rest + (late + weights[:, 3] * part.donor)[:, None]
    rest = rest * marks[1]
    rest += late[:, None] * marks[2]
    rest += (weights[:, 3] * part.donor)[:, None]
    return built, rest


def _scaled(weight: Array, factor: Array | None, span: int) -> Array:
    if factor is None:
        return np.repeat(weight[:, None], span, axis=1)
    return weight[:, None] * factor


def _subset_sum(unit: _Unit, d: int, members: list[_Part], always: Members = ()) -> Array:
    """Sum over which of *members* are original, those of *always* counted as original marks."""
    total: Array | None = None
    names = [one.name for one in unit.parts]
    for size in range(len(members) + 1):
        for subset in combinations(members, size):
            chosen = {one.name for one in subset}
            key = tuple(name for name in names if name in chosen or name in always)
            term = unit.joint[key]
            for one in members:
                side = one.built[d] if one.name in chosen else one.rest[d]
                term = side if term is None else term * side
            if term is None:
                term = np.ones_like(unit.parts[0].rest[d])
            total = term if total is None else total + term
    assert total is not None
    return total


def _unit_marginals(
    compiled: CompiledModel,
    units: list[_Unit],
    around: Array,
    d: int,
    rows: slice,
    result: Posterior,
) -> None:
    """Add each part's P(states, D = d | all), up to the assembly's common factor."""
    before: list[Array] = [around]
    for unit in units[:-1]:
        before.append(before[-1] * unit.values[d])
    after: Array | None = None
    for place in range(len(units) - 1, -1, -1):
        unit = units[place]
        outside = before[place] if after is None else before[place] * after
        for part in unit.parts:
            if len(unit.parts) == 1:
                marks = part.factors.marks
                built_side = outside if marks is None else outside * marks[0]
                rest_side = outside
            else:
                others = [one for one in unit.parts if one is not part]
                built_side = outside * _subset_sum(unit, d, others, (part.name,))
                rest_side = outside * _subset_sum(unit, d, others)
            _add_states(compiled, part, built_side, rest_side, d, rows, result)
        after = unit.values[d] if after is None else after * unit.values[d]


def _add_states(
    compiled: CompiledModel,
    part: _Part,
    built_side: Array,
    rest_side: Array,
    d: int,
    rows: slice,
    result: Posterior,
) -> None:
    """Turn class sums into states: within a timing class a state's share does not depend on T."""
    factors = part.factors
    count = len(built_side)
    sums = np.empty((count, 4))
    sums[:, 0] = _dot(built_side, factors.built)
    period = factors.period
    if factors.marks is not None:
        period = factors.marks[1] if period is None else period * factors.marks[1]
    sums[:, 1] = _dot(rest_side, period)
    late = None if factors.marks is None else factors.marks[2]
    sums[:, 2] = _dot(rest_side, late) * factors.later
    plain = _dot(rest_side, None) if late is not None else sums[:, 2] / factors.later
    sums[:, 3] = plain * part.donor
    by_state = sums @ compiled.state_class[part.index].T * compiled.state_prior[part.index][d]
    if part.seen is not None:
        by_state = by_state * part.seen
    target = result.states[part.name]
    if d == 0:
        target[rows] = by_state
    else:
        target[rows] += by_state


def _dot(left: Array, right: Array | None) -> Array:
    if right is None:
        total: Array = left.sum(axis=1)
        return total
    product: Array = np.einsum("ng,ng->n", left, right)
    return product
