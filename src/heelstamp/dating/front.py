"""Which of several choices nothing else beats: the Pareto front of gains against costs.

A choice is dominated when another is at least as good in every gain and in every cost and better in
one; the front is what remains. No weights, no single score: whoever chooses trades gains and costs
themselves. Figures are compared as given: round those that are only known roughly first.
"""

from __future__ import annotations

import numpy as np

from heelstamp.dating.model import Array


def pareto_front(gains: Array, costs: Array) -> tuple[int, ...]:
    """The positions of the choices that no other dominates, in rising order.

    Parameters
    ----------
    gains
        (n, g): more is better.
    costs
        (n, c): less is better.

    Examples
    --------
    >>> pareto_front(np.array([[3.0], [2.0], [2.0]]), np.array([[2.0], [1.0], [2.0]]))
    (0, 1)
    """
    figures = np.hstack([gains, -np.asarray(costs, dtype=float)])
    kept = []
    for place, own in enumerate(figures):
        as_good = (figures >= own).all(axis=1)
        better = (figures > own).any(axis=1)
        if not (as_good & better).any():
            kept.append(place)
    return tuple(kept)
