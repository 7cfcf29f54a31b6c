"""Change-overs of features: P(variant | completion month), and its averages by timing class.

Sequential form (a continuation-ratio model): variant i is what is left when i change-overs have
happened and the next has not, P(v = i | t) = prod_{j<i} s_j(t) (1 - s_i(t)) with
s_j(t) = logistic((t - c_j) / w_j). Differences of logistics with unequal widths can go negative;
this form cannot. Reference: A. Agresti, Categorical Data Analysis, 3rd ed. 2013, section 8.3.6
(from memory of the chapter's name for the form: continuation-ratio logits).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from heelstamp.dating.model import (
    Array,
    DatingModel,
    Feature,
    LearnedTransition,
    SerialScheme,
    Transition,
)

DEGREES_OF_FREEDOM = 3
"""Of the serial kernel: heavy tails, finite variance."""


def logistic(x: npt.NDArray[np.floating]) -> Array:
    """1 / (1 + exp(-x)) without overflow."""
    return np.asarray(0.5 * (1 + np.tanh(0.5 * x)), dtype=np.float64)


def happened(
    change: Transition | LearnedTransition, months: npt.NDArray[np.int64] | Array
) -> Array:
    """P(the change-over had happened | completed in month), (months,)."""
    if isinstance(change, Transition):
        return logistic((months - change.centre) / change.width)
    place = np.clip(np.asarray(months) - change.first, 0, len(change.values) - 1)
    return np.asarray(change.values, dtype=np.float64)[place.astype(np.intp)]


def variant_curves(feature: Feature, months: npt.NDArray[np.int64]) -> Array:
    """P(variant | completed in month), shape (variants, months), for parts as built."""
    curves = np.zeros((len(feature.variants), len(months)))
    if feature.passing is not None:
        first, last, share, width = feature.passing
        inside = logistic((months - first) / width) * (1 - logistic((months - last) / width))
        curves[1] = share * inside
        curves[0] = 1 - curves[1]
        return curves
    left = np.ones(len(months))
    for index, change in enumerate(feature.transitions):
        done = happened(change, months)
        curves[index] = left * (1 - done)
        left = left * done
    curves[len(feature.transitions)] = left
    return curves


@dataclass(frozen=True)
class FeatureTables:
    """Likelihood of each variant by timing class, one row more (ones) for *not observed*.

    ``timed`` has shape (variants + 1, 2, completion months): built, then period replacement;
    ``later`` one number a variant and a last one.
    """

    timed: Array
    later: Array

    @classmethod
    def make(cls, model: DatingModel, feature: Feature) -> FeatureTables:
        """Tabulate *feature* on the completion grid of *model*."""
        count = len(feature.variants)
        wide = np.arange(len(model.completion) + len(model.gap) - 1)
        wide = wide + model.completion.first + model.gap_first
        curves = variant_curves(feature, wide)
        months = np.arange(len(model.completion)) + model.completion.first
        built = variant_curves(feature, months)
        period = np.array([np.convolve(curve, model.gap[::-1], "valid") for curve in curves])

        def mixed(table: Array) -> Array:
            seen = (1 - feature.error) * table + feature.error / count
            return np.concatenate([seen, np.ones_like(seen[:1])])

        timed = np.stack([mixed(built), mixed(period)], axis=1)
        return cls(timed, mixed(np.asarray(feature.later)))


@dataclass(frozen=True)
class SerialTables:
    """Likelihood of a nominal month by timing class, as ``FeatureTables``; rows are months.

    The last row and number are ones, for *not observed*.
    """

    timed: Array
    later: Array

    @classmethod
    def make(cls, model: DatingModel, scheme: SerialScheme) -> SerialTables:
        """Tabulate *scheme*: normalised kernel of nominal minus completion month, plus floor."""
        span = len(model.completion)
        nominal = np.arange(span)[:, None] - scheme.bias
        wide = np.arange(model.gap_first, span + model.gap_first + len(model.gap) - 1)
        inside = np.concatenate([wide, np.arange(span)])
        away = (nominal - inside[None, :]) / scheme.scale
        kernel = (1 + away**2 / DEGREES_OF_FREEDOM) ** (-(DEGREES_OF_FREEDOM + 1) / 2)
        kernel = (1 - scheme.error) * kernel / kernel.sum(axis=0) + scheme.error / span
        # row of completion month t: P(gap) from its own place on, one gemm for all
        band = np.zeros((len(wide), span))
        place = np.arange(span)
        for gap, share in enumerate(model.gap):
            band[place + gap, place] = share
        period = kernel[:, : len(wide)] @ band
        built = kernel[:, len(wide) :]
        later = (1 - scheme.error) * np.asarray(model.prior) + scheme.error / span
        timed = np.concatenate([np.stack([built, period], axis=1), np.ones((1, 2, span))])
        return cls(timed, np.append(later, 1.0))
