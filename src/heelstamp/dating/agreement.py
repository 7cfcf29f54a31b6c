"""Whether dated marks agree more closely than honest lags would let them.

For parts as built the make month is M = T - lag, so the marks of one instrument spread exactly as
far as their lags do, whatever T: the range of the marks is the range of the lags. With independent
lags of cumulative distributions F_i,

P(range <= r) = sum over a of [prod_i (F_i(a + r) - F_i(a - 1)) - prod_i (F_i(a + r) - F_i(a))],

the first product being the chance that all lags lie within a … a + r, the second that all lie
there and none at a (the range of a discrete sample: H. A. David and H. N. Nagaraja, *Order
Statistics*, 3rd ed. 2003, chapter 2, from memory; here for unequal distributions). A small
probability means marks closer together than the lag tables let one expect.

Where it stops: only marks that name one month count, parts that may be of one lot and name the
same month count once, at least three parts are needed; it looks at the spread alone, so marks that
each lie at their own average lag pass; and it can be no better than the lag tables. Close agreement
is ordinary in itself: many honest instruments have it, and it is only ever told beside physical
signs that are unexplained.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from heelstamp.dating.checks import reading_posteriors
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence, Mark
from heelstamp.dating.model import Array
from heelstamp.units import Month

LEAST_PARTS = 3
"""Two marks in one month are too ordinary to tell of (our choice)."""

ONE_LOT = 0.5
"""Share from which on parts of a batch count as one lot."""


@dataclass(frozen=True)
class Agreement:
    """How closely the marks agree.

    Attributes
    ----------
    parts, months
        The parts that count, and the month each of their marks names.
    spread
        Months from the earliest to the latest.
    at_most
        P(honest lags spread as little or less).
    mid_p
        The same with half the probability of exactly this spread: evenly distributed, as far as
        whole months let it be, if the lag tables are true.
    """

    parts: tuple[str, ...]
    months: tuple[Month, ...]
    spread: int
    at_most: float
    mid_p: float


def range_distribution(lags: Sequence[Sequence[float]]) -> Array:
    """P(range of independent lags <= r) for r = 0, 1, … up to the longest lag.

    Parameters
    ----------
    lags
        P(lag = 0, 1, … months) of each part.
    """
    longest = max(len(lag) for lag in lags)
    # F[i, a + 1] = P(lag of i <= a), from a = -1 on, and one beyond the longest
    below = np.ones((len(lags), 2 * longest + 1))
    below[:, 0] = 0
    for row, lag in zip(below, lags, strict=True):
        row[1 : len(lag) + 1] = np.cumsum(lag)
        row[len(lag) + 1 :] = row[len(lag)]
    start = np.arange(longest)
    result = np.empty(longest)
    for r in range(longest):
        upper = below[:, start + r + 1]
        result[r] = (
            np.prod(upper - below[:, start], axis=0) - np.prod(upper - below[:, start + 1], axis=0)
        ).sum()
    return np.minimum(result, 1.0)


def agreement(compiled: CompiledModel, evidence: Evidence) -> Agreement | None:
    """Measure how closely the marks agree; None where fewer than three parts can be compared.

    Of an ambiguous mark the reading that all evidence bears out best counts, which leans towards
    agreement; of two marks on one part the first.
    """
    found: dict[str, Month] = {}
    for place, one in enumerate(evidence):
        if not isinstance(one, Mark) or one.part in found:
            continue
        shares = reading_posteriors(compiled, evidence, [place])[place]
        best = one.readings[int(shares.argmax())]
        if len(best.period) == 1 and len(one.spread) == 1:
            month = best.period.first - one.spread[0][0]
            if not _same_lot(compiled, one.part, month, found):
                found[one.part] = month
    if len(found) < LEAST_PARTS:
        return None
    lags = [compiled.lag_of(part) for part in found]
    spread = max(found.values()) - min(found.values())
    within = range_distribution(lags)
    at_most = float(within[min(spread, len(within) - 1)])
    closer = float(within[min(spread, len(within)) - 1]) if spread > 0 else 0.0
    return Agreement(tuple(found), tuple(found.values()), spread, at_most, (at_most + closer) / 2)


def _same_lot(compiled: CompiledModel, part: str, month: Month, found: Mapping[str, Month]) -> bool:
    batch = compiled.batch_of_part.get(part)
    if batch is None or batch.share < ONE_LOT:
        return False
    return any(found.get(other) == month for other in batch.parts)
