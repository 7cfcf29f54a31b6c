"""Which shops do not fit the others: a Bayes factor of each against what all others say.

With q the joined posterior of all other shops, the looks of a shop are compared as coming from the
same curve, as coming from it with all dates shifted by one amount of the shop's own (normal, sd
`OWN_SHIFT` months), and as coming from any curve at all; features are summed. Over `ASKED` a
shop is asked about. It is never left out by itself: a majority that errs alike flags the honest.
A shop that leaves out most instruments with one variant, or dates towards its own features, is not
found (measured; docs/methods/federation.md).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log

import numpy as np

from heelstamp.dating.federation.joining import (
    doubted_table,
    log_mean,
    log_shifted,
    normalised,
    shift_weights,
)
from heelstamp.dating.model import Array

OWN_SHIFT = 24.0
"""Standard deviation, in months, of a shift of a shop's dates that is looked for (our choice)."""

ASKED = log(100)
"""Log Bayes factor over which a shop is asked about (our choice)."""

MANY = 0.05
"""Share of shops that do not fit over which each shop is given a shift of its own (our choice)."""


@dataclass(frozen=True)
class Misfit:
    """How one shop stands against all others, in nats.

    Attributes
    ----------
    shift, any_curve
        Log Bayes factors of a shift of its own, and of any curve, against the curve of the others.
    """

    shift: float
    any_curve: float

    @property
    def most(self) -> float:
        """The larger of the two."""
        return max(self.shift, self.any_curve)

    @property
    def is_asked(self) -> bool:
        """Whether the shop is asked about."""
        return self.most > ASKED


def misfits(shops: Sequence[Mapping[str, Array]], prior: Array, step: float) -> list[Misfit]:
    """Compare each shop with all others.

    Parameters
    ----------
    shops
        Tables of each shop by feature, (centres, widths), in nats.
    prior
        Weight of each curve, (centres, widths), adding to one.
    step
        Months between centres.

    Returns
    -------
    list of Misfit
        In the order of *shops*. A shop nobody else can be held against fits.
    """
    doubted = [{name: doubted_table(one, prior) for name, one in shop.items()} for shop in shops]
    sums: dict[str, Array] = {}
    counts: dict[str, int] = {}
    for shop in doubted:
        for name, table in shop.items():
            sums[name] = sums.get(name, 0.0) + table
            counts[name] = counts.get(name, 0) + 1
    weights = shift_weights(len(prior), OWN_SHIFT, step)
    found = []
    for tables, own in zip(shops, doubted, strict=True):
        shift = any_curve = 0.0
        for name, table in tables.items():
            if counts[name] > 1:
                others = normalised(np.log(prior) + sums[name] - own[name])
                same = log_mean(table, others)
                shift += log_mean(log_shifted(table, weights), others) - same
                any_curve += log_mean(table, prior) - same
        found.append(Misfit(shift, any_curve))
    return found
