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
from heelstamp.units import Period

Spread = tuple[tuple[int, float], ...]
Lag = tuple[float, ...]


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
    """Windows for single months and for periods, of one lag and one spread.

    Each is a view of all windows, (starts, completion months), of a kernel and, behind it, its
    running sum from the right: a period is the difference of two windows of the second, whatever
    its length.
    """

    built: Array
    period: Array
    later: Array
    months: int
    span: int

    @classmethod
    def make(cls, model: DatingModel, lag: Lag, spread: Spread) -> MarkKernels:
        """Make the three kernels for marks with *spread* on parts with *lag*."""
        reversed_lag = tuple(reversed(lag))
        bases = (
            difference_kernel(model, reversed_lag, -(len(lag) - 1), spread),
            difference_kernel(model, model.gap, model.gap_first, spread),
            later_kernel(model, spread),
        )
        span = len(model.completion)
        built, period, later = (windows(_with_running_sum(base), span) for base in bases)
        return cls(built, period, later, len(model.marks), span)

    def starts(self, period: Period, weight: float, first: int) -> list[tuple[int, float]]:
        """Give (start, weight) pairs whose weighted windows sum to the row of *period*."""
        low = max(period.first - first, 0)
        high = min(period.last - first, self.months - 1)
        if low > high:
            return []
        if low == high:
            return [(self.months - 1 - low, weight)]
        behind = self.months + self.span - 1
        return [(behind + self.months - 1 - high, weight), (behind + self.months - low, -weight)]


def _with_running_sum(kernel: Array) -> Array:
    running = np.concatenate([np.cumsum(kernel[::-1])[::-1], [0.0]])
    return np.concatenate([kernel, running])


def later_scale(model: DatingModel) -> tuple[float, Array]:
    """Give the even share a make month, and (1 - that share's weight) / months left, by t."""
    left = model.marks.last - (np.arange(len(model.completion)) + model.completion.first)
    left = left - model.later_from + 1
    return model.later_anywhere / len(model.marks), (1 - model.later_anywhere) / left


def windows(base: Array, span: int) -> Array:
    """Give the view of all windows of *span* entries of *base*."""
    view: Array = np.lib.stride_tricks.sliding_window_view(base, span)
    return view


def weighted_windows(rows: Array, starts: Index, weights: Array) -> Array:
    """Sum *rows* of windows: starts and weights (n, k) give (n, span)."""
    if starts.shape[1] == 1:
        single: Array = rows[starts[:, 0]] * weights
        return single
    summed: Array = np.matmul(weights[:, None, :], rows[starts])[:, 0, :]
    return summed


def over_lag(make: Array, kernel: Array) -> Array:
    """Average functions of the make month, (n, months), over the lag windows *kernel*: (n, span).

    Only months that are not zero are visited.
    """
    count, months = make.shape
    row, month = np.nonzero(make)
    result = np.zeros((count, kernel.shape[1]))
    if not len(row):
        return result
    number = np.bincount(row, minlength=count)
    width = int(number.max())
    place = np.arange(len(row)) - np.repeat(np.cumsum(number) - number, number)
    starts = np.zeros((count, width), dtype=np.intp)
    weights = np.zeros((count, width))
    starts[row, place] = months - 1 - month
    weights[row, place] = make[row, month]
    # many months a row: in strips, to bound the memory
    for begin in range(0, width, 64):
        strip = slice(begin, begin + 64)
        result += weighted_windows(kernel, starts[:, strip], weights[:, strip])
    return result
