"""Tables of several shops joined into the posterior of one change-over.

*Product*: the looks of all shops as of one census. *Contaminated*, the default: each shop's looks
come with probability 1 - `ASTRAY` from the common curve and else from any curve,

    log p(c, w) = log prior + sum_s log { (1 - a) exp l_s(c, w) + a sum prior exp l_s },

so that a shop that errs costs a few nats and no more (G. E. P. Box, Sampling and Bayes' inference
in scientific modelling and robustness, J. R. Stat. Soc. A 143 (1980) 383-430; from memory). It
costs nothing where all are honest. *Shifted*, where many do not fit: each shop has a shift of its
own of all its dates, normal with a standard deviation common to all, which is summed out over
`SHIFTS`; contamination stays.

Joining adds the tables in the order in which they are given: the same tables in the same order give
the same bits, whatever was joined before. To take a shop out is to join the others anew.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heelstamp.dating.model import Array

ASTRAY = 0.05
"""Share of shops that may follow another curve (our choice)."""

SHIFTS: tuple[tuple[float, float], ...] = ((0.0, 0.7), (3.0, 0.15), (6.0, 0.1), (12.0, 0.05))
"""Standard deviations of the shops' own shifts in months, and their prior (our choice)."""

_LOWEST = -700.0
"""Nats below a table's maximum that are not told apart before an exponential is taken."""


def product(tables: Sequence[Array], prior: Array) -> Array:
    """P(curve | all looks) as of one census.

    Parameters
    ----------
    tables
        One a shop, (centres, widths), in nats.
    prior
        Weight of each curve, (centres, widths), adding to one.
    """
    return normalised(_sum(tables, np.log(prior)))


def contaminated(tables: Sequence[Array], prior: Array, *, astray: float = ASTRAY) -> Array:
    """P(curve | all looks) where any shop may follow another curve; see the module head."""
    return normalised(
        _sum([doubted_table(one, prior, astray=astray) for one in tables], np.log(prior))
    )


def doubted_table(table: Array, prior: Array, *, astray: float = ASTRAY) -> Array:
    """A shop's table where it may follow another curve with probability *astray*."""
    any_curve = log_mean(table, prior)
    both = np.logaddexp(np.log1p(-astray) + table, np.log(astray) + any_curve)
    return np.asarray(both, dtype=np.float64)


def shifted(
    tables: Sequence[Sequence[Array]], prior: Array, step: float, *, astray: float = ASTRAY
) -> list[Array]:
    """P(curve | all looks) of each feature where every shop has a shift of its own.

    Parameters
    ----------
    tables
        By feature and shop. The standard deviation of the shifts is common to all features.
    step
        Months between centres.

    Returns
    -------
    list of Array
        One posterior a feature, (centres, widths).
    """
    start, by_sd = np.log(prior), []
    weight = np.array([np.log(share) for _, share in SHIFTS])
    for place, (sd, _) in enumerate(SHIFTS):
        logs = []
        for shops in tables:
            own = [doubted_table(_averaged(one, sd, step), prior, astray=astray) for one in shops]
            logs.append(_sum(own, start))
            weight[place] += _log_sum(logs[-1])
        by_sd.append(logs)
    shares = np.exp(weight - weight.max())
    shares /= shares.sum()
    found = []
    for feature in range(len(tables)):
        each = [normalised(logs[feature]) for logs in by_sd]
        found.append(np.asarray(sum(share * one for share, one in zip(shares, each, strict=True))))
    return found


def _averaged(table: Array, sd: float, step: float) -> Array:
    """A shop's table averaged over a shift of its own."""
    if not sd:
        return table
    return log_shifted(table, shift_weights(len(table), sd, step))


def shift_weights(centres: int, sd: float, step: float) -> Array:
    """Weight of each centre that a shop may see in place of another, rows adding to one."""
    away = step * np.arange(centres)
    weights = np.exp(-0.5 * ((away[:, None] - away[None, :]) / sd) ** 2)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True), dtype=np.float64)


def log_shifted(table: Array, weights: Array) -> Array:
    """Log of the sum over d of weight(d) exp l(c + d, w), (centres, widths)."""
    top = table.max()
    return np.asarray(np.log(weights @ np.exp(np.maximum(table - top, _LOWEST))) + top)


def log_mean(table: Array, weights: Array) -> float:
    """Log of the mean of exp l by weights that add to one."""
    top = float(table.max())
    return float(np.log(np.sum(weights * np.exp(table - top)))) + top


def normalised(log: Array) -> Array:
    """The exponential of *log*, adding to one."""
    shares = np.exp(log - log.max())
    return np.asarray(shares / shares.sum(), dtype=np.float64)


def _log_sum(log: Array) -> float:
    top = float(log.max())
    return float(np.log(np.exp(log - top).sum())) + top


def _sum(tables: Sequence[Array], start: Array) -> Array:
    total = start.copy()
    for one in tables:
        total += one
    return total
