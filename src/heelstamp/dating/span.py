"""The completion months that can hold a noticeable share of the posterior of some instruments.

For every month a bound on P(all seen, month) is a product of bounds: of each part the most that
any of its tables makes of what was seen on it, of each assembly the most that any class makes of
everything else. Months on either side whose bounds add up to little are left out; how much that
little is against the evidence is checked afterwards, and where it is too much nothing is left out.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heelstamp.dating.model import Array

LN_DROPPED = float(np.log(1e-12))
"""ln of the share of the evidence that may at most be left out."""

LOOSE = 1e-4
"""How far a bound usually lies above what it bounds: left out is this times less of the bound."""

WORTH_IT = 0.75
"""Share of the months above which all are kept."""


def months_that_matter(start: Array, factors: Sequence[Array]) -> tuple[slice, Array]:
    """Give a run of months, and ln of the bound on what lies beyond it, (n,).

    Parameters
    ----------
    start
        P(month) and what bears on it directly, (n, months).
    factors
        Bounds to be multiplied, (n, months) each.
    """
    count, span = start.shape
    bound, scale = start, np.zeros(count)
    for one in factors:
        size = one.max(axis=1, keepdims=True)
        scale += np.log(size[:, 0])
        bound = bound * (one / size)
    whole = slice(0, span), np.full(count, -np.inf)
    below = np.cumsum(bound, axis=1)
    total = below[:, -1]
    if not (total > 0).all() or not np.isfinite(scale).all():
        return whole
    tolerated = (total * (np.exp(LN_DROPPED) * LOOSE))[:, None]
    first = int((below <= tolerated).sum(axis=1).min())
    above = np.cumsum(bound[:, ::-1], axis=1)
    last = span - int((above <= tolerated).sum(axis=1).min())
    if last - first > WORTH_IT * span:
        return whole
    beyond = bound[:, :first].sum(axis=1) + bound[:, last:].sum(axis=1)
    return slice(first, last), np.log(beyond) + scale
