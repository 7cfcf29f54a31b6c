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
    Index,
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
    ``later`` one number a variant and a last one; ``curves`` is ``timed`` without mistakes.
    """

    timed: Array
    later: Array
    curves: Array

    @classmethod
    def make(cls, model: DatingModel, feature: Feature) -> FeatureTables:
        """Tabulate *feature* on the completion grid of *model*."""
        wide = np.arange(len(model.completion) + len(model.gap) - 1)
        wide = wide + model.completion.first + model.gap_first
        curves = variant_curves(feature, wide)
        months = np.arange(len(model.completion)) + model.completion.first
        built = variant_curves(feature, months)
        period = np.array([np.convolve(curve, model.gap[::-1], "valid") for curve in curves])
        return cls._with_mistakes(np.stack([built, period], axis=1), feature)

    def with_error_of(self, feature: Feature) -> FeatureTables:
        """The tables of *feature*, which differs from this one's in its share of mistakes only."""
        return self._with_mistakes(self.curves, feature)

    @classmethod
    def _with_mistakes(cls, curves: Array, feature: Feature) -> FeatureTables:
        def mixed(table: Array) -> Array:
            seen = (1 - feature.error) * table + feature.error / len(feature.variants)
            return np.concatenate([seen, np.ones_like(seen[:1])])

        return cls(mixed(curves), mixed(np.asarray(feature.later)), curves)


class SerialTables:
    """Likelihood of a nominal month by timing class; rows are made when first asked for.

    A normalised kernel of nominal minus completion month, plus a floor.

    Attributes
    ----------
    later
        Of a part fitted later, one number a nominal month.
    """

    def __init__(self, model: DatingModel, scheme: SerialScheme) -> None:
        span = len(model.completion)
        self.later = (1 - scheme.error) * np.asarray(model.prior) + scheme.error / span
        self._share, self._floor = 1 - scheme.error, scheme.error / span
        self._gap = np.asarray(model.gap)[::-1]
        self._first = min(0, model.gap_first)
        width = max(span, span + model.gap_first + len(model.gap) - 1) - self._first
        # of nominal month n the window from span - 1 - n on, by completion month from first on
        away = np.arange(span - 1 - self._first, -width - self._first, -1) - scheme.bias
        away = away / scheme.scale
        power = -(DEGREES_OF_FREEDOM + 1) / 2
        kernel = (1 + away**2 / DEGREES_OF_FREEDOM) ** power
        self._kernel = np.lib.stride_tricks.sliding_window_view(kernel, width)
        self._whole = self._kernel[::-1].sum(axis=0)
        self._wide = slice(model.gap_first - self._first, None)
        self._timed = np.empty((span, 2, span))
        self._made = np.zeros(span, dtype=bool)

    def timed(self, nominal: Index) -> Array:
        """Built, then period replacement: (nominal months, 2, completion months)."""
        for month in set(nominal[~self._made[nominal]].tolist()):
            seen = self._kernel[len(self._made) - 1 - month] / self._whole
            seen = self._share * seen + self._floor
            span = len(self._made)
            self._timed[month, 0] = seen[-self._first :][:span]
            wide = seen[self._wide][: span + len(self._gap) - 1]
            self._timed[month, 1] = np.convolve(wide, self._gap, "valid")
            self._made[month] = True  # last: another thread may read it now
        return np.asarray(self._timed[nominal])
