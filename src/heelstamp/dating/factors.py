"""Likelihood of everything seen on each part, as a function of completion month and timing class.

For part p: C_class(t) = product of features and serial, K_class(t) = marks, which share the
part's make month: K(t) = sum_m P(m | t, class) prod_j P(r_j | m). Marked parts of one batch share
a make month too: H_B(t) = q sum_m lag(t - m) prod_{p in B} R_p(m) + (1 - q) prod_{p in B} K_p(t)
for the members B that are original, with q the share of instruments whose parts came from one lot.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from heelstamp.dating.evidence import Mark
from heelstamp.dating.table import CompiledModel, EvidenceTable, PartMarks
from heelstamp.dating.timing import over_lag, weighted_windows

Array = npt.NDArray[np.float64]
Members = tuple[str, ...]


@dataclass
class PartFactors:
    """Factors of one part for the rows of a chunk.

    ``built`` and ``period`` hold C, shape (n, months), or None when nothing was seen (all ones);
    ``later`` holds C of later parts, (n,); ``marks`` the three K, or None; ``make`` the product
    of mark likelihoods split as (what depends on the make month, floor) for use in a batch.
    """

    built: Array | None
    period: Array | None
    later: Array
    marks: tuple[Array, Array, Array] | None
    make: tuple[Array, Array] | None = None


def part_factors(
    compiled: CompiledModel, table: EvidenceTable, rows: slice, part: str, *, for_batch: bool
) -> PartFactors:
    """Compute the factors of *part* for the instruments in *rows*."""
    count = rows.stop - rows.start
    built: Array | None = None
    period: Array | None = None
    later = np.ones(count)
    for column in compiled.feature_of_part.get(part, ()):
        seen = table.features[rows, column]
        if (seen < 0).all():
            continue
        tables = compiled.features[column]
        if built is None or period is None:
            built, period = tables.built[seen], tables.period[seen]
        else:
            built *= tables.built[seen]
            period *= tables.period[seen]
        later *= tables.later[seen]
    scheme = compiled.model.serial
    if scheme is not None and scheme.part == part and compiled.serial is not None:
        month, weight = table.serial_month[rows], table.serial_weight[rows]
        if (month < len(compiled.model.completion)).any():
            tabs = compiled.serial
            seen_built = sum(tabs.built[m] * w[:, None] for m, w in zip(month.T, weight.T, strict=True))
            seen_period = sum(
                tabs.period[m] * w[:, None] for m, w in zip(month.T, weight.T, strict=True)
            )
            later = later * (tabs.later[month] * weight).sum(axis=1)
            built = seen_built if built is None else built * seen_built
            period = seen_period if period is None else period * seen_period
    marks = table.marks.get(part)
    if marks is None:
        return PartFactors(built, period, later, None)
    inside = slice(bisect_left(marks.rows, rows.start), bisect_left(marks.rows, rows.stop))
    which = marks.marks[inside]
    if not which:
        return PartFactors(built, period, later, None)
    where = [row - rows.start for row in marks.rows[inside]]
    kept = mark_factors(compiled, part, count, where, which, for_batch=for_batch)
    return PartFactors(built, period, later, *kept)


def mark_factors(
    compiled: CompiledModel,
    part: str,
    count: int,
    rows: list[int],
    marks: list[Mark],
    *,
    for_batch: bool,
) -> tuple[tuple[Array, Array, Array], tuple[Array, Array] | None]:
    """Compute K by timing class for *count* instruments, and the make-month form if asked for."""
    span = len(compiled.model.completion)
    result = tuple(np.ones((count, span)) for _ in range(3))
    make: tuple[Array, Array] | None = None
    if for_batch:
        make = (np.zeros((count, len(compiled.model.marks))), np.ones(count))
    by_row: dict[int, list[Mark]] = {}
    for row, mark in zip(rows, marks, strict=True):
        by_row.setdefault(row, []).append(mark)
    single = [(row, ones[0]) for row, ones in by_row.items() if len(ones) == 1]
    spreads = {mark.spread for _, mark in single}
    for spread in spreads:
        group = [(row, mark) for row, mark in single if mark.spread == spread]
        _single_marks(compiled, part, group, result)
    for row, ones in by_row.items():
        if len(ones) > 1:
            _shared_make_month(compiled, part, row, ones, result)
        if make is not None:
            _set_make(compiled, row, ones, make)
    return (result[0], result[1], result[2]), make


def _single_marks(
    compiled: CompiledModel, part: str, group: list[tuple[int, Mark]], result: tuple[Array, ...]
) -> None:
    model = compiled.model
    kernels = compiled.kernels(part, group[0][1].spread)
    first, span, months = model.marks.first, len(model.completion), len(model.marks)
    lists = []
    total = np.empty(len(group))
    good = np.empty(len(group))
    for i, (_, mark) in enumerate(group):
        pairs = []
        mass = 0.0
        for reading in mark.readings:
            pairs += kernels.windows(reading.period, reading.weight, first)
            mass += reading.weight * _inside(compiled, reading.period.first, reading.period.last)
        lists.append(pairs)
        total[i], good[i] = mass, 1 - mark.error
    width = max(1, max(len(pairs) for pairs in lists))
    starts = np.zeros((len(group), width), dtype=np.intp)
    weights = np.zeros((len(group), width))
    for i, pairs in enumerate(lists):
        for k, (start, weight) in enumerate(pairs):
            starts[i, k] = start
            weights[i, k] = weight
    weights *= good[:, None]
    floor = ((1 - good) * total / months)[:, None]
    rows = [row for row, _ in group]
    result[0][rows] = weighted_windows(kernels.built, span, starts, weights) + floor
    result[1][rows] = weighted_windows(kernels.period, span, starts, weights) + floor
    step = weighted_windows(kernels.later, span, starts, weights)
    even = compiled.even_later * (good * total)[:, None]
    result[2][rows] = step * compiled.scaled_later + even + floor


def _inside(compiled: CompiledModel, first: int, last: int) -> int:
    grid = compiled.model.marks
    return max(0, min(last, grid.last) - max(first, grid.first) + 1)


def make_likelihood(compiled: CompiledModel, mark: Mark) -> tuple[Array, float]:
    """Give P(mark | made in month) as (part that depends on the month, floor)."""
    grid = compiled.model.marks
    weight = np.zeros(len(grid))
    for reading in mark.readings:
        low = max(reading.period.first - grid.first, 0)
        weight[low : max(reading.period.last - grid.first + 1, 0)] += reading.weight
    seen = np.zeros(len(grid))
    for shift, share in mark.spread:
        # P(r | m) takes w(m + shift)
        if shift >= 0:
            seen[: len(grid) - shift] += share * weight[shift:]
        else:
            seen[-shift:] += share * weight[:shift]
    return (1 - mark.error) * seen, mark.error * float(weight.sum()) / len(grid)


def _shared_make_month(
    compiled: CompiledModel, part: str, row: int, marks: list[Mark], result: tuple[Array, ...]
) -> None:
    """Set K of a part with several marks, which share its make month, by one dense average."""
    model = compiled.model
    product = np.ones(len(model.marks))
    for mark in marks:
        seen, floor = make_likelihood(compiled, mark)
        product = product * (seen + floor)
    first = model.completion.first - model.marks.first
    span = len(model.completion)
    lag = np.asarray(compiled.lag_of(part))
    back = first - (len(lag) - 1)
    padded = np.concatenate([np.zeros(max(0, -back)), product])[max(0, back) :]
    result[0][row] = np.convolve(padded, lag, "valid")[:span]
    gap = np.asarray(model.gap)
    start = first + model.gap_first
    result[1][row] = np.convolve(product[start:], gap[::-1], "valid")[:span]
    behind = np.cumsum(product[::-1])[::-1]
    after = np.arange(span) + first + model.later_from
    result[2][row] = behind[after] * compiled.scaled_later + compiled.even_later * product.sum()


def _set_make(
    compiled: CompiledModel, row: int, marks: list[Mark], make: tuple[Array, Array]
) -> None:
    seen, floor = make_likelihood(compiled, marks[0])
    for mark in marks[1:]:
        more, base = make_likelihood(compiled, mark)
        seen, floor = (seen + floor) * (more + base) - floor * base, floor * base
    make[0][row], make[1][row] = seen, floor


def joint_marks(
    compiled: CompiledModel, members: dict[str, PartFactors], share: float
) -> dict[Members, Array | None]:
    """Give H_B(t) for every set B of batch members, None standing for ones.

    With R_p = x_p + f_p, the average over the lag of a product over B is the sum over subsets C
    of B of the averages of prod_{C} x times prod_{B - C} f; x is zero at almost every month.
    """
    marked = [name for name, one in members.items() if one.marks is not None]
    span = len(compiled.model.completion)
    average: dict[Members, Array] = {}
    for size in range(2, len(marked) + 1):
        for subset in combinations(marked, size):
            product = np.ones(1)
            for name in subset:
                seen = members[name].make
                assert seen is not None
                product = product * seen[0]
            average[subset] = over_lag(product, compiled.plain_lag(subset[0]), span)
    joint: dict[Members, Array | None] = {}
    for size in range(len(members) + 1):
        for subset in combinations(members, size):
            inside = tuple(name for name in subset if name in marked)
            joint[subset] = _joint(members, inside, average, share)
    return joint


def _joint(
    members: dict[str, PartFactors], inside: Members, average: dict[Members, Array], share: float
) -> Array | None:
    if not inside:
        return None
    if len(inside) == 1:
        marks = members[inside[0]].marks
        assert marks is not None
        return marks[0]
    apart: Array | None = None
    together: Array | None = None
    floors = {}
    for name in inside:
        one = members[name]
        assert one.marks is not None
        assert one.make is not None
        floors[name] = one.make[1][:, None]
        apart = one.marks[0] if apart is None else apart * one.marks[0]
    for size in range(len(inside) + 1):
        for subset in combinations(inside, size):
            rest = [floors[name] for name in inside if name not in subset]
            base = np.prod(rest, axis=0) if rest else np.ones(1)
            if size == 0:
                term = base
            elif size == 1:
                marks = members[subset[0]].marks
                assert marks is not None
                term = base * (marks[0] - floors[subset[0]])
            else:
                term = base * average[subset]
            together = term if together is None else together + term
    assert together is not None
    assert apart is not None
    return share * together + (1 - share) * apart


__all__ = ["PartFactors", "PartMarks", "joint_marks", "make_likelihood", "part_factors"]
