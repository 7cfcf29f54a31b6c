"""When parts were made, seen from completion: kernels for marks, and how to apply them.

A part as built was made M = T - lag; a period replacement M = T + gap; a later one at any month
with a small share, else evenly from T + 73 months to the end of the grid. A mark reading of months
r then has P(r | t) = (1 - e) sum_m P(m | t) sum_j spread(j) w(m + j) + e sum(w) / months. Lag and
gap depend on differences only, so each kernel is one vector read through a sliding window.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heelstamp.dating.model import Array, DatingModel, Index

Spread = tuple[tuple[int, float], ...]
Lag = tuple[float, ...]
MadeIn = tuple[Index, Index, Array]
"""A function of instrument and make month where it is not zero: rows (ascending), grid positions
of the months (ascending within a row), values."""


def difference_kernel(model: DatingModel, pmf: Lag, first: int, spread: Spread) -> Array:
    """Lay P(reading month = completion month + first + i) = pmf[i] out by window start.

    Entry ``k`` of the result belongs to the difference t - r = k - (number of make months - 1) +
    (first completion - first make month), so that a window of G entries that starts at
    ``months - 1 - r`` is the row of reading month r.
    """
    months, span = len(model.marks), len(model.completion)
    offset = model.completion.first - model.marks.first - (months - 1)
    kernel = np.zeros(months + span - 1)
    for shift, share in spread:
        # r = t + first + i + shift  =>  t - r = -(first + i + shift)
        places = -(first + np.arange(len(pmf)) + shift) - offset
        inside = (places >= 0) & (places < len(kernel))
        np.add.at(kernel, places[inside], share * np.asarray(pmf)[inside])
    return kernel


def later_kernel(model: DatingModel, spread: Spread) -> Array:
    """Lay out the step P(r at or after t + later_from), before division by the months left."""
    months, span = len(model.marks), len(model.completion)
    offset = model.completion.first - model.marks.first - (months - 1)
    difference = np.arange(months + span - 1) + offset
    kernel = np.zeros(len(difference))
    for shift, share in spread:
        kernel += share * (difference <= -(model.later_from + shift))
    return kernel


@dataclass(frozen=True)
class MarkKernels:
    """Kernels for single months and for periods, of one lag and one spread.

    ``base`` has one row a timing class (built, period, later) to be read through windows of
    ``span`` months: the kernel and, behind it, its running sum from the right, so that a period
    is the difference of two windows of the second, whatever its length.
    """

    base: Array
    months: int
    span: int

    @classmethod
    def make(cls, model: DatingModel, lag: Lag, spread: Spread) -> MarkKernels:
        """Make the three kernels for marks with *spread* on parts with *lag*."""
        reversed_lag = tuple(reversed(lag))
        base = np.stack(
            [
                _with_running_sum(difference_kernel(model, reversed_lag, -(len(lag) - 1), spread)),
                _with_running_sum(difference_kernel(model, model.gap, model.gap_first, spread)),
                _with_running_sum(later_kernel(model, spread)),
            ]
        )
        return cls(base, len(model.marks), len(model.completion))


def _with_running_sum(kernel: Array) -> Array:
    running = np.concatenate([np.cumsum(kernel[::-1])[::-1], [0.0]])
    return np.concatenate([kernel, running])


def later_scale(model: DatingModel) -> tuple[float, Array]:
    """The even share a make month, and (1 - that share's weight) / months left, by t."""
    left = model.marks.last - (np.arange(len(model.completion)) + model.completion.first)
    left = left - model.later_from + 1
    return model.later_anywhere / len(model.marks), (1 - model.later_anywhere) / left


def windows(base: Array, span: int) -> Array:
    """The view of all windows of *span* entries along the last axis of *base*."""
    view: Array = np.lib.stride_tricks.sliding_window_view(base, span, axis=-1)
    return view


def ragged(row: Index, count: int) -> tuple[Index, Index]:
    """The place of each entry within its row, and the number of entries of each row.

    *row* ascends; *count* is the number of rows.
    """
    number = np.bincount(row, minlength=count)
    return np.arange(len(row)) - np.repeat(np.cumsum(number) - number, number), number


def distinct(keys: Index) -> tuple[Index, Index, Index]:
    """The different *keys*, ascending, where each first stands, and which of them each key is.

    As ``numpy.unique`` has it, which loads masked arrays at its first call.
    """
    order = np.argsort(keys, kind="stable")
    ascending = keys[order]
    new = np.ones(len(keys), dtype=bool)
    new[1:] = ascending[1:] != ascending[:-1]
    which = np.empty(len(keys), dtype=np.intp)
    which[order] = np.cumsum(new) - 1
    return ascending[new], order[new], which


@dataclass(frozen=True)
class LagAverage:
    """Functions of the make month, to be averaged over the lag: windows with weights, by row.

    Only make months at which a function is not zero are kept.
    """

    kernel: Array
    starts: Index
    weights: Array
    number: Index

    STRIP = 64
    """Months of a row taken at a time, to bound the memory."""

    @classmethod
    def make(cls, kernel: Array, made: MadeIn, count: int) -> LagAverage:
        """Lay *made* of *count* instruments out; *kernel* as ``CompiledModel.plain_lag``."""
        row, month, value = made
        place, number = ragged(row, count)
        width = int(number.max()) if len(row) else 0
        starts = np.zeros((count, width), dtype=np.intp)
        weights = np.zeros((count, width))
        starts[row, place] = len(kernel) - 1 - month
        weights[row, place] = value
        return cls(kernel, starts, weights, number)

    def over(self, rows: slice) -> Array:
        """The averages of *rows* by completion month, (n, months)."""
        result = np.zeros((rows.stop - rows.start, self.kernel.shape[1]))
        width = int(self.number[rows].max(initial=0))
        for begin in range(0, width, self.STRIP):
            strip = slice(begin, min(begin + self.STRIP, width))
            some = self.kernel[self.starts[rows, strip]]
            result += np.matmul(self.weights[rows, None, strip], some)[:, 0]
        return result
