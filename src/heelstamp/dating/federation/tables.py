"""The table of one change-over: the log likelihood of every curve, given the looks of one shop.

    l(c, w) = sum_n log { o_n (1 - e) sum_t p_n(t) P(v_n | t; c, w) + r_n }

on the grid of `change_quadrature.CurveGrid` with centres every month, without the prior over that
grid, which is added once after the tables of all shops are summed. p_n(t), o_n and r_n are those of
the first sweep of `learning`: dated without any feature that is learned, so that a table depends on
no other shop's curves and the sum over shops is the table of the joined census. Looks at a variant
that is no maker's (``other``) are silent, as in `learning`.

What leaves a shop is rounded to whole steps of a hundredth of a nat below the table's maximum.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log

import numpy as np
import numpy.typing as npt

from heelstamp.dating.change_quadrature import WIDTHS, CurveGrid, LearnedChange, Looks, add_looks
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence
from heelstamp.dating.learning import with_curves
from heelstamp.dating.model import Array, DatingModel, Feature, Index, LearnedTransition
from heelstamp.dating.teaching import (
    FeatureGroup,
    Teaching,
    beside_the_point,
    dated_without,
    dated_without_any,
)
from heelstamp.units import Period

STEP = 0.01
"""Nats a whole number of an exchanged table stands for (our choice): centres move by under .02
month."""

CENTRES_APART = 1
"""Months between the centres of an exchanged table. Two, as one shop's own learning has them, are
coarser than what a hundred shops know: their mean error fell from .51 to .34 month with one, and no
further with a half."""

Steps = npt.NDArray[np.int64]


@dataclass(frozen=True)
class LookTable:
    """What a census says of one change-over.

    Attributes
    ----------
    log
        Log likelihood of each curve, (centres, widths), in nats.
    variants
        Position of the variant of each look that speaks, (looks,).
    instruments
        Position of its instrument in the census, (looks,).
    """

    log: Array
    variants: Index
    instruments: Index


def can_be_exchanged(feature: Feature) -> bool:
    """Whether the tables of several shops add up to that of the joined census.

    Of several change-overs each is learned with the others at their mean curves, which one round
    does not have; passing batches have another grid.
    """
    return feature.passing is None and len(feature.transitions) == 1


def tabulated(
    model: DatingModel,
    census: Sequence[Evidence],
    groups: Sequence[FeatureGroup],
    span: Period,
    *,
    blurred: Mapping[FeatureGroup, float] | None = None,
    held: Mapping[str, tuple[LearnedTransition, ...]] | None = None,
    step: float = CENTRES_APART,
) -> dict[FeatureGroup, LookTable]:
    """Tabulate the change-over of each group over a census.

    Parameters
    ----------
    groups
        Every group that is exchanged, also those nobody looked at: the census is dated without all
        of them.
    span
        Months in which a change-over can lie: the years of production.
    blurred
        Standard deviation in months by which the dates of a group's looks are blurred first.
    held
        Curves by feature to date with instead, each group dated without itself alone: a later
        round. None for the first.
    step
        Months between centres.

    Returns
    -------
    dict
        Of each group that was looked at.

    Raises
    ------
    ValueError
        A group has several change-overs, or a passing batch.
    """
    names = [name for group in groups for name in group.names]
    features = {one.name: one for one in model.features}
    if not all(can_be_exchanged(features[name]) for name in names):
        raise ValueError("a table is of one change-over")
    grid = CurveGrid(model.completion, span, step)
    curves = held or {name: grid.unknown(features[name]) for name in names}
    compiled = CompiledModel(with_curves(model, curves))
    taught = dated_without_any(compiled, census, groups, names) if held is None else {}
    found = {}
    for group in groups:
        teaching = taught[group] if held is None else dated_without(compiled, census, group)
        one = features[group.names[0]]
        speaks = teaching.variants <= len(one.transitions)
        if speaks.any():
            log_ = _log(compiled, one, teaching, grid, (blurred or {}).get(group, 0.0))
            found[group] = LookTable(log_, teaching.variants[speaks], teaching.instruments[speaks])
    return found


def _log(
    compiled: CompiledModel, feature: Feature, teaching: Teaching, grid: CurveGrid, sd: float
) -> Array:
    months = blurred_months(teaching.months, sd) if sd else teaching.months
    looks = Looks(
        months=months,
        variants=teaching.variants,
        fixed=beside_the_point(compiled, feature.name, teaching),
        moved=teaching.built * (1 - feature.error),
    )
    empty = np.zeros(len(grid.prior))
    log_ = add_looks(empty, looks, grid, [np.ones(len(grid.months))], 0)
    return log_.reshape(len(grid.points), len(WIDTHS))


def blurred_months(months: Array, sd: float) -> Array:
    """Blur dates by a normal distribution of *sd* months, (looks, months).

    What would fall beyond either end of the grid is spread over the months inside, so that each
    row keeps its sum.
    """
    away = np.arange(months.shape[-1])
    kernel = np.exp(-0.5 * ((away[:, None] - away[None, :]) / sd) ** 2)
    return np.asarray(months @ (kernel / kernel.sum(axis=1, keepdims=True)), dtype=np.float64)


def most_of_one_look(feature: Feature) -> float:
    """The most by which one look can tell two curves apart, in nats.

    A look's likelihood lies between r and r + o (1 - e), and r is at least e / V, the share of
    mistaken looks spread over V variants: log(1 + V (1 - e) / e). 5.7 with e = .01 and V = 3.
    """
    count = len(feature.variants)
    return log(1 + count * (1 - feature.error) / feature.error)


def in_steps(table: Array) -> Steps:
    """Round a table less its maximum to whole steps; the largest is 0."""
    return np.asarray(np.rint((table - table.max()) / STEP), dtype=np.int64)


def in_nats(steps: Steps) -> Array:
    """Turn whole steps back into nats."""
    return np.asarray(steps * STEP, dtype=np.float64)


def prior_of(grid: CurveGrid) -> Array:
    """Weight of each curve before anything is seen, (centres, widths)."""
    return grid.prior.reshape(len(grid.points), len(WIDTHS))


def learned_from(grid: CurveGrid, posterior: Array) -> LearnedChange:
    """The change-over of a joined posterior, (centres, widths).

    With many looks a posterior may be narrower than the step between centres: the variance of a
    centre that may lie anywhere within a step, step^2 / 12, is added to it.
    """
    curve = grid.tabulated(posterior.ravel() @ grid.curves)
    return LearnedChange(grid.points, WIDTHS, posterior, curve, within_step=grid.step**2 / 12)
