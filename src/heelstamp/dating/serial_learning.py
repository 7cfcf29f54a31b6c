"""The serial curve and its scatter, from instruments dated without their numbers.

Numbers in order are cut into groups of equal count; each group gives one knot, the weighted mean
of its numbers and of the posterior mean months. Weights are P(plate as built) over the posterior
variance plus the scatter. Months that fall back are pooled with their neighbours until they rise
(the pool-adjacent-violators algorithm for isotonic regression: Barlow, Bartholomew, Bremner and
Brunk, Statistical Inference under Order Restrictions, 1972; from memory). Scatter is half the
central 68.27 % of the residuals, less what the instruments' own doubt explains, at least one
month, and found together with the weights in a few rounds.

Limits: between knots the curve is straight, so that a jump of the numbering is smeared over one
group; the outermost knots lie inside the numbers seen, and the curve is continued beyond them at
its last slope; with a prior that already follows an earlier curve, badly dated instruments draw
the new curve towards the old one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heelstamp.dating.model import Array

GROUP = 8
"""Least instruments a knot stands for."""

MOST_KNOTS = 14
"""More knots than this follow the scatter (our choice)."""

LEAST_SCATTER = 1.0
"""Months; below this the month itself is the measure."""

ROUNDS = 5
ONE_SIGMA = 0.6827


@dataclass(frozen=True)
class LearnedSerials:
    """A serial curve.

    Attributes
    ----------
    numbers, months
        Knots, both rising; months as real month numbers.
    scatter
        One standard deviation (central 68.27 %) of an instrument about the curve, in months.
    count
        Instruments that taught.
    """

    numbers: Array
    months: Array
    scatter: float
    count: int


def learn_serials(
    numbers: Array, dates: Array, first_month: int, original: Array
) -> LearnedSerials | None:
    """Learn the curve of one run of numbers.

    Parameters
    ----------
    numbers
        Serial numbers, (n,).
    dates
        P(completion month | everything but the number), (n, months).
    first_month
        Month of the first column.
    original
        P(the plate is as built | everything but the number), (n,).

    Returns
    -------
    LearnedSerials or None
        None where there are too few for two knots.
    """
    count = min(MOST_KNOTS, len(numbers) // GROUP)
    if count < 2:
        return None
    months = first_month + np.arange(dates.shape[1])
    mean = dates @ months
    variance = np.maximum(dates @ (months.astype(float) ** 2) - mean**2, 0.0)
    order = np.lexsort((mean, numbers))
    numbers, mean, variance = numbers[order].astype(float), mean[order], variance[order]
    original = original[order]
    scatter = 4.0
    knots: tuple[Array, Array] = (numbers, mean)
    for _ in range(ROUNDS):
        weights = original / (variance + scatter**2) + 1e-12
        knots = _knots(numbers, mean, weights, count)
        away = mean - curve(knots[0], knots[1], numbers)
        scatter = _scatter(away, variance, original)
    return LearnedSerials(*knots, scatter, len(numbers))


def curve(numbers: Array, months: Array, at: Array) -> Array:
    """The months at other numbers: straight between knots, continued at the end slopes."""
    inside = np.interp(at, numbers, months)
    low = (months[1] - months[0]) / (numbers[1] - numbers[0])
    high = (months[-1] - months[-2]) / (numbers[-1] - numbers[-2])
    inside = np.where(at < numbers[0], months[0] + low * (at - numbers[0]), inside)
    after = months[-1] + high * (at - numbers[-1])
    return np.asarray(np.where(at > numbers[-1], after, inside), dtype=np.float64)


def rising(values: Array, weights: Array) -> Array:
    """The rising sequence nearest to *values* by weighted least squares."""
    blocks: list[list[float]] = []  # mean, weight, length
    for value, weight in zip(values.tolist(), weights.tolist(), strict=True):
        blocks.append([value, weight, 1])
        while len(blocks) > 1 and blocks[-2][0] >= blocks[-1][0]:
            late, early = blocks.pop(), blocks.pop()
            whole = early[1] + late[1]
            mean = (early[0] * early[1] + late[0] * late[1]) / whole
            blocks.append([mean, whole, early[2] + late[2]])
    return np.repeat([one[0] for one in blocks], [int(one[2]) for one in blocks])


def _knots(numbers: Array, mean: Array, weights: Array, count: int) -> tuple[Array, Array]:
    groups = [one for one in np.array_split(np.arange(len(numbers)), count) if len(one)]
    heavy = np.array([weights[one].sum() for one in groups])
    at = np.array([numbers[one] @ weights[one] for one in groups]) / heavy
    months = np.array([mean[one] @ weights[one] for one in groups]) / heavy
    levels = rising(months, heavy)
    # groups that were pooled are one knot, at the middle of their numbers
    keys, place = np.unique(levels, return_inverse=True)
    mass = np.bincount(place, heavy)
    return np.bincount(place, heavy * at) / mass, keys


def _scatter(away: Array, variance: Array, original: Array) -> float:
    order = np.argsort(away)
    share = np.cumsum(original[order] + 1e-12)
    share /= share[-1]
    low, high = np.interp([(1 - ONE_SIGMA) / 2, (1 + ONE_SIGMA) / 2], share, away[order])
    doubt = float(np.average(variance, weights=original + 1e-12))
    return float(np.sqrt(max((high - low) ** 2 / 4 - doubt, LEAST_SCATTER**2)))
