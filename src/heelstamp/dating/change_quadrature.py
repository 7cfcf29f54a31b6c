"""The posterior of one change-over, or of a batch that came and went, on a grid.

A look n has the likelihood fixed_n + moved_n sum_t p_n(t) P(v_n | t); see ``learning``. Grids:
centres every two months of the span, ten widths from 0.7 to 20 months in equal ratios, flat in
both; for a batch first and last month every two months and ten shares, flat. Ranges of centres
and ends are those of the grid: nothing outside of the span can come out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from heelstamp.dating.changeover import happened, logistic
from heelstamp.dating.model import Array, Feature, Index, LearnedTransition
from heelstamp.units import MonthGrid, Period

CENTRE_STEP = 2
"""Months between centres, and between ends of a passing batch."""

WIDTHS: Array = np.geomspace(0.7, 20.0, 10)
"""Widths of a change-over in months."""

SHARES: Array = np.linspace(0.05, 0.95, 10)
"""Shares of instruments that a passing batch may have."""

LONGEST_PASSING = 96
"""Longest passing batch that is considered, in months (our choice)."""

INNER_SWEEPS = 3
"""Of the change-overs of one feature, each with the others at their mean curves."""

LEVEL = 0.90
"""What the ranges of centres and ends hold."""

CHUNK = 2048
"""Looks worked on at a time, to bound the memory."""

FACTORS = 16
"""Likelihoods multiplied before a logarithm is taken: none is below 1e-5 by much."""


@dataclass(frozen=True)
class Looks:
    """Likelihood of each look at a feature, but for its curve.

    Attributes
    ----------
    months
        P(completion month | everything else), (looks, months).
    variants
        Position of the variant seen, (looks,).
    fixed, moved
        P(variant | curve) = fixed + moved * sum over months of P(month) P(variant | month).
    """

    months: Array
    variants: Index
    fixed: Array
    moved: Array


@dataclass(frozen=True)
class LearnedChange:
    """Posterior of one change-over.

    Attributes
    ----------
    centres, widths
        The grid, in months (centres as month numbers).
    posterior
        P(centre, width | census), (centres, widths).
    transition
        The averaged curve.
    within_step
        Variance of the centre within a step of the grid, in months squared; 0 where the posterior
        is much wider than a step.
    """

    centres: Array
    widths: Array
    posterior: Array
    transition: LearnedTransition
    within_step: float = 0.0

    @property
    def centre_mean(self) -> float:
        """Posterior mean of the centre, as a month number."""
        return float(self.posterior.sum(axis=1) @ self.centres)

    @property
    def centre_sd(self) -> float:
        """Posterior standard deviation of the centre, in months."""
        away = (self.centres - self.centre_mean) ** 2
        return float(np.sqrt(self.posterior.sum(axis=1) @ away + self.within_step))

    @property
    def centre_90(self) -> tuple[float, float]:
        """Central 90 % of the centre; mass lies evenly over the step around each grid point."""
        return central(self.centres, self.posterior.sum(axis=1), LEVEL)

    @property
    def width_mean(self) -> float:
        """Posterior mean of the width, in months."""
        return float(self.posterior.sum(axis=0) @ self.widths)


@dataclass(frozen=True)
class LearnedPassing:
    """Posterior of a batch that came and went.

    Attributes
    ----------
    first, last
        Posterior means of its ends, as month numbers; ``first_90`` and ``last_90`` their ranges.
    share, share_sd
        Posterior mean and standard deviation of the share of instruments inside.
    transition
        The averaged share that has it, by month.
    """

    first: float
    last: float
    first_90: tuple[float, float]
    last_90: tuple[float, float]
    share: float
    share_sd: float
    transition: LearnedTransition


def central(points: Array, probabilities: Array, level: float) -> tuple[float, float]:
    """The central range of a distribution on evenly spaced points, each standing for a step.

    Mass lies evenly over the step around each point.
    """
    step = float(points[1] - points[0])
    edges = np.append(points - step / 2, points[-1] + step / 2)
    reached = np.append(0.0, np.cumsum(probabilities))
    low, high = np.interp([(1 - level) / 2, (1 + level) / 2], reached, edges)
    return float(low), float(high)


class CurveGrid:
    """Every curve that a change-over or a batch may have, tabulated once.

    Attributes
    ----------
    points
        Centres, and ends of batches, as month numbers.
    months
        Completion months.
    curves
        s(t) for every centre and width, (centres x widths, months).
    step
        Months between centres.
    prior
        Weight of each: flat in the centre and in the logarithm of the width, of which the first
        and last stand for half a step (trapezoidal rule).
    """

    def __init__(self, grid: MonthGrid, span: Period, step: float = CENTRE_STEP) -> None:
        self.first = grid.first
        self.step = step
        self.months: Array = np.arange(grid.first, grid.last + 1, dtype=np.float64)
        self.points: Array = np.arange(span.first, span.last + 1, step, dtype=np.float64)
        away = self.months[None, None, :] - self.points[:, None, None]
        curves = logistic(away / WIDTHS[None, :, None])
        self.curves: Array = curves.reshape(-1, curves.shape[-1])
        widths = np.ones(len(WIDTHS))
        widths[[0, -1]] = 0.5
        prior = np.tile(widths, len(self.points))
        self.prior: Array = prior / prior.sum()
        self._batches: dict[float, tuple[Array, Array, Array]] = {}

    def batches(self, edge: float) -> tuple[Array, Array, Array]:
        """First and last month of every batch, and P(inside | month), (batches, months)."""
        if edge not in self._batches:
            first, last = np.meshgrid(self.points, self.points, indexing="ij")
            possible = (last >= first) & (last - first < LONGEST_PASSING)
            first, last = first[possible], last[possible]
            inside = logistic((self.months - first[:, None] + 0.5) / edge)
            inside *= 1 - logistic((self.months - last[:, None] - 0.5) / edge)
            self._batches[edge] = first, last, inside
        return self._batches[edge]

    def unknown(self, feature: Feature) -> tuple[LearnedTransition, ...]:
        """The curves of a feature of which nothing is known: averages over the bare grid."""
        if feature.passing is not None:
            _, _, inside = self.batches(feature.passing[3])
            return (self.tabulated(inside.mean(axis=0) * float(SHARES.mean())),)
        return (self.tabulated(self.prior @ self.curves),) * len(feature.transitions)

    def tabulated(self, curve: Array) -> LearnedTransition:
        """Round a curve to four decimals, as documents keep it, and cut off its constant ends."""
        values = np.round(np.clip(curve, 0.0, 1.0), 4)
        differs = np.nonzero(np.abs(np.diff(values)) > 0)[0]
        begin, end = (int(differs[0]), int(differs[-1]) + 1) if len(differs) else (0, 0)
        return LearnedTransition(self.first + begin, tuple(values[begin : end + 1].tolist()))


def learn_changes(grid: CurveGrid, feature: Feature, looks: Looks) -> tuple[LearnedChange, ...]:
    """Learn the change-overs of *feature*, each with the others at their mean curves."""
    count = len(feature.transitions)
    present = [happened(one, grid.months) for one in grid.unknown(feature)]
    found: list[LearnedChange] = []
    for _ in range(INNER_SWEEPS if count > 1 else 1):
        found = []
        for place in range(count):
            posterior = _posterior(looks, grid, present, place)
            curve = grid.tabulated(posterior @ grid.curves)
            present[place] = happened(curve, grid.months)
            table = posterior.reshape(len(grid.points), len(WIDTHS))
            found.append(LearnedChange(grid.points, WIDTHS, table, curve))
    return tuple(found)


def _posterior(looks: Looks, grid: CurveGrid, present: Sequence[Array], place: int) -> Array:
    """P(curve | looks) of the change-over at *place*; looks at earlier variants are silent."""
    log = add_looks(np.log(grid.prior), looks, grid, present, place)
    posterior = np.exp(log - log.max())
    return np.asarray(posterior / posterior.sum(), dtype=np.float64)


def add_looks(
    log: Array, looks: Looks, grid: CurveGrid, present: Sequence[Array], place: int
) -> Array:
    """Add to *log* what each look says of every curve of the change-over at *place*.

    Parameters
    ----------
    log
        One number a curve, (centres x widths,); it is changed in place and given back.
    present
        Curves of all change-overs of the feature, (months,) each; that at *place* is not used.
    """
    for variant in range(place, len(present) + 1):
        known = np.ones(len(grid.months))
        for other, curve in enumerate(present[: variant + 1]):
            if other != place:
                known = known * (curve if other < variant else 1 - curve)
        for rows in _chunks(looks.variants == variant, CHUNK):
            left = looks.months[rows] * known
            gone = left @ grid.curves.T
            share = gone if variant > place else left.sum(axis=1)[:, None] - gone
            log += np.log(looks.fixed[rows, None] + looks.moved[rows, None] * share).sum(axis=0)
    return log


def _chunks(chosen: npt.NDArray[np.bool_], size: int) -> Iterator[Index]:
    rows = np.nonzero(chosen)[0]
    for begin in range(0, len(rows), size):
        yield rows[begin : begin + size]


def learn_passing(grid: CurveGrid, edge: float, looks: Looks) -> LearnedPassing:
    """Learn a batch that came and went, its edges *edge* months wide."""
    first, last, inside = grid.batches(edge)
    log = np.zeros((len(first), len(SHARES)))
    for variant in (0, 1):
        for rows in _chunks(looks.variants == variant, FACTORS):
            mass = looks.months[rows].sum(axis=1)
            overlaps = looks.months[rows] @ inside.T
            product = np.ones_like(log)
            for row, overlap, whole in zip(rows, overlaps, mass, strict=True):
                seen = overlap[:, None] * SHARES
                share = seen if variant else whole - seen
                product *= looks.fixed[row] + looks.moved[row] * share
            log += np.log(product)
    posterior = np.exp(log - log.max())
    posterior /= posterior.sum()
    ends, shares = posterior.sum(axis=1), posterior.sum(axis=0)
    mean = float(shares @ SHARES)
    points = grid.points
    return LearnedPassing(
        first=float(ends @ first),
        last=float(ends @ last),
        first_90=central(points, _by_point(points, first, ends), LEVEL),
        last_90=central(points, _by_point(points, last, ends), LEVEL),
        share=mean,
        share_sd=float(np.sqrt(shares @ (SHARES - mean) ** 2)),
        transition=grid.tabulated((posterior @ SHARES) @ inside),
    )


def _by_point(points: Array, ends: Array, probabilities: Array) -> Array:
    return np.array([probabilities[ends == one].sum() for one in points])
