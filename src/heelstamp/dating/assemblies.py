"""Forward and backward pass within one assembly, and everything it tells.

With Z outside known, the mass of a context x is P(x | g) times all that depends on x alone (looks
at openings, signs, leaves of parts) times the sum over months of what lies around the assembly and
its row. Leaves, swaps, careful hands and states follow from these masses without months.
"""

from __future__ import annotations

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.contexts import PartKeys, Pattern
from heelstamp.dating.factors import PartEvidence
from heelstamp.dating.lots import LotUnit, PartUnit
from heelstamp.dating.model import Array
from heelstamp.dating.table import EvidenceTable
from heelstamp.dating.workspace import Workspace

SAMPLE = 24
"""Every so many months a function is looked at to bring it to a size near one."""


class _Keyed:
    """A part on which something was seen, key by key.

    ``leaf`` is P(looks on leaves, leaf state | key), (keys, leaf states) or one an instrument;
    ``value`` what the key is worth, (n, keys), or None for one.
    """

    def __init__(self, keys: PartKeys, table: EvidenceTable, part: PartEvidence | None) -> None:
        self.keys, self.part = keys, part
        leaf = keys.prior
        for place, row in keys.looks:
            leaf = leaf * table.openings[place][:, row]
        self.leaf = leaf
        self.value: Array | None = None
        self.joint = leaf
        if part is not None and part.dated:
            if leaf.ndim > 2:
                self.value = leaf.sum(axis=2)
                self.leaf = leaf / self.value[:, :, None]
            part.mix(self._mixtures())
        else:
            if part is not None:
                self.joint = leaf * part.weights.sum(axis=2)[:, keys.modes]
            self.value = self.joint.sum(axis=2)

    def _mixtures(self) -> Array:
        """How tables are mixed, (mixtures, tables) or (n, mixtures, tables)."""
        keys = self.keys
        some = self.leaf[..., keys.mixed_key, :]
        chosen = keys.chosen[keys.mixed_key]
        return np.asarray((some[..., None] * chosen).sum(axis=-2))

    def tell(self, contexts: Array, told: Array, columns: dict[str, int]) -> None:
        """Write leaves and states of a part without dated evidence."""
        keys = self.keys
        by_key = keys.by_key(contexts)
        assert self.value is not None
        each = (by_key / self.value)[:, :, None]
        if keys.leaves:
            told[:, list(keys.leaves)] = (self.joint * each).sum(axis=1) @ keys.opened
        if self.part is not None:
            chosen = keys.chosen.reshape(-1, keys.tables)
            mass = (self.leaf * each).reshape(len(told), -1) @ chosen
            _write(told, columns[keys.part], self.part.states_by_table(mass))

    def tell_dated(
        self, contexts: Array, by_class: Array | None, told: Array, columns: dict[str, int]
    ) -> None:
        """Write leaves and states of a part from what lies around each timing class of it.

        None stands for a part with one possible state.
        """
        keys, part = self.keys, self.part
        assert part is not None
        states = part.only_state() if by_class is None else part.states(by_class)
        _write(told, columns[keys.part], states)
        if not keys.leaves:
            return
        joint = np.broadcast_to(self.leaf, (len(told), *keys.modes.shape))
        if by_class is not None:
            around = by_class[:, keys.effective, :, None]
            weighed = joint * np.matmul(part.weights[:, keys.modes], around)[..., 0]
            changes = keys.fixed[keys.effective] < 0
            joint = np.where(changes[:, None], weighed, joint)
        size = joint.sum(axis=2)
        share = keys.by_key(contexts) / np.where(size > 0, size, 1.0)
        told[:, list(keys.leaves)] = (joint * share[:, :, None]).sum(axis=1) @ keys.opened


def _write(told: Array, begin: int, states: Array) -> None:
    told[:, begin : begin + states.shape[1]] = states


class AssemblyPass:
    """One assembly of all instruments of a table.

    Attributes
    ----------
    classes
        Global configurations told apart: 1, history classes, or all.
    factor
        P(row | class) times everything seen that does not depend on the completion month,
        (n, classes, rows).
    scale
        ln of what was divided out of ``factor``, (n,).
    units
        What does depend on it.
    mass
        The sum over months of what lies around times each row, (n, classes, rows).
    """

    def __init__(
        self,
        compiled: CompiledModel,
        table: EvidenceTable,
        place: int,
        pattern: Pattern,
        space: Workspace,
    ) -> None:
        self._compiled, self._space = compiled, space
        found, self._told = compiled.contexts(place, pattern)
        self.found = found
        self.classes = found.prior.shape[1]
        self._keyed: list[_Keyed] = []
        self._hands = [(hand, o, table.openings[o]) for hand, o in found.hands]
        self.count = table.count
        worth: Array | None = None
        for opening, row in found.looks:
            worth = _times(worth, table.openings[opening][:, row])
        for group, swapped in found.mixed:
            seen = table.mixed[group][:, None]
            worth = _times(worth, 1 - swapped + swapped * seen)
        for keys in found.keys:
            part = PartEvidence(compiled, table, keys.part) if keys.part else None
            one = _Keyed(keys, table, part)
            self._keyed.append(one)
            if one.value is not None:
                worth = _times(worth, one.value[:, keys.of_context])
        self.worth = worth
        shape = (table.count, self.classes, found.rows)
        if worth is None:
            flat = found.gather.sum(axis=0)
            self.factor: Array = np.broadcast_to(flat.reshape(1, *shape[1:]), shape)
            self.scale: Array = np.zeros(table.count)
        else:
            factor = (worth @ found.gather).reshape(shape)
            largest = factor.max(axis=(1, 2))
            self.scale = np.log(largest)
            self.factor = factor / largest[:, None, None]
        self._dated = [one for one in self._keyed if one.part is not None and one.part.dated]
        self._part_units = [
            PartUnit(one.part, rows, space)
            for one, rows in zip(self._dated, found.part_rows, strict=True)
            if one.part is not None
        ]
        self.units = self._lots(table)
        self.settled = self._is_settled()
        self.mass = np.empty(shape)
        self.ratio: Array | None = None
        if found.donors:
            self.ratio = np.ones((table.count, found.rows))
            self.factor = self.factor.copy()
        self.by_class: Array | None = None
        self._stack: Array = np.empty((0, 0, 0))
        self._behind: list[Array] = []

    def _lots(self, table: EvidenceTable) -> list[PartUnit | LotUnit]:
        left = {unit.part.name: unit for unit in self._part_units}
        units: list[PartUnit | LotUnit] = []
        for batch in self._compiled.model.batches:
            lot = [one for one in batch.parts if one in table.marks and one in left]
            if len(lot) > 1:
                swapped = self.found.swapped.get(lot[0], {})
                members = [left.pop(one) for one in lot]
                units.append(LotUnit(self._compiled, batch, members, swapped))
        return [*units, *left.values()]

    def _is_settled(self) -> bool:
        """Whether nothing about its parts is open: one context, one state each."""
        return len(self.found.prior) == 1 and all(
            one.part is not None and one.part.certain for one in self._dated
        )

    @property
    def _alone(self) -> PartUnit | None:
        """The only unit, when that is a part: then A need not be made."""
        only = self.units[0]
        return only if len(self.units) == 1 and isinstance(only, PartUnit) else None

    def weigh(self, by_class: Array) -> None:
        """Multiply with P(class) and what else bears on it, (n, classes)."""
        self.by_class = by_class
        self.factor = self.factor * by_class[:, :, None]

    def look(self, rows: slice) -> None:
        """Work everything that depends on months out for *rows*, over all months."""
        for unit in self.units:
            unit.look(rows)
        self._join_donors(rows)

    def coarsen(self) -> None:
        """Go on with the most that each block of months has: ``forward`` then bounds it."""
        for unit in self.units:
            unit.coarsen()

    def cut(self, months: slice) -> None:
        """Go on with some of the months."""
        for unit in self.units:
            unit.cut(months)

    def forward(self, rows: slice) -> tuple[Array, Array]:
        """Sum_r P(r | class) A_r(t) by class, scaled, and ln of the scale."""
        alone = self._alone
        if alone is not None:
            self._stack = alone.terms
            matrix = np.matmul(self.factor[rows], alone.coefficients(rows))
        else:
            # products of the units behind each, for the way back
            self._behind = [self.units[-1].forward(rows)]
            for unit in self.units[-2::-1]:
                self._behind.append(self._space.product(unit.forward(rows), self._behind[-1]))
            self._stack, matrix = self._behind.pop(), self.factor[rows]
        size = self._stack[:, :, :: min(SAMPLE, 1 + self._stack.shape[2] // SAMPLE)].max(
            axis=2, keepdims=True
        )
        scale = np.matmul(matrix, size).max(axis=(1, 2))
        inside = self._space.matrix_product(matrix / scale[:, None, None], self._stack)
        return inside, np.log(scale)

    def _join_donors(self, rows: slice) -> None:
        """Let members of one set come from one other instrument instead of one each."""
        for one in self.found.donors:
            assert self.ratio is not None
            joint: Array | None = None
            apart: Array = np.ones(rows.stop - rows.start)
            for unit in self.units:
                if unit.parts[0] in one.parts:
                    joint = _times(joint, unit.built())
            for keyed in self._dated:
                if keyed.keys.part in one.parts:
                    assert keyed.part is not None
                    assert keyed.part.donor is not None
                    apart = apart * keyed.part.donor[rows]
            assert joint is not None
            ratio = joint @ self._compiled.prior / apart
            self.ratio[rows, one.row] *= ratio
            self.factor[rows, :, one.row] *= ratio[:, None]

    def backward(self, rows: slice, around: Array) -> None:
        """Take what lies *around*, (n, classes or fewer, months), to units and mass."""
        count, told_apart = around.shape[:2]
        factor = self.factor[rows]
        shape = factor.shape
        repeats = shape[1] // told_apart  # what is around may tell fewer classes apart
        factor = factor.reshape(count, repeats, told_apart, -1).sum(axis=1).transpose(0, 2, 1)
        alone = self._alone
        if alone is not None:
            sums = np.matmul(around, self._stack.transpose(0, 2, 1))
            alone.sums[rows] = np.matmul(factor, sums)
            mass = np.matmul(sums, alone.coefficients(rows).transpose(0, 2, 1))
            self.mass[rows] = np.tile(mass, (1, repeats, 1))
            return
        mass = np.matmul(around, self._stack.transpose(0, 2, 1))
        self.mass[rows] = np.tile(mass, (1, repeats, 1))
        outside = self._space.matrix_product(factor, around)
        here = self._space.array(*outside.shape)
        for unit in self.units[:-1]:
            unit.backward(rows, np.multiply(outside, self._behind.pop(), out=here))
            outside *= unit.values
        self.units[-1].backward(rows, outside)

    def tell(self, told: Array, by_class: Array) -> None:
        """Write every marginal of the assembly into *told*, (n, columns).

        Parameters
        ----------
        by_class
            P(class | all), (n, classes).
        """
        said, columns = self._told, self._compiled.columns
        if self.worth is None and not self.units:
            told[:, said.columns] = by_class @ said.by_class
            self._tell_hands(told)
            return
        contexts = self._contexts(by_class)
        told[:, said.columns] = contexts @ said.table
        for one in self._keyed:
            if one.part is None or not one.part.dated:
                one.tell(contexts, told, columns.states)
        for one, unit in zip(self._dated, self._part_units, strict=True):
            around = None if self.settled else unit.part.classes(unit.by_mixture())
            one.tell_dated(contexts, around, told, columns.states)
        self._tell_hands(told)

    def _contexts(self, by_class: Array) -> Array:
        """P(context | all), (n, contexts)."""
        found = self.found
        if self.units and not self.settled:
            mass = self.mass
            if self.by_class is not None:
                mass = mass * self.by_class[:, :, None]
            if self.ratio is not None:
                mass = mass * self.ratio[:, None, :]
            chosen = (mass[:, :, found.row] * found.prior.T).sum(axis=1)
        else:
            inside = self.factor[:, :, 0]
            chosen = (by_class / np.where(inside > 0, inside, 1.0)) @ found.prior.T
        if self.worth is not None:
            chosen = chosen * self.worth
        return np.asarray(chosen / chosen.sum(axis=1, keepdims=True))

    def _tell_hands(self, told: Array) -> None:
        """Write careful hands of which one look tells: from its opening."""
        for hand, opening, look in self._hands:
            share = self._compiled.careful[opening]
            done = told[:, opening]
            told[:, hand] = share * (done * look[:, 2] / look[:, 3] + 1 - done)


def _times(first: Array | None, other: Array) -> Array:
    return other if first is None else first * other
