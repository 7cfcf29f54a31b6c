"""Features that nobody can put in afterwards, held against the date that the rest gives.

The floor of every observation lets enough agreeing marks outweigh a feature of any other time, as
if it had been misread. For one feature that is right; two at once, on parts that are taken to be as
built or whose own marks name that time, are no misreading of one look, and no owner can have added
them: then the marks and these features do not belong together, whatever the posterior says.
"""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from heelstamp.dating.changeover import variant_curves
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence, FeatureSeen, Mark
from heelstamp.dating.model import Timing
from heelstamp.dating.posterior import Posterior
from heelstamp.dating.summary import central_interval
from heelstamp.units import Period

UNFIT = 0.02
"""Share of instruments completed in a month with this variant, below which it is not of then."""

MARKED_BEFORE = 24
"""Months before the date that a mark of a part as built may name (longest usual lag)."""

AS_BUILT = 0.5
"""Probability of being as built from which on a part's features have to fit the date."""

LEVEL = 0.9


def features_at_odds(
    compiled: CompiledModel, evidence: Evidence, posterior: Posterior, fixed: Collection[str]
) -> tuple[str, ...]:
    """Name the features, of those in *fixed*, that do not belong to the date; each once.

    A feature is at odds where its part is taken to be as built, or carries a mark that names the
    date or up to ``MARKED_BEFORE`` months before, and no month of the 90 % range knew
    the variant with a share of ``UNFIT`` or more. All bounds are choices.

    Parameters
    ----------
    posterior
        That of *evidence*.
    fixed
        Names of features of the model that cannot be changed afterwards.
    """
    span = central_interval(posterior.months[0], compiled.model.completion, LEVEL)
    months = np.arange(span.first, span.last + 1)
    time = Period(span.first - MARKED_BEFORE, span.last)
    marked = {
        one.part
        for one in evidence
        if isinstance(one, Mark)
        and any(r.period.first <= time.last and time.first <= r.period.last for r in one.readings)
    }
    found = []
    for one in evidence:
        if not isinstance(one, FeatureSeen) or one.feature not in fixed:
            continue
        feature = next(f for f in compiled.model.features if f.name == one.feature)
        part = compiled.model.part(feature.part)
        built = [timing is Timing.BUILT for timing in part.timing]
        if part.name not in marked and posterior.states[part.name][0][built].sum() < AS_BUILT:
            continue
        share = variant_curves(feature, months)[feature.variant(one.variant)]
        if float(share.max()) < UNFIT:
            found.append(one.feature)
    return tuple(dict.fromkeys(found))
