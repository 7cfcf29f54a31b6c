"""Forward and backward pass within one assembly: parts, and marked parts of one lot.

Given completion month, history class and disturbance, units (single parts, or marked parts of one
lot) are independent, so A_d(t) = prod of U_d(t) over units, times the signs of the assembly, and
what lies outside a unit is what lies outside the assembly times its other units.

Marked parts of one lot share a make month. With x_p(m) the marks of p less their floor, q the
share of instruments whose parts came from one lot, a_p = P(built | d) C_p(t), and mu_B(t) the
central moment over the lag, E prod_{p in B} (x_p - E x_p):
U(t) = prod_p U_p(t) + q sum over B of two members or more of mu_B prod_{p in B} a_p
prod_{p not in B} U_p. Proof: P(r | m) a_p + rest_p = U_p + a_p (x_p(m) - E x_p); multiply out and
average over m; first-order terms vanish. For two members mu is the covariance of their marks.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.factors import BUILT, PartEvidence
from heelstamp.dating.model import Array, Batch
from heelstamp.dating.table import EvidenceTable
from heelstamp.dating.timing import LagAverage, MadeIn

Members = tuple[int, ...]
"""Places of members of a lot."""

SAMPLE = 24
"""Every so many months a function is looked at to bring it to a size near one."""


class PartUnit:
    """A part by itself.

    ``sums`` takes what lies outside the part times each term, summed over months, (n, 2, terms);
    ``terms``, ``marks`` and ``values`` are those of the chunk in hand: the part's terms, K of the
    part as built, and U.
    """

    def __init__(self, part: PartEvidence, count: int) -> None:
        self.part = part
        self.sums = np.empty((count, *part.coefficients.shape[1:]))
        self.terms = self.values = np.empty(0)
        self.marks: Array | None = None

    def look(self, rows: slice) -> Array:
        """Work the terms of *rows* out."""
        self.terms, self.marks = self.part.terms(rows)
        return self.terms

    def forward(self, rows: slice) -> Array:
        """Give U, (n, 2, months)."""
        terms = self.look(rows)  # first: it fills coefficients in
        self.values = np.matmul(self.part.coefficients[rows], terms)
        return self.values

    def backward(self, rows: slice, outside: Array) -> None:
        """Sum what lies *outside*, (n, 2, months), times each term over months."""
        np.matmul(outside, self.terms.transpose(0, 2, 1), out=self.sums[rows])


class LotUnit:
    """Marked parts that usually come from one lot: see the module head."""

    def __init__(self, compiled: CompiledModel, batch: Batch, units: list[PartUnit]) -> None:
        self.units, self.share = units, batch.share
        self.values = np.empty(0)
        self._moments: dict[Members, Array] = {}
        self._floors: list[Array] = []
        made: dict[Members, MadeIn] = {}
        for place, unit in enumerate(units):
            marks = unit.part.marks
            assert marks is not None
            assert marks.made is not None
            self._floors.append(marks.floor[marks.which])
            made[(place,)] = marks.made.by_row(marks.which)
        count = len(self._floors[0])
        self._products: dict[Members, LagAverage] = {}
        for lot in self._lots(2):
            kernel = compiled.plain_lag(units[lot[0]].part.name)
            made[lot] = _product(made[lot[:-1]], made[lot[-1:]], len(kernel))
            self._products[lot] = LagAverage.make(kernel, made[lot], count)

    def _lots(self, least: int) -> list[Members]:
        """Give the sets of *least* members or more, small ones first."""
        sizes = range(least, len(self.units) + 1)
        return [lot for size in sizes for lot in combinations(range(len(self.units)), size)]

    def forward(self, rows: slice) -> Array:
        """Give U, (n, 2, months)."""
        values = [unit.forward(rows) for unit in self.units]
        self._moments = self._central_moments(rows)
        total = _times(None, values)
        for lot, moment in self._moments.items():
            total += self._of_lot(rows, lot, moment, ())
        self.values = total
        return total

    def _central_moments(self, rows: slice) -> dict[Members, Array]:
        """Give q mu_B prod C_p, (n, 1, months), for each set B of members."""
        means: list[Array] = []
        for unit, floor in zip(self.units, self._floors, strict=True):
            assert unit.marks is not None
            means.append(unit.marks - floor[rows, None])
        average = {lot: one.over(rows) for lot, one in self._products.items()}
        found: dict[Members, Array] = {}
        for lot in average:
            # E prod (x - E x), multiplied out; sets of none and of one member come to one term
            size = len(lot)
            moment = (-1) ** (size - 1) * (size - 1) * _times(None, [means[i] for i in lot])
            for part in self._lots(2):
                if set(part) <= set(lot):
                    left = [means[i] for i in lot if i not in part]
                    moment += (-1) ** len(left) * _times(average[part], left)
            owns = [self.units[i].part.own_built(rows) for i in lot]
            moment = _times(moment, [own for own in owns if own is not None])
            found[lot] = (self.share * moment)[:, None]
        return found

    def _of_lot(self, rows: slice, lot: Members, moment: Array, without: Members) -> Array:
        """Give the term of U of set *lot*, leaving the members *without* out."""
        share = np.prod([self.units[i].part.coefficients[rows, :, BUILT] for i in lot], axis=0)
        rest = (unit for i, unit in enumerate(self.units) if i not in lot and i not in without)
        return _times(np.matmul(share[:, :, None], moment), [unit.values for unit in rest])

    def backward(self, rows: slice, outside: Array) -> None:
        """Hand what lies around each member on to it."""
        for place, unit in enumerate(self.units):
            others = [one.values for one in self.units if one is not unit]
            around = _times(None, others) if len(others) > 1 else others[0]
            for lot, moment in self._moments.items():
                if place not in lot:
                    around = around + self._of_lot(rows, lot, moment, (place,))
            unit.backward(rows, outside * around)
            for lot, moment in self._moments.items():
                if place in lot:
                    rest = [one.values for i, one in enumerate(self.units) if i not in lot]
                    mates = [self.units[i].part for i in lot if i != place]
                    share = np.prod([one.coefficients[rows, :, BUILT] for one in mates], axis=0)
                    mass = np.vecdot(_times(outside, rest), moment)
                    unit.sums[rows, :, BUILT] += share * mass


class AssemblyPass:
    """One assembly of all instruments of a table.

    Attributes
    ----------
    level
        Whether P(disturbed) is the same for every history class.
    factor
        P(d | history) times everything seen that does not depend on the completion month,
        (n, classes, 2), or one class when ``level``.
    scale
        ln of what was divided out of ``factor``, (n,).
    units
        What does depend on it; empty for a ``still`` assembly.
    mass
        P(d | all) up to a common factor, (n, 2), after the way back.
    """

    def __init__(self, compiled: CompiledModel, table: EvidenceTable, place: int) -> None:
        assembly, given = compiled.model.assemblies[place], compiled.disturbed[place]
        self.settled = compiled.settled[place]
        self.parts = [PartEvidence(compiled, table, name) for name in assembly.parts]
        self._undated = [part for part in self.parts if not part.dated]
        units = {one.name: PartUnit(one, table.count) for one in self.parts if one.dated}
        self._part_units = list(units.values())
        self.units: list[PartUnit | LotUnit] = []
        for batch in compiled.model.batches:
            lot = [one for one in batch.parts if one in table.marks and one in units]
            if len(lot) > 1:
                self.units.append(LotUnit(compiled, batch, [units.pop(one) for one in lot]))
        self.units += units.values()
        constant = table.assemblies[:, place].copy()
        for part in self._undated:
            constant *= part.weights.sum(axis=2)
        largest = constant.max(axis=1)
        self.scale: Array = np.log(largest)
        self.level = bool((given == given[0]).all())
        constant /= largest[:, None]
        self.factor: Array = (given[:1] if self.level else given) * constant[:, None, :]
        self.mass = np.empty((table.count, 2))
        self._stack = np.empty(0)
        self._behind: list[Array] = []

    @property
    def _alone(self) -> PartUnit | None:
        """The only unit, when that is a part: then A need not be made."""
        only = self.units[0]
        return only if len(self.units) == 1 and isinstance(only, PartUnit) else None

    def forward(self, rows: slice) -> tuple[Array, Array]:
        """Give sum_d P(d | history) A_d(t) by history class, scaled, and ln of the scale."""
        alone = self._alone
        if alone is not None:
            self._stack = alone.look(rows)
            matrix = np.matmul(self.factor[rows], alone.part.coefficients[rows])
        else:
            # products of the units behind each, for the way back
            self._behind = [self.units[-1].forward(rows)]
            for unit in self.units[-2::-1]:
                self._behind.append(unit.forward(rows) * self._behind[-1])
            self._stack, matrix = self._behind.pop(), self.factor[rows]
        size = self._stack[:, :, ::SAMPLE].max(axis=2, keepdims=True)
        scale = np.matmul(matrix, size).max(axis=(1, 2))
        return np.matmul(matrix / scale[:, None, None], self._stack), np.log(scale)

    def backward(self, rows: slice, around: Array) -> None:
        """Take what lies *around*, (n, classes, months), to units and mass."""
        factor = self.factor[rows]
        if around.shape[1] < factor.shape[1]:  # nothing around tells history classes apart
            factor = factor.sum(axis=1, keepdims=True)
        factor = factor.transpose(0, 2, 1)
        alone = self._alone
        if alone is not None:
            sums = np.matmul(around, self._stack.transpose(0, 2, 1))
            if self.level:
                sums = sums.sum(axis=1, keepdims=True)
            alone.sums[rows] = np.matmul(factor, sums)
            self.mass[rows] = np.vecdot(alone.sums[rows], alone.part.coefficients[rows])
            return
        if self.level:
            around = around.sum(axis=1, keepdims=True)
        outside = np.matmul(factor, around)
        self.mass[rows] = np.vecdot(outside, self._stack)
        for unit in self.units[:-1]:
            unit.backward(rows, outside * self._behind.pop())
            outside = outside * unit.values
        self.units[-1].backward(rows, outside)

    def still(self, by_history: Array) -> None:
        """Set the mass of an assembly without units from P(history | all), (n, classes)."""
        inside = self.factor.sum(axis=2)
        self.mass = (by_history / inside)[:, None, :] @ np.broadcast_to(
            self.factor, (len(by_history), by_history.shape[1], 2)
        )
        self.mass = self.mass[:, 0]

    def states(self) -> dict[str, Array]:
        """Give P(state | all) of each part, (n, states), after the way back."""
        if self.settled:
            return {part.name: part.only_state() for part in self.parts}
        found = {unit.part.name: unit.part.states(unit.sums) for unit in self._part_units}
        for part in self._undated:
            inside = part.weights.sum(axis=2)
            sums = np.repeat((self.mass / inside)[:, :, None], 3, axis=2)
            found[part.name] = part.states(sums)
        return found


def _times(first: Array | None, others: Sequence[Array]) -> Array:
    """Multiply; *first* may be None when there are others."""
    if first is None:
        first, others = others[0] * others[1], others[2:]
    for one in others:
        first = first * one
    return first


def _product(one: MadeIn, other: MadeIn, months: int) -> MadeIn:
    """Multiply two functions on a grid of so many *months*."""
    key, at, at_other = np.intersect1d(
        one[0] * months + one[1],
        other[0] * months + other[1],
        assume_unique=True,
        return_indices=True,
    )
    return key // months, key % months, one[2][at] * other[2][at_other]
