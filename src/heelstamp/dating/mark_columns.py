"""Marks of many instruments on one part: columns, and their likelihood by timing class.

P(r | m) = (1 - e) sum_j spread(j) w(m + j) + e sum(w) / months: what depends on the make month m,
plus a floor, the chance that a garbage reading comes out as this one. K(t) averages it over
P(m | t, class). Several marks on one part share m, so their product is averaged; with a share of
their errors they fail together (`apart_and_together`). A mark that
reads wholly outside the grid of make months says nothing: only its floor is left.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Mark
from heelstamp.dating.model import Array, Index
from heelstamp.dating.timing import MadeIn, Spread, distinct, ragged, windows

Marks = tuple[Mark, ...]


@dataclass(frozen=True)
class MakeMonths:
    """For each distinct set of marks the product of P(r | m) less its floor, where not zero.

    Attributes
    ----------
    month, value
        Make months (grid positions, ascending within a set) and values.
    begin, number
        Where each set begins in them and how many it has.
    """

    month: Index
    value: Array
    begin: Index
    number: Index

    def by_row(self, which: Index) -> MadeIn:
        """The function of instruments of which row i has the set ``which[i]``."""
        number = self.number[which]
        row = np.repeat(np.arange(len(which)), number)
        place, _ = ragged(row, len(which))
        entry = np.repeat(self.begin[which], number) + place
        return row, self.month[entry], self.value[entry]


@dataclass(frozen=True)
class MarkColumns:
    """All marks on one part; rows with the same mark objects share one set.

    Attributes
    ----------
    which
        Set of each row, (n,); set 0 is *no mark*.
    kernels
        Windows of the ``MarkKernels`` of each spread side by side, and of a run of ones for the
        floors, (starts, 3, months).
    starts, weights, number
        Those of *kernels* that add up to built and period K of each set, (sets, k), and how many.
    late, floor
        What later K has whatever the completion month, and the floor, (sets,).
    averaged
        K of the sets that no windows can give, (3, months).
    made
        For a part of a batch what depends on the make month.
    """

    which: Index
    kernels: Array
    starts: Index
    weights: Array
    number: Index
    late: Array
    floor: Array
    averaged: dict[int, Array]
    made: MakeMonths | None

    @classmethod
    def make(
        cls, compiled: CompiledModel, part: str, marks: list[tuple[int, Mark]], count: int
    ) -> MarkColumns:
        """Lay out (row, mark) pairs of *count* instruments, rows ascending."""
        by_row: dict[int, Marks] = {}
        for row, mark in marks:
            before = by_row.get(row)
            by_row[row] = (mark,) if before is None else (*before, mark)
        sets: list[Marks] = [()]
        place: dict[tuple[int, ...], int] = {}
        found: list[int] = []
        for ones in by_row.values():
            key = tuple(map(id, ones))
            at = place.get(key)
            if at is None:
                at = place[key] = len(sets)
                sets.append(ones)
            found.append(at)
        which = np.zeros(count, dtype=np.intp)
        which[list(by_row)] = found
        return _Layout(compiled, part, sets).columns(which)

    def likelihood(self, compiled: CompiledModel, rows: slice) -> Array:
        """K of built, period and later parts, (n, 3, months)."""
        sets = self.which[rows]
        count, span = len(sets), len(compiled.prior)
        width = int(self.number[sets].max())
        some = self.kernels[self.starts[sets, :width]]
        summed = np.matmul(self.weights[sets, None, :width], some.reshape(count, width, 3 * span))
        result: Array = summed.reshape(count, 3, span)
        later = result[:, 2]
        later *= compiled.scaled_later
        later += self.late[sets, None]
        if self.averaged:
            for row, at in enumerate(sets.tolist()):
                if at in self.averaged:
                    result[row] = self.averaged[at]
        return result


class _Layout:
    """Sets of marks on one part while their columns are made."""

    def __init__(self, compiled: CompiledModel, part: str, sets: list[Marks]) -> None:
        self.compiled, self.part, self.sets = compiled, part, sets
        self.months, self.span = len(compiled.model.marks), len(compiled.prior)
        spreads = {marks[0].spread for marks in sets if len(marks) == 1}
        self.bases: list[Array] = []
        self.offset: dict[Spread, int] = {}
        begin = 0
        for spread in sorted(spreads):
            base = compiled.kernels(part, spread).base
            self.offset[spread] = begin
            self.bases.append(base)
            begin += base.shape[1]
        self.ones_at = begin
        even = np.ones((3, self.span))
        even[2] = 0  # later K is scaled by month: its floor is added behind
        self.bases.append(even)
        self._read()

    def _read(self) -> None:
        """Take the readings of the sets of one mark out of their objects, and clip them."""
        first, grid = self.compiled.model.marks.first, self.months - 1
        at: list[int] = []
        low: list[int] = []
        high: list[int] = []
        weight: list[float] = []
        error = np.zeros(len(self.sets))
        offset = np.zeros(len(self.sets), dtype=np.intp)
        reach = np.zeros((len(self.sets), 2), dtype=np.intp)
        reaches = {one: (max(j for j, _ in one), min(j for j, _ in one)) for one in self.offset}
        for place, marks in enumerate(self.sets):
            if len(marks) != 1:
                continue
            mark = marks[0]
            error[place], offset[place] = mark.error, self.offset[mark.spread]
            reach[place] = reaches[mark.spread]
            for one in mark.readings:
                period = one.period
                at.append(place)
                low.append(period.first)
                high.append(period.last)
                weight.append(one.weight)
        self.at = np.array(at, dtype=np.intp)
        self.low = np.maximum(np.array(low, dtype=np.intp) - first, 0)
        self.high = np.minimum(np.array(high, dtype=np.intp) - first, grid)
        self.weight, self.error, self.offsets = np.array(weight), error, offset
        self.length = np.maximum(self.high - self.low + 1, 0)
        # make months beyond the grid do not count: such marks are averaged month by month
        beyond = (self.low - reach[self.at, 0] < 0) | (self.high - reach[self.at, 1] > grid)
        spread = reach[self.at, 0] != reach[self.at, 1]
        self.beyond = set(self.at[beyond & spread & (self.length > 0)].tolist())

    def columns(self, which: Index) -> MarkColumns:
        count = len(self.sets)
        mass = np.bincount(self.at, self.weight * self.length, count)
        alone = np.bincount(self.at, self.weight, count)
        floor = self.error * np.where(mass > 0, mass, alone) / self.months
        late = self.compiled.even_later * (1 - self.error) * mass + floor
        floor[0] = late[0] = 1.0
        averaged: dict[int, Array] = {}
        for place, marks in enumerate(self.sets):
            if len(marks) > 1 or place in self.beyond:
                averaged[place], floor[place] = averaged_marks(self.compiled, self.part, marks)
        starts, weights, number = self._windows(floor)
        made = self._make_months() if self.part in self.compiled.batch_of_part else None
        base = np.concatenate(self.bases, axis=1)
        kernels = windows(base, self.span).transpose(1, 0, 2)
        return MarkColumns(which, kernels, starts, weights, number, late, floor, averaged, made)

    def _windows(self, floor: Array) -> tuple[Index, Array, Index]:
        """Lay the windows out: one for a month, two for a period, one for the floor."""
        behind = self.months + self.span - 1
        begin = self.offsets[self.at] + self.months - 1
        weight = self.weight * (1 - self.error[self.at])
        single, longer = self.length == 1, self.length > 1
        count = len(self.sets)
        at = np.concatenate([np.arange(count), self.at[single], self.at[longer], self.at[longer]])
        start = np.concatenate(
            [
                np.full(count, self.ones_at),
                (begin - self.low)[single],
                (begin + behind - self.high)[longer],
                (begin + behind + 1 - self.low)[longer],
            ]
        )
        share = np.concatenate([floor, weight[single], weight[longer], -weight[longer]])
        order = np.argsort(at, kind="stable")
        at, start, share = at[order], start[order], share[order]
        place, number = ragged(at, count)
        starts = np.zeros((count, int(number.max())), dtype=np.intp)
        weights = np.zeros(starts.shape)
        starts[at, place], weights[at, place] = start, share
        return starts, weights, number

    def _make_months(self) -> MakeMonths:
        """Spread the readings over make months; equal months of a set are added up."""
        at = np.repeat(self.at, self.length)
        place, _ = ragged(np.repeat(np.arange(len(self.at)), self.length), len(self.at))
        month = np.repeat(self.low, self.length) + place
        weight = np.repeat(self.weight * (1 - self.error[self.at]), self.length)
        keys: list[Index] = []
        values: list[Array] = []
        for spread, offset in self.offset.items():
            ours = self.offsets[at] == offset
            for shift, share in spread:
                made = month[ours] - shift
                inside = (made >= 0) & (made < self.months)
                keys.append((at[ours] * self.months + made)[inside])
                values.append(share * weight[ours][inside])
        for several, marks in enumerate(self.sets):
            if len(marks) > 1:
                seen, _ = make_month_likelihood(self.compiled, marks)
                keys.append(several * self.months + np.array(list(seen), dtype=np.intp))
                values.append(np.array(list(seen.values())))
        key, _, inverse = distinct(np.concatenate(keys))
        value = np.zeros(len(key))
        np.add.at(value, inverse, np.concatenate(values))
        number = np.bincount(key // self.months, minlength=len(self.sets))
        return MakeMonths(key % self.months, value, np.cumsum(number) - number, number)


def mark_likelihood(
    compiled: CompiledModel, mark: Mark, error: float
) -> tuple[dict[int, float], float]:
    """P(mark | month, its share of garbage) where not zero, by grid position, less the floor.

    The second value is the floor's other factor: the chance that garbage comes out as this mark.
    """
    grid = compiled.model.marks
    months = len(grid)
    seen: dict[int, float] = {}
    mass = 0.0
    for reading in mark.readings:
        low = max(reading.period.first - grid.first, 0)
        high = min(reading.period.last - grid.first, months - 1)
        mass += reading.weight * max(0, high - low + 1)
        for shift, share in mark.spread:
            factor = (1 - error) * share * reading.weight
            for month in range(max(low - shift, 0), min(high - shift, months - 1) + 1):
                seen[month] = seen.get(month, 0.0) + factor
    return seen, (mass or sum(one.weight for one in mark.readings)) / months


def apart_and_together(marks: Marks) -> tuple[tuple[float, ...], float]:
    """Split the errors of marks on one part: each one's own, and one at which all fail.

    What a mark has of its own is such that its whole error stays what it was: a mark alone is
    weighed as ever.
    """
    together = min(mark.together * mark.error for mark in marks) if len(marks) > 1 else 0.0
    return tuple(1 - (1 - mark.error) / (1 - together) for mark in marks), together


def make_month_likelihood(compiled: CompiledModel, marks: Marks) -> tuple[dict[int, float], float]:
    """Multiply the marks of one part: what depends on the make month, and the floor.

    (1 - c) prod (x + f) + c prod g, with c the share in which all fail together, g the chance of a
    garbage reading, f = e g with e the error of the mark's own; (x + f)(y + h) - f h is kept apart
    from the floor f h.
    """
    own, together = apart_and_together(marks)
    seen, garbage = mark_likelihood(compiled, marks[0], own[0])
    floor = own[0] * garbage
    for mark, error in zip(marks[1:], own[1:], strict=True):
        more, chance = mark_likelihood(compiled, mark, error)
        base = error * chance
        seen = {
            m: (seen.get(m, 0.0) + floor) * (more.get(m, 0.0) + base) - floor * base
            for m in seen.keys() | more.keys()
        }
        floor *= base
        garbage *= chance
    seen = {month: (1 - together) * value for month, value in sorted(seen.items())}
    return seen, (1 - together) * floor + together * garbage


def averaged_marks(compiled: CompiledModel, part: str, marks: Marks) -> tuple[Array, float]:
    """Average the product of marks over the part's one make month: K, (3, months), and floor."""
    model = compiled.model
    seen, floor = make_month_likelihood(compiled, marks)
    product = np.full(len(model.marks), floor)
    product[list(seen)] += list(seen.values())
    first, span = model.completion.first - model.marks.first, len(model.completion)
    lag = np.asarray(compiled.lag_of(part))
    back = first - (len(lag) - 1)
    padded = np.concatenate([np.zeros(max(0, -back)), product])[max(0, back) :]
    built = np.convolve(padded, lag, "valid")[:span]
    gap = np.asarray(model.gap)
    period = np.convolve(product[first + model.gap_first :], gap[::-1], "valid")[:span]
    behind = np.cumsum(product[::-1])[::-1]
    after = np.arange(span) + first + model.later_from
    later = behind[after] * compiled.scaled_later + compiled.even_later * product.sum()
    return np.stack([built, period, later]), floor
