"""Change-overs and passing batches learned from a census, as posteriors by quadrature.

A look n at a feature, dated without it (``teaching``), has the likelihood
o_n (1 - e) sum_t p_n(t) P(v_n | t) + (what no curve can move), with P(v | t) the sequential form
of ``changeover``. The posterior of centre and width of a change-over is evaluated on a grid:
centres every two months of *span*, ten widths from 0.7 to 20 months in equal ratios, flat in the
centre and in the logarithm of the width. What is handed on is not the best fit but the curve
averaged over that posterior, E[s(t)], so that little knowledge makes wide curves by itself: with
50 instruments best-fit curves give 90 % ranges that hold 72 to 78 % of the time.

A batch that came and went has a posterior over first month, last month and share, its edges as
wide as they were. Where a feature has several change-overs each is learned with the others at
their mean curves, in sweeps; so are features with each other: the first sweep dates the census
without any of them, the following ones with the curves of the others just learned. The result
therefore does not depend on what the model believed of these features, and learning twice from
one census gives the same curves. The price is that features learned together lend each other
their dates: in the last sweeps an instrument's other features speak with curves to which it has
itself contributed. Method: numerical quadrature on a grid, e.g. Gelman et al., Bayesian Data
Analysis, 3rd ed. 2013, section 3.7 (a logistic with two parameters, computed that way).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from heelstamp.dating.change_quadrature import (
    CENTRE_STEP,
    CurveGrid,
    LearnedChange,
    LearnedPassing,
    Looks,
    learn_changes,
    learn_passing,
)
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence, FeatureSeen
from heelstamp.dating.model import DatingModel, Feature, LearnedTransition
from heelstamp.dating.teaching import (
    FeatureGroup,
    Teaching,
    beside_the_point,
    dated_without,
    dated_without_any,
)
from heelstamp.units import Period

SWEEPS = 3
"""After which nothing moved any more in simulated censuses."""

LEAST_LOOKS = 5
"""Fewer looks at a feature leave its change-overs as they were (our choice)."""


@dataclass(frozen=True)
class LearnedFeature:
    """What was learned of one group of features.

    Attributes
    ----------
    group
        The features.
    looks
        Looks that taught.
    changes
        One a change-over; empty for a passing batch.
    passing
        None for features with change-overs.
    """

    group: FeatureGroup
    looks: int
    changes: tuple[LearnedChange, ...]
    passing: LearnedPassing | None = None

    @property
    def transitions(self) -> tuple[LearnedTransition, ...]:
        """Averaged curves, in the order of the change-overs."""
        if self.passing is not None:
            return (self.passing.transition,)
        return tuple(one.transition for one in self.changes)


def learn_features(
    model: DatingModel,
    census: Sequence[Evidence],
    groups: Sequence[FeatureGroup],
    span: Period,
    *,
    sweeps: int = SWEEPS,
    least: int = LEAST_LOOKS,
    step: float = CENTRE_STEP,
) -> tuple[LearnedFeature, ...]:
    """Learn the change-overs of *groups* from a census.

    Parameters
    ----------
    census
        Everything seen on each instrument that may teach.
    span
        Months in which a change-over can lie: the years of production.
    sweeps
        See the module head.
    least
        Groups seen fewer times are not learned and do not come back.
    step
        Months between the centres that are tried.

    Returns
    -------
    tuple of LearnedFeature
        Groups with at least *least* looks, in the order given.
    """
    teachable = [one for one in groups if _looks(census, one) >= least]
    names = [name for group in teachable for name in group.names]
    learned: dict[FeatureGroup, LearnedFeature] = {}
    grid = CurveGrid(model.completion, span, step)
    present = with_curves(model, {name: grid.unknown(_feature(model, name)) for name in names})
    for sweep in range(sweeps):
        compiled = CompiledModel(present)
        alone = dated_without_any(compiled, census, teachable, names) if sweep == 0 else {}
        for group in teachable:
            teaching = alone.get(group) or dated_without(compiled, census, group)
            feature = _feature(model, group.names[0])
            learned[group] = learn_group(compiled, feature, group, teaching, grid)
        present = with_learned(model, tuple(learned.values()))
    return tuple(learned[group] for group in teachable)


def learn_group(
    compiled: CompiledModel,
    feature: Feature,
    group: FeatureGroup,
    teaching: Teaching,
    grid: CurveGrid,
) -> LearnedFeature:
    """Learn one group from looks that were dated without it.

    Parameters
    ----------
    compiled
        The model at its present curves; those of replacements of the period are taken from it.
    feature
        One of the group, with its number of change-overs or the edges of its passing batch.
    """
    looks = Looks(
        months=teaching.months,
        variants=teaching.variants,
        fixed=beside_the_point(compiled, group.names[0], teaching),
        moved=teaching.built * (1 - feature.error),
    )
    if feature.passing is None:
        changes = learn_changes(grid, feature, looks)
        return LearnedFeature(group, teaching.count, changes)
    passing = learn_passing(grid, feature.passing[3], looks)
    return LearnedFeature(group, teaching.count, (), passing)


def with_learned(model: DatingModel, learned: Sequence[LearnedFeature]) -> DatingModel:
    """*model* with the averaged curves in place of what it had."""
    return with_curves(
        model, {name: one.transitions for one in learned for name in one.group.names}
    )


def with_curves(
    model: DatingModel, curves: Mapping[str, tuple[LearnedTransition, ...]]
) -> DatingModel:
    """*model* with other change-overs of some features, passing batches included."""
    features = tuple(
        replace(one, transitions=curves[one.name], passing=None) if one.name in curves else one
        for one in model.features
    )
    return replace(model, features=features)


def _looks(census: Sequence[Evidence], group: FeatureGroup) -> int:
    return sum(
        isinstance(one, FeatureSeen) and one.feature in group.names
        for evidence in census
        for one in evidence
    )


def _feature(model: DatingModel, name: str) -> Feature:
    return next(one for one in model.features if one.name == name)
