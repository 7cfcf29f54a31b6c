"""Parts with dated evidence within one assembly: single ones, and marked ones of one lot.

Given completion month and row (``contexts``), units are independent, so A_r(t) = prod of U_r(t).

Marked parts of one lot share a make month. With x_p(m) the marks of p less their floor, q the
share of instruments whose parts came from one lot, a_p = P(built | row) C_p(t), and mu_B(t) the
central moment over the lag, E prod_{p in B} (x_p - E x_p):
U(t) = prod_p U_p(t) + q sum over B of two members or more of mu_B prod_{p in B} a_p
prod_{p not in B} U_p. Proof: P(r | m) a_p + rest_p = U_p + a_p (x_p(m) - E x_p); multiply out and
average over m; first-order terms vanish. For two members mu is the covariance of their marks.
Where the lot was swapped whole from one source of the period, or later, the same holds with a_p and
mu of that timing class.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np

from heelstamp.dating.compiled import TIMINGS, CompiledModel
from heelstamp.dating.factors import BUILT, LATER, PartEvidence
from heelstamp.dating.model import Array, Batch, Index, Timing
from heelstamp.dating.span import block_maxima
from heelstamp.dating.timing import LagAverage, MadeIn
from heelstamp.dating.workspace import Workspace

Members = tuple[int, ...]
"""Places of members of a lot."""


class PartUnit:
    """A part by itself.

    ``sums`` takes what lies outside the part times each term, summed over months, (n, rows,
    terms); ``terms``, ``marks`` and ``values`` are those of the chunk in hand: the part's terms, K
    by timing class, and U.
    """

    def __init__(self, part: PartEvidence, rows: Index, space: Workspace) -> None:
        self.part, self.of_row, self.space = part, rows, space
        count, width, terms = part.coefficients.shape
        self.each = len(rows) == width and bool((rows == np.arange(width)).all())
        self.sums = np.empty((count, len(rows), terms))
        self.terms: Array = np.empty((0, 0, 0))
        self.values = self._all = self.terms
        self.marks: Array | None = None

    @property
    def parts(self) -> tuple[str, ...]:
        """The part's name."""
        return (self.part.name,)

    def look(self, rows: slice) -> None:
        """Work the terms of *rows* out."""
        self._all, self.marks = self.part.terms(rows, self.space)
        self.terms = self._all

    def coarsen(self) -> None:
        """Go on with the most that each block of months has."""
        self.terms = block_maxima(self._all)

    def cut(self, months: slice) -> None:
        """Go on with some of the months."""
        self.terms = self._all[:, :, months]

    def coefficients(self, rows: slice) -> Array:
        """The coefficients of each row, (n, rows, terms)."""
        found = self.part.coefficients[rows]
        return found if self.each else found[:, self.of_row]

    def forward(self, rows: slice) -> Array:
        """U, (n, rows, months)."""
        space = self.space
        values = space.matrix_product(self.part.coefficients[rows], self.terms)
        if not self.each:
            out = space.array(len(values), len(self.of_row), values.shape[2])
            values = np.take(values, self.of_row, axis=1, out=out, mode="clip")
        self.values = values
        return values

    def backward(self, rows: slice, outside: Array) -> None:
        """Sum what lies *outside*, (n, rows, months), times each term over months."""
        np.matmul(outside, self.terms.transpose(0, 2, 1), out=self.sums[rows])

    def built(self) -> Array:
        """C K of the part as built, (n, months), of the chunk in hand."""
        return np.asarray(self.terms[:, BUILT])

    def by_mixture(self) -> Array:
        """``sums`` of the rows of each mixture together, (n, mixtures, terms)."""
        if self.each:
            return self.sums
        mixtures = np.arange(self.part.coefficients.shape[1])
        return np.asarray(np.matmul((mixtures[:, None] == self.of_row).astype(float), self.sums))


class LotUnit:
    """Marked parts that usually come from one lot: see the module head."""

    def __init__(
        self,
        compiled: CompiledModel,
        batch: Batch,
        units: list[PartUnit],
        swapped: Mapping[int, Timing],
    ) -> None:
        self.units, self.share, self.space = units, batch.share, units[0].space
        self.values = np.empty(0)
        self._compiled = compiled
        self._moments: dict[tuple[int, Members], Array] = {}
        self._all = self._moments
        # by timing class the rows in which it takes the lot together; built: in all of them
        count = len(units[0].of_row)
        self._rows: dict[int, Array] = {BUILT: np.ones(count)}
        for row, timing in swapped.items():
            if timing in (Timing.PERIOD, Timing.LATER):
                place = TIMINGS.index(timing)
                self._rows.setdefault(place, np.zeros(count))[row] = 1
        self._floors: list[Array] = []
        made: dict[Members, MadeIn] = {}
        for place, unit in enumerate(units):
            marks = unit.part.marks
            assert marks is not None
            assert marks.made is not None
            self._floors.append(marks.floor[marks.which])
            made[(place,)] = marks.made.by_row(marks.which)
        self._products: dict[tuple[int, Members], LagAverage] = {}
        for lot in self._lots(2):
            made[lot] = _product(made[lot[:-1]], made[lot[-1:]], len(compiled.model.marks))
            for place in self._rows:
                kernel = compiled.plain_kernel(units[0].part.name, place)
                average = LagAverage.make(kernel, made[lot], len(self._floors[0]))
                self._products[place, lot] = average

    @property
    def parts(self) -> tuple[str, ...]:
        """The members' names."""
        return tuple(unit.part.name for unit in self.units)

    def _lots(self, least: int) -> list[Members]:
        """The sets of *least* members or more, small ones first."""
        sizes = range(least, len(self.units) + 1)
        return [lot for size in sizes for lot in combinations(range(len(self.units)), size)]

    def look(self, rows: slice) -> None:
        """Work the terms and moments of *rows* out."""
        for unit in self.units:
            unit.look(rows)
        self._all = {}
        for place in self._rows:
            self._central_moments(rows, place)
        self._moments = self._all

    def coarsen(self) -> None:
        """Go on with the most that each block of months has."""
        for unit in self.units:
            unit.coarsen()
        self._moments = {key: np.maximum(block_maxima(one), 0.0) for key, one in self._all.items()}

    def cut(self, months: slice) -> None:
        """Go on with some of the months."""
        for unit in self.units:
            unit.cut(months)
        self._moments = {key: one[:, :, months] for key, one in self._all.items()}

    def forward(self, rows: slice) -> Array:
        """U, (n, rows, months)."""
        values = [unit.forward(rows) for unit in self.units]
        total = self._around(values)
        for key, moment in self._moments.items():
            total += self._of_lot(rows, key, moment, ())
        self.values = total
        return total

    def _around(self, values: Sequence[Array]) -> Array:
        """Multiply one array or more into an array of its own."""
        total = self.space.array(*values[0].shape)
        total[:] = values[0]
        for one in values[1:]:
            total *= one
        return total

    def built(self) -> Array:
        """C K of the parts as built, (n, months), of the chunk in hand."""
        total = _times(None, [unit.built() for unit in self.units])
        for (place, lot), moment in self._moments.items():
            if place == BUILT:
                rest = [unit.built() for i, unit in enumerate(self.units) if i not in lot]
                total = total + _times(moment[:, 0], rest)
        return total

    def _central_moments(self, rows: slice, place: int) -> None:
        """Work q mu_B prod C_p, (n, 1, months), out for each set B of members."""
        means: list[Array] = []
        for unit, floor in zip(self.units, self._floors, strict=True):
            assert unit.marks is not None
            means.append(unit.marks[:, place] - floor[rows, None])
        average: dict[Members, Array] = {}
        for lot in self._lots(2):
            product = self._products[place, lot]
            average[lot] = product.over(rows)
            if place == LATER:
                compiled = self._compiled
                whole = product.weights[rows].sum(axis=1, keepdims=True)
                average[lot] *= compiled.scaled_later
                average[lot] += compiled.even_later * whole
        for lot in average:
            # E prod (x - E x), multiplied out; sets of none and of one member come to one term
            size = len(lot)
            moment = (-1) ** (size - 1) * (size - 1) * _times(None, [means[i] for i in lot])
            for part in self._lots(2):
                if set(part) <= set(lot):
                    left = [means[i] for i in lot if i not in part]
                    moment += (-1) ** len(left) * _times(average[part], left)
            owns = [self.units[i].part.own(rows, place) for i in lot]
            moment = _times(moment, [own for own in owns if own is not None])
            self._all[place, lot] = (self.share * moment)[:, None]

    def _share(self, rows: slice, place: int, members: Sequence[int]) -> Array:
        """The product of the coefficients of *members* at a timing class, (n, rows)."""
        share = self._rows[place]
        for i in members:
            share = share * self.units[i].coefficients(rows)[:, :, place]
        return share

    def _of_lot(
        self, rows: slice, key: tuple[int, Members], moment: Array, without: Members
    ) -> Array:
        """The term of U of a set of members, leaving the members *without* out."""
        place, lot = key
        share = self._share(rows, place, lot)
        found = self.space.product(share[:, :, None], moment)
        for i, unit in enumerate(self.units):
            if i not in lot and i not in without:
                found *= unit.values
        return found

    def backward(self, rows: slice, outside: Array) -> None:
        """Hand what lies around each member on to it."""
        for place, unit in enumerate(self.units):
            around = self._around([one.values for one in self.units if one is not unit])
            for key, moment in self._moments.items():
                if place not in key[1]:
                    around += self._of_lot(rows, key, moment, (place,))
            around *= outside
            unit.backward(rows, around)
            for (timing, lot), moment in self._moments.items():
                if place in lot:
                    rest = [one.values for i, one in enumerate(self.units) if i not in lot]
                    share = self._share(rows, timing, [i for i in lot if i != place])
                    mass = np.vecdot(self._around([outside, *rest]) if rest else outside, moment)
                    unit.sums[rows, :, timing] += share * mass


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
