"""Marks of many instruments on one part: columns, and their likelihood by timing class.

P(r | m) = (1 - e) sum_j spread(j) w(m + j) + e sum(w) / months: what depends on the make month m,
plus a floor, the chance that a garbage reading comes out as this one. K(t) averages it over
P(m | t, class). Several marks on one part share m, so their product is averaged.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Mark
from heelstamp.dating.model import Array, Index
from heelstamp.dating.timing import MarkKernels, Spread, weighted_windows


@dataclass(frozen=True)
class SingleMarks:
    """Instruments with one mark on the part, all with the same spread; rows ascend."""

    kernels: MarkKernels
    rows: list[int]
    starts: Index
    weights: Array
    even: Array
    floor: Array


@dataclass(frozen=True)
class MarkColumns:
    """All marks on one part.

    Attributes
    ----------
    singles, shared
        Instruments with one mark, by spread; with several.
    place, value, floor
        For parts of a batch: flat positions ``row * months + month`` with values of the product
        of P(r | m) without its floor, and the floor by row; empty otherwise.
    """

    part: str
    singles: tuple[SingleMarks, ...]
    shared: dict[int, list[Mark]]
    place: Index
    value: Array
    floor: dict[int, float]

    @classmethod
    def make(cls, compiled: CompiledModel, part: str, marks: list[tuple[int, Mark]]) -> MarkColumns:
        """Lay out (row, mark) pairs, rows ascending."""
        by_row: dict[int, list[Mark]] = defaultdict(list)
        for row, mark in marks:
            by_row[row].append(mark)
        groups: dict[Spread, list[tuple[int, Mark]]] = defaultdict(list)
        for row, ones in by_row.items():
            if len(ones) == 1:
                groups[ones[0].spread].append((row, ones[0]))
        singles = tuple(_single(compiled, part, group) for group in groups.values())
        shared = {row: ones for row, ones in by_row.items() if len(ones) > 1}
        places: list[int] = []
        values: list[float] = []
        floors: dict[int, float] = {}
        if part in compiled.batch_of_part:
            months = len(compiled.model.marks)
            for row, ones in by_row.items():
                seen, floors[row] = _make_month(compiled, ones)
                places += [row * months + month for month in sorted(seen)]
                values += [seen[month] for month in sorted(seen)]
        return cls(part, singles, shared, np.array(places, dtype=np.intp), np.array(values), floors)

    def likelihood(self, compiled: CompiledModel, rows: slice) -> tuple[Array, Array]:
        """Give K of built and period parts, (n, 2, months), and of later ones, (n, months)."""
        count, span = rows.stop - rows.start, len(compiled.model.completion)
        timed, later = np.ones((count, 2, span)), np.ones((count, span))
        for group in self.singles:
            inside = slice(bisect_left(group.rows, rows.start), bisect_left(group.rows, rows.stop))
            where = np.array(group.rows[inside], dtype=np.intp) - rows.start
            if not len(where):
                continue
            starts, weights = group.starts[inside], group.weights[inside]
            kernels, floor = group.kernels, group.floor[inside, None]
            timed[where, 0] = weighted_windows(kernels.built, starts, weights) + floor
            timed[where, 1] = weighted_windows(kernels.period, starts, weights) + floor
            step = weighted_windows(kernels.later, starts, weights)
            later[where] = step * compiled.scaled_later + (group.even[inside, None] + floor)
        for row, ones in self.shared.items():
            if rows.start <= row < rows.stop:
                at = row - rows.start
                timed[at], later[at] = _shared_make_month(compiled, self.part, ones)
        return timed, later

    def make_month(self, compiled: CompiledModel, rows: slice) -> tuple[Array, Array]:
        """Give the product of P(r | m) without floor, (n, make months), and the floor, (n,)."""
        count, months = rows.stop - rows.start, len(compiled.model.marks)
        low, high = np.searchsorted(self.place, [rows.start * months, rows.stop * months])
        flat = np.zeros(count * months)
        flat[self.place[low:high] - rows.start * months] = self.value[low:high]
        floor = np.array([self.floor.get(row, 1.0) for row in range(rows.start, rows.stop)])
        return flat.reshape(count, months), floor


def _single(compiled: CompiledModel, part: str, group: list[tuple[int, Mark]]) -> SingleMarks:
    grid = compiled.model.marks
    kernels = compiled.kernels(part, group[0][1].spread)
    places: list[tuple[int, int]] = []
    pairs: list[tuple[int, float]] = []
    mass = np.empty(len(group))
    error = np.empty(len(group))
    width = 1
    for i, (_, mark) in enumerate(group):
        begin, total = len(pairs), 0.0
        for one in mark.readings:
            period, weight = one.period, one.weight
            pairs += kernels.starts(period, weight, grid.first)
            total += weight * max(
                0, min(period.last, grid.last) - max(period.first, grid.first) + 1
            )
        places += [(i, k) for k in range(len(pairs) - begin)]
        width = max(width, len(pairs) - begin)
        mass[i], error[i] = total, mark.error
    starts = np.zeros((len(group), width), dtype=np.intp)
    weights = np.zeros((len(group), width))
    if pairs:
        at = tuple(np.array(places).T)
        starts[at], weights[at] = zip(*pairs, strict=True)
    weights *= (1 - error)[:, None]
    even = compiled.even_later * (1 - error) * mass
    return SingleMarks(
        kernels, [row for row, _ in group], starts, weights, even, error * mass / len(grid)
    )


def mark_likelihood(compiled: CompiledModel, mark: Mark) -> tuple[dict[int, float], float]:
    """Give P(mark | month) without floor where it is not zero, by grid position, and the floor."""
    grid = compiled.model.marks
    months = len(grid)
    seen: dict[int, float] = {}
    mass = 0.0
    for reading in mark.readings:
        low = max(reading.period.first - grid.first, 0)
        high = min(reading.period.last - grid.first, months - 1)
        mass += reading.weight * max(0, high - low + 1)
        for shift, share in mark.spread:
            factor = (1 - mark.error) * share * reading.weight
            for month in range(max(low - shift, 0), min(high - shift, months - 1) + 1):
                seen[month] = seen.get(month, 0.0) + factor
    return seen, mark.error * mass / months


def _make_month(compiled: CompiledModel, marks: list[Mark]) -> tuple[dict[int, float], float]:
    """Multiply the marks of one part: (x + f)(y + g) - f g, and f g."""
    seen, floor = mark_likelihood(compiled, marks[0])
    for mark in marks[1:]:
        more, base = mark_likelihood(compiled, mark)
        months = seen.keys() | more.keys()
        seen = {
            m: (seen.get(m, 0.0) + floor) * (more.get(m, 0.0) + base) - floor * base for m in months
        }
        floor *= base
    return seen, floor


def _shared_make_month(
    compiled: CompiledModel, part: str, marks: list[Mark]
) -> tuple[Array, Array]:
    """Average the product of several marks' likelihoods over the part's one make month."""
    model = compiled.model
    seen, floor = _make_month(compiled, marks)
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
    return np.stack([built, period]), later
