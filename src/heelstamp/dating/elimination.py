"""One forward and one backward pass over the assemblies of many instruments.

Given completion month and global configuration g (history class and roots), assemblies are
independent, so every marginal is a sum over the completion month of what lies outside an assembly
times what lies inside (``assemblies``). Arrays carry what an assembly tells of g as their second
axis: nothing, the history class, or all of g. Months that cannot matter are left out (``span``).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heelstamp.dating.assemblies import AssemblyPass
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.contexts import Pattern
from heelstamp.dating.model import Array
from heelstamp.dating.span import LN_DROPPED, block_maxima, months_that_matter
from heelstamp.dating.table import EvidenceTable
from heelstamp.dating.workspace import Workspace

MANY_ROWS = 40
"""Rows times units from which on it pays to look which months matter."""

CHUNK = 16
"""Instruments worked on at a time: their arrays then stay in the second-level cache."""


@dataclass
class Marginals:
    """Marginals while they are filled; ``told`` holds all but months and history."""

    months: Array
    told: Array
    history: Array

    def part(self, rows: slice) -> Marginals:
        """Those of some of the instruments; arrays are views of these."""
        return Marginals(self.months[rows], self.told[rows], self.history[rows])


@dataclass
class Filling:
    """A posterior while it is filled; without ``marginals`` no way back is gone for them."""

    log_evidence: Array
    marginals: Marginals | None

    def part(self, rows: slice) -> Filling:
        """That of some of the instruments; arrays are views of these."""
        kept = None if self.marginals is None else self.marginals.part(rows)
        return Filling(self.log_evidence[rows], kept)


def _passes(compiled: CompiledModel, table: EvidenceTable, space: Workspace) -> list[AssemblyPass]:
    """Make the pass of every assembly for what was looked at."""
    model = compiled.model
    dated = set(table.marks)
    dated |= {model.features[place].part for place in table.looked}
    if model.serial is not None and (table.serial >= 0).any():
        dated.add(model.serial.part)
    signed = {
        one.name for one, seen in zip(model.parts, table.states, strict=True) if seen is not None
    }
    at = compiled.columns.openings
    looked = {name for name, place in at.items() if place in table.openings}
    passes = []
    for place, cut in enumerate(compiled.whole.cuts):
        pattern = Pattern(
            tuple(name for name in cut.parts if name in dated),
            frozenset(signed.intersection(cut.parts)),
            frozenset(looked.intersection(cut.openings)),
            frozenset(place for place in cut.sets if place in table.mixed),
        )
        passes.append(AssemblyPass(compiled, table, place, pattern, space))
    return passes


def infer_table(compiled: CompiledModel, table: EvidenceTable, result: Filling) -> None:
    """Fill *result* with what it asks for of every instrument of a table."""
    space = Workspace()
    passes = _passes(compiled, table, space)
    weight = _global_weight(compiled, table)
    result.log_evidence[:] = 0
    for one in passes:
        if one.worth is not None:
            result.log_evidence[:] += one.scale
            if not one.units:
                weight = _times(weight, one.factor[:, :, 0])
    # those that tell fewer classes apart go first: their arrays are smaller
    moving = sorted((one for one in passes if one.units), key=lambda one: one.classes)
    told_apart = moving[-1].classes if moving else 1
    inside = _narrow(weight, told_apart)
    if told_apart > 1:
        moving[-1].weigh(inside)
    elimination = _Passes(moving, table.months, compiled.prior, result, space)
    by_class = np.empty((table.count, told_apart))
    for begin in range(0, table.count, CHUNK):
        rows = slice(begin, min(begin + CHUNK, table.count))
        by_class[rows] = elimination.chunk(rows)
    if told_apart == 1:
        by_class = by_class * inside
    total = by_class.sum(axis=1, keepdims=True)
    result.log_evidence[:] += np.log(total[:, 0])
    marginals = result.marginals
    if marginals is None:
        return
    # what was not told apart is as before: its share of the weight
    by_class = by_class / total / np.where(inside > 0, inside, 1.0)
    every = _times(weight, by_class)
    marginals.history[:] = _narrow(every, len(compiled.history))
    _tell_roots(compiled, table, every, marginals.told)
    for one in passes:
        one.tell(marginals.told, _narrow(every, one.classes))


def _global_weight(compiled: CompiledModel, table: EvidenceTable) -> Array:
    """P(history class, roots) times the looks at roots, (n, configurations x classes)."""
    whole = compiled.whole
    prior = whole.roots_prior * compiled.history
    weight = np.broadcast_to(prior, (table.count, *prior.shape))
    for name in whole.roots:
        seen = table.openings.get(compiled.columns.openings[name])
        if seen is not None:
            row = [3 if name in opened else 0 for opened in whole.opened]
            weight = weight * seen[:, row, None]
    return weight.reshape(table.count, -1)


def _tell_roots(compiled: CompiledModel, table: EvidenceTable, every: Array, told: Array) -> None:
    """Write the roots, and their careful hands, from P(history class, roots | all)."""
    whole, at = compiled.whole, compiled.columns
    by_roots = every.reshape(len(every), len(whole.opened), -1).sum(axis=2)
    for name in whole.roots:
        place = at.openings[name]
        done = by_roots @ np.array([float(name in opened) for opened in whole.opened])
        told[:, place] = done
        seen, share = table.openings.get(place), compiled.careful[place]
        hand = np.full(len(told), share)
        if seen is not None:
            hand = share * (done * seen[:, 2] / seen[:, 3] + 1 - done)
        told[:, at.accesses[compiled.model.every_opening[place].access]] = hand


@dataclass
class _Passes:
    """The passes of assemblies with dated evidence, those that tell fewer classes apart first."""

    passes: list[AssemblyPass]
    months: Array | None
    prior: Array
    result: Filling
    space: Workspace

    def chunk(self, rows: slice) -> Array:
        """Multiply over classes, and give each assembly what lies around it.

        Writes the months and ln of the scale, and gives the mass of each class, unnormalised.
        """
        start = np.broadcast_to(self.prior, (rows.stop - rows.start, 1, len(self.prior)))
        if self.months is not None:
            start = start * self.months[rows, None, :]
        for one in self.passes:
            one.look(rows)
        whole = slice(0, start.shape[2])
        months, beyond = whole, np.full(len(start), -np.inf)
        if sum(one.found.rows * len(one.units) for one in self.passes) > MANY_ROWS:
            months, beyond = self._months(start, rows)
        mass, scale = self._over(start, rows, months)
        if (beyond > np.log(mass.sum(axis=1)) + scale + LN_DROPPED).any():
            mass, scale = self._over(start, rows, whole)
        self.result.log_evidence[rows] += scale
        self.space.take_back()
        return mass

    def _months(self, start: Array, rows: slice) -> tuple[slice, Array]:
        """The months that matter, and ln of a bound on what lies beyond them, (n,)."""
        bound = block_maxima(start)
        scale = np.zeros(len(start))
        for one in self.passes:
            one.coarsen()
            inside, more = one.forward(rows)
            scale += more
            bound = _times(inside, bound, self.space)
        months, beyond = months_that_matter(bound.sum(axis=1), start.shape[2])
        return months, np.log(beyond) + scale

    def _over(self, start: Array, rows: slice, months: slice) -> tuple[Array, Array]:
        """Go forward, and back for marginals, over some months; mass of each class, ln of scale."""
        before = [start[:, :, months]]
        mixed: list[Array] = []
        scale = np.zeros(len(start))
        for one in self.passes:
            one.cut(months)
            inside, more = one.forward(rows)
            scale += more
            mixed.append(inside)
            before.append(_times(inside, before[-1], self.space))
        joint = before.pop()
        mass: Array = joint.sum(axis=2)
        if self.result.marginals is None:
            return mass, scale
        found = self.result.marginals.months[rows]
        found[:] = 0
        np.divide(joint.sum(axis=1), mass.sum(axis=1, keepdims=True), out=found[:, months])
        after: Array | None = None
        for one, inside, outside in zip(self.passes[::-1], mixed[::-1], before[::-1], strict=True):
            if after is not None:
                after = _narrow(after, one.classes)
            if not one.settled:
                around = outside if after is None else _times(outside, after, self.space)
                one.backward(rows, around)
            after = inside if after is None else _times(after, inside, self.space)
        return mass, scale


def _times(one: Array, other: Array, space: Workspace | None = None) -> Array:
    """Multiply arrays whose second axes tell nothing, classes, or classes of each root apart."""
    less, more = sorted((one, other), key=lambda array: array.shape[1])
    classes = less.shape[1]
    if classes in (1, more.shape[1]):
        return less * more if space is None else space.product(less, more)
    parts = more.reshape(len(more), -1, classes, *more.shape[2:])
    out = None if space is None else space.array(*parts.shape)
    return np.multiply(less[:, None], parts, out=out).reshape(more.shape)


def _narrow(array: Array, classes: int) -> Array:
    """Add up over what is not to be told apart, along the second axis."""
    if array.shape[1] <= classes:
        return array
    parts = array.reshape(len(array), -1, classes, *array.shape[2:])
    return np.asarray(parts.sum(axis=1))
