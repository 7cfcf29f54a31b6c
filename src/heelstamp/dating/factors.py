"""What was seen on one part, as a function of completion month and timing class.

Where table d of its states holds, a part contributes U_d(t) = sum over timing classes of
P(class | d) C_class(t) K_class(t), with C the product of its features and serial and K its marks. C
takes few different values, one for each combination that was seen, so it is tabulated by
combination. Tables are mixed where a leaf of the part (``structure``) is open or closed.
"""

from __future__ import annotations

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.model import Array, Index
from heelstamp.dating.table import EvidenceTable
from heelstamp.dating.timing import distinct
from heelstamp.dating.workspace import Workspace

BUILT, PERIOD, LATER, DONOR = range(4)


class PartEvidence:
    """Everything seen on one part of the instruments of a table.

    U is a product of *coefficients*, (n, mixtures, terms), and *terms*, (n, terms, months). Terms
    are built, period and later; the last of them is one at every month when there are no marks, and
    then also serves parts from another instrument; with marks these have a fourth term of ones.

    Attributes
    ----------
    dated
        Whether anything seen depends on the completion month.
    weights
        P(timing class | table) times P(signs | state), (n, tables, classes).
    donor
        The sum of C K of parts as built over P(T), (n,), for parts from another instrument.
    coefficients
        See above; those of the donor class depend on the terms, so ``terms`` fills them in.
    """

    def __init__(self, compiled: CompiledModel, table: EvidenceTable, name: str) -> None:
        self.name = name
        self._compiled = compiled
        index = compiled.part_index[name]
        self._prior, self._seen = compiled.state_prior[index], table.states[index]
        self.weights = self._weigh(table.count)
        self._own, self._later, self._which = _own(compiled, table, name)
        self.marks = table.marks.get(name)
        self.dated = self._own is not None or self.marks is not None
        self.donor = np.ones(table.count) if compiled.has_donor[index] else None
        self._ones = self.marks is not None and self.donor is not None
        self._mix: Array | None = None
        self._mixed = self.weights
        self.coefficients: Array = np.empty((0, 0, 0))

    def mix(self, tables: Array) -> None:
        """Take how tables are mixed, (mixtures, tables) or (n, mixtures, tables)."""
        self._mix = tables
        if tables.ndim == 2 and _picks_each(tables):
            self._mix = None  # each table is a mixture by itself
        else:
            self._mixed = np.matmul(tables, self.weights)
        count, width = self._mixed.shape[:2]
        self.coefficients = np.zeros((count, width, 4 if self._ones else 3))
        self.coefficients[:, :, :LATER] = self._mixed[:, :, :LATER]
        self.coefficients[:, :, LATER] = self._mixed[:, :, LATER] * self._later[:, None]

    def _weigh(self, count: int) -> Array:
        prior = self._prior
        if self._seen is None:
            whole: Array = prior.sum(axis=0)[None]
            return whole if count == 1 else np.broadcast_to(whole, (count, *whole.shape[1:]))
        weights: Array = (self._seen @ prior.reshape(len(prior), -1)).reshape(-1, *prior.shape[1:])
        return weights

    def _own_of(self, rows: slice, space: Workspace | None) -> Array:
        """C of every timing class in an array of its own, (n, 3, months)."""
        assert self._own is not None
        which = self._which[rows]
        out = (space or Workspace()).array(len(which), *self._own.shape[1:])
        return np.take(self._own, which, axis=0, out=out, mode="clip")

    def own(self, rows: slice, place: int) -> Array | None:
        """C of a timing class, (n, months); None stands for ones."""
        if self._own is None or place == LATER:
            return None
        return np.asarray(self._own[self._which[rows], place])

    def terms(self, rows: slice, space: Workspace | None = None) -> tuple[Array, Array | None]:
        """The terms of *rows*, and K by timing class, (n, 3, months), when there are marks."""
        marked: Array | None = None
        if self.marks is None:
            assert self._own is not None
            found = self._own_of(rows, space)
        else:
            found = self.marks.likelihood(self._compiled, rows)
            marked = found
            if self._own is not None:
                own = self._own_of(rows, space)
                found = np.multiply(own, found, out=own)
        if self.donor is not None:
            donor = found[:, BUILT] @ self._compiled.prior
            self.donor[rows] = donor
            if not self.coefficients.size:
                return found, marked
            share = self._mixed[rows, :, DONOR] * donor[:, None]
            if self._ones:
                count, classes, months = found.shape
                wide = (space or Workspace()).array(count, classes + 1, months)
                wide[:, :classes], wide[:, classes] = found, 1.0
                found = wide
                self.coefficients[rows, :, DONOR] = share
            else:
                late = self._mixed[rows, :, LATER] * self._later[rows, None]
                self.coefficients[rows, :, LATER] = late + share
        return found, marked

    def classes(self, sums: Array) -> Array:
        """What lies around each timing class from *sums* over terms, (n, mixtures, 4)."""
        by_class = np.zeros((*sums.shape[:2], 4))
        by_class[:, :, :LATER] = sums[:, :, :LATER]
        by_class[:, :, LATER] = sums[:, :, LATER] * self._later[:, None]
        if self.donor is not None:
            by_class[:, :, DONOR] = sums[:, :, -1] * self.donor[:, None]
        return by_class

    def states(self, by_class: Array) -> Array:
        """P(state | all) from what lies around each class, (n, mixtures, 4).

        Within a timing class a state's share does not depend on the completion month.
        """
        if self._mix is not None:
            by_class = np.matmul(np.swapaxes(self._mix, -1, -2), by_class)
        prior = self._prior
        return self.shares(by_class.reshape(len(by_class), -1) @ prior.reshape(len(prior), -1).T)

    def states_by_table(self, mass: Array) -> Array:
        """P(state | all) of a part without dated evidence from the mass a table, (n, m)."""
        return self.shares(mass @ self._prior.sum(axis=2).T)

    def shares(self, states: Array) -> Array:
        """Multiply with what the signs say, and normalise."""
        if self._seen is not None:
            states = states * self._seen
        return np.asarray(states / states.sum(axis=1, keepdims=True))

    @property
    def certain(self) -> bool:
        """Whether it has one possible state while nothing reaches it."""
        return bool(np.count_nonzero(self._prior[:, 0]) == 1)

    def only_state(self) -> Array:
        """P(state) of a part that is ``certain``."""
        one = self._prior[:, 0].sum(axis=1)
        return np.broadcast_to((one > 0).astype(float), (len(self.weights), len(one)))


def _picks_each(tables: Array) -> bool:
    return tables.shape[0] == tables.shape[1] and bool((tables == np.eye(len(tables))).all())


def _own(
    compiled: CompiledModel, table: EvidenceTable, name: str
) -> tuple[Array | None, Array, Index]:
    """Tabulate C: (combinations, 3, months), the factor of later parts by row, and which by row.

    The third row of each combination is ones.
    """
    code = np.zeros(table.count, dtype=np.intp)
    columns = [one for one in compiled.feature_of_part.get(name, ()) if one in table.looked]
    for column in columns:
        code = code * len(compiled.features[column].later) + (table.features[:, column] + 1)
    scheme = compiled.model.serial
    serial = compiled.serial if scheme is not None and scheme.part == name else None
    if serial is not None:
        code = code * (len(table.serials) + 1) + (table.serial + 1)
    if not code.any():
        return None, np.ones(table.count), code
    example = which = np.zeros(1, dtype=np.intp)
    if len(code) > 1:
        _, example, which = distinct(code)
    own = np.ones((len(example), 3, len(compiled.prior)))
    later = np.ones(len(example))
    for column in columns:
        seen = table.features[example, column]
        own[:, :LATER] *= compiled.features[column].timed[seen]
        later *= compiled.features[column].later[seen]
    if serial is not None:
        for place, number in enumerate(table.serial[example].tolist()):
            if number >= 0:
                month, weight = table.serials[number]
                own[place, :LATER] *= np.tensordot(weight, serial.timed(month), axes=1)
                later[place] *= serial.later[month] @ weight
    return own, later[which], which
