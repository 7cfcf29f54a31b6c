"""Whether ranges hold what they say, and whether probabilities happen as often as they say.

A truth known by its month falls into a posterior by its place, u = P(earlier) + v P(that month)
with v between 0 and 1. For calibrated posteriors u is even. The share of the month's own mass
that lies in the central band stands for the draw of v, so that nothing here is random (the
non-randomised probability integral transform: C. Czado, T. Gneiting and L. Held, Predictive model
assessment for count data, Biometrics 65, 2009, 1254-1261; from memory). Printed ranges end on
whole months and therefore hold at least what they say; both are given.

Probabilities are binned evenly; a bin's frequency has Wilson's interval (E. B. Wilson, Journal of
the American Statistical Association 22, 1927, 209-212). Brier score: G. W. Brier, Monthly Weather
Review 78, 1950, 1-3; expected calibration error: mean of |frequency - probability| over bins,
weighted by their counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from heelstamp.dating.model import Array, Index

BINS = 10
Z_90 = 1.6448536269514722
"""Normal quantile of 0.95, for 90 % intervals of a frequency."""


@dataclass(frozen=True)
class HitRate:
    """How often ranges of one level hold the truth.

    Attributes
    ----------
    exact
        Share of truths in the central band, months counted in parts; equals *level* when
        calibrated.
    printed
        Share of truths in the ranges as printed, which end on whole months.
    low, high
        90 % interval of ``exact`` from the number of instruments alone.
    width
        Median width of the printed ranges, in months.
    """

    level: float
    exact: float
    printed: float
    low: float
    high: float
    width: float
    count: int


@dataclass(frozen=True)
class ReliabilityBin:
    """Events with about the same probability.

    Attributes
    ----------
    probability, frequency
        Mean probability given, share that happened.
    low, high
        90 % interval of the frequency.
    """

    probability: float
    frequency: float
    low: float
    high: float
    count: int


@dataclass(frozen=True)
class Reliability:
    """Bins that are not empty, and two measures over all events."""

    bins: tuple[ReliabilityBin, ...]
    calibration_error: float
    brier: float
    base_rate: float
    count: int


def hit_rates(
    months: Array, truths: Index, levels: Sequence[float] = (0.5, 0.9)
) -> tuple[HitRate, ...]:
    """How often central ranges hold truths.

    Parameters
    ----------
    months
        Posteriors, (n, months).
    truths
        Position of the true month of each, (n,).
    """
    rows = np.arange(len(months))
    reached = np.cumsum(months, axis=1)
    above = reached[rows, truths]
    below = above - months[rows, truths]
    found = []
    for level in levels:
        low, high = (1 - level) / 2, (1 + level) / 2
        inside = np.minimum(above, high) - np.maximum(below, low)
        with np.errstate(invalid="ignore"):
            share = np.clip(inside, 0, None) / (above - below)
        share = np.where(above > below, share, 0.0)
        first = (reached >= low - 1e-12).argmax(axis=1)
        last = (reached >= high - 1e-12).argmax(axis=1)
        exact = float(share.mean())
        least, most = wilson(exact, len(months))
        found.append(
            HitRate(
                level=level,
                exact=exact,
                printed=float(((first <= truths) & (truths <= last)).mean()),
                low=least,
                high=most,
                width=float(np.median(last - first + 1)),
                count=len(months),
            )
        )
    return tuple(found)


def reliability(probabilities: Array, happened: npt.NDArray[np.bool_]) -> Reliability:
    """Compare probabilities with what happened, event by event, (n,) each."""
    bins = []
    error = 0.0
    which = np.minimum((probabilities * BINS).astype(int), BINS - 1)
    for place in range(BINS):
        inside = which == place
        count = int(inside.sum())
        if not count:
            continue
        said, seen = float(probabilities[inside].mean()), float(happened[inside].mean())
        error += abs(said - seen) * count / len(probabilities)
        bins.append(ReliabilityBin(said, seen, *wilson(seen, count), count))
    return Reliability(
        tuple(bins),
        error,
        float(((probabilities - happened) ** 2).mean()),
        float(happened.mean()),
        len(probabilities),
    )


def wilson(share: float, count: int, z: float = Z_90) -> tuple[float, float]:
    """Wilson's score interval of a share seen in *count* trials.

    Examples
    --------
    >>> low, high = wilson(0.5, 100)
    >>> round(low, 3), round(high, 3)
    (0.419, 0.581)
    """
    middle = share + z * z / (2 * count)
    reach = z * np.sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    whole = 1 + z * z / count
    return float((middle - reach) / whole), float((middle + reach) / whole)
