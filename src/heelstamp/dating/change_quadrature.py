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
from heelstamp.dating.model import Array, DatingModel, Feature, Index, LearnedTransition
from heelstamp.units import Period

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
    """

    centres: Array
    widths: Array
    posterior: Array
    transition: LearnedTransition

    @property
    def centre_mean(self) -> float:
        """Posterior mean of the centre, as a month number."""
        return float(self.posterior.sum(axis=1) @ self.centres)

    @property
    def centre_sd(self) -> float:
        """Posterior standard deviation of the centre, in months."""
        away = (self.centres - self.centre_mean) ** 2
        return float(np.sqrt(self.posterior.sum(axis=1) @ away))

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
    """Give the central range of a distribution on evenly spaced points, each standing for a step.

    Mass lies evenly over the step around each point.
    """
    step = float(points[1] - points[0])
    edges = np.append(points - step / 2, points[-1] + step / 2)
    reached = np.append(0.0, np.cumsum(probabilities))
    low, high = np.interp([(1 - level) / 2, (1 + level) / 2], reached, edges)
    return float(low), float(high)


def _months(model: DatingModel) -> Array:
    return np.arange(model.completion.first, model.completion.last + 1, dtype=np.float64)


def _points(span: Period) -> Array:
    return np.arange(span.first, span.last + 1, CENTRE_STEP, dtype=np.float64)


def _change_curves(model: DatingModel, span: Period) -> Array:
    """Give s(t) for every centre and width, (centres x widths, months)."""
    away = _months(model)[None, None, :] - _points(span)[:, None, None]
    curves = logistic(away / WIDTHS[None, :, None])
    return curves.reshape(-1, curves.shape[-1])


def _batch_curves(model: DatingModel, edge: float, span: Period) -> tuple[Array, Array, Array]:
    """Give the ends of every possible batch and P(inside | month), (batches, months)."""
    points = _points(span)
    first, last = np.meshgrid(points, points, indexing="ij")
    possible = (last >= first) & (last - first < LONGEST_PASSING)
    first, last = first[possible], last[possible]
    months = _months(model)
    inside = logistic((months - first[:, None] + 0.5) / edge)
    inside *= 1 - logistic((months - last[:, None] - 0.5) / edge)
    return first, last, inside


def unknown(model: DatingModel, feature: Feature, span: Period) -> tuple[LearnedTransition, ...]:
    """Give the curves of a feature of which nothing is known: averages over the bare grid."""
    if feature.passing is not None:
        _, _, inside = _batch_curves(model, feature.passing[3], span)
        return (_tabulated(model, inside.mean(axis=0) * float(SHARES.mean())),)
    return (_tabulated(model, _change_curves(model, span).mean(axis=0)),) * len(feature.transitions)


def _tabulated(model: DatingModel, curve: Array) -> LearnedTransition:
    """Round a curve to four decimals, as documents keep it, and cut off its constant ends."""
    values = np.round(np.clip(curve, 0.0, 1.0), 4)
    differs = np.nonzero(np.abs(np.diff(values)) > 0)[0]
    begin, end = (int(differs[0]), int(differs[-1]) + 1) if len(differs) else (0, 0)
    return LearnedTransition(
        model.completion.first + begin, tuple(values[begin : end + 1].tolist())
    )


def learn_changes(
    model: DatingModel, feature: Feature, looks: Looks, span: Period
) -> tuple[LearnedChange, ...]:
    """Learn the change-overs of *feature*, each with the others at their mean curves."""
    curves, points, months = _change_curves(model, span), _points(span), _months(model)
    count = len(feature.transitions)
    present = [happened(one, months) for one in unknown(model, feature, span)]
    found: list[LearnedChange] = []
    for _ in range(INNER_SWEEPS if count > 1 else 1):
        found = []
        for place in range(count):
            posterior = _posterior(looks, curves, present, place)
            curve = _tabulated(model, posterior @ curves)
            present[place] = happened(curve, months)
            table = posterior.reshape(len(points), len(WIDTHS))
            found.append(LearnedChange(points, WIDTHS, table, curve))
    return tuple(found)


def _posterior(looks: Looks, curves: Array, present: Sequence[Array], place: int) -> Array:
    """Give P(curve | looks) of the change-over at *place*; looks at earlier variants are silent."""
    log = np.zeros(len(curves))
    for variant in range(place, len(present) + 1):
        known = np.ones(curves.shape[1])
        for other, curve in enumerate(present[: variant + 1]):
            if other != place:
                known = known * (curve if other < variant else 1 - curve)
        for rows in _chunks(looks.variants == variant):
            left = looks.months[rows] * known
            gone = left @ curves.T
            share = gone if variant > place else left.sum(axis=1)[:, None] - gone
            log += np.log(looks.fixed[rows, None] + looks.moved[rows, None] * share).sum(axis=0)
    posterior = np.exp(log - log.max())
    return np.asarray(posterior / posterior.sum(), dtype=np.float64)


def _chunks(chosen: npt.NDArray[np.bool_]) -> Iterator[Index]:
    rows = np.nonzero(chosen)[0]
    for begin in range(0, len(rows), CHUNK):
        yield rows[begin : begin + CHUNK]


def learn_passing(model: DatingModel, edge: float, looks: Looks, span: Period) -> LearnedPassing:
    """Learn a batch that came and went, its edges *edge* months wide."""
    first, last, inside = _batch_curves(model, edge, span)
    log = np.zeros((len(first), len(SHARES)))
    for variant in (0, 1):
        rows = np.nonzero(looks.variants == variant)[0]
        mass = looks.months[rows].sum(axis=1)
        overlaps = looks.months[rows] @ inside.T
        for row, overlap, whole in zip(rows, overlaps, mass, strict=True):
            seen = overlap[:, None] * SHARES
            share = seen if variant else whole - seen
            log += np.log(looks.fixed[row] + looks.moved[row] * share)
    posterior = np.exp(log - log.max())
    posterior /= posterior.sum()
    ends, shares = posterior.sum(axis=1), posterior.sum(axis=0)
    mean = float(shares @ SHARES)
    points = _points(span)
    return LearnedPassing(
        first=float(ends @ first),
        last=float(ends @ last),
        first_90=central(points, _by_point(points, first, ends), LEVEL),
        last_90=central(points, _by_point(points, last, ends), LEVEL),
        share=mean,
        share_sd=float(np.sqrt(shares @ (SHARES - mean) ** 2)),
        transition=_tabulated(model, (posterior @ SHARES) @ inside),
    )


def _by_point(points: Array, ends: Array, probabilities: Array) -> Array:
    return np.array([probabilities[ends == one].sum() for one in points])
