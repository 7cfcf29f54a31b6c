"""The distribution of a log price: a mixture over scales, tails and states, laid on a grid.

Given scales, the log price of an instrument is normal about x·b with variance x·V·x plus that of
the noise; a Student-t noise is a mixture of normals whose precisions are gamma variables, here at
the nodes of a generalised Gauss-Laguerre rule (Golub & Welsch, *Mathematics of Computation* 23
(1969) 221-230). What is not known of the instrument (states of its parts, year of making) makes
several rows x with probabilities. Densities are added on a grid fine enough for the narrowest
component and summed; quantiles are interpolated. Exact to about 0.1 % of the price.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from heelstamp.valuation.least_squares import Array
from heelstamp.valuation.regression import Fit

TAIL_NODES = 10
FINEST = 3.0
"""Points of the grid to a standard deviation of the narrowest component."""
MOST_POINTS = 2000
REACH = 5.0
"""Standard deviations of the widest component that the grid reaches beyond all centres."""
LEAST_ROW = 2e-4
"""Rows of less probability are left out and the others scaled up."""
WIDEST = 0.999
"""Mass of the components that set the reach of the grid."""


@dataclass(frozen=True)
class Distribution:
    """Density of a log price on equal steps.

    Attributes
    ----------
    log_price, mass
        Points of the grid, and the probability at each; it sums to one.
    """

    log_price: Array
    mass: Array

    def quantile(self, level: float) -> float:
        """The log price below which *level* of the probability lies."""
        reached = np.cumsum(self.mass) - self.mass / 2
        return float(np.interp(level, reached, self.log_price))

    def interval(self, level: float) -> tuple[float, float]:
        """The central interval that holds *level*."""
        return self.quantile((1 - level) / 2), self.quantile((1 + level) / 2)

    @property
    def mean(self) -> float:
        """Mean log price."""
        return float(self.mass @ self.log_price)

    @property
    def sd(self) -> float:
        """Standard deviation of the log price."""
        return math.sqrt(float(self.mass @ (self.log_price - self.mean) ** 2))

    def below(self, log_price: float) -> float:
        """The probability below a log price."""
        reached = np.cumsum(self.mass) - self.mass / 2
        return float(np.interp(log_price, self.log_price, reached, left=0.0, right=1.0))


def tail_nodes(tails: float, count: int = TAIL_NODES) -> tuple[Array, Array]:
    """Precisions (about one) and their probabilities for a t with *tails* degrees of freedom.

    Moments of the gamma variable up to order 2 *count* - 1 are exact.
    """
    if math.isinf(tails):
        return np.ones(1), np.ones(1)
    a = tails / 2 - 1
    i = np.arange(count)
    off = np.sqrt((i[1:]) * (i[1:] + a))
    values, vectors = np.linalg.eigh(np.diag(2 * i + a + 1) + np.diag(off, 1) + np.diag(off, -1))
    return np.asarray(values / (tails / 2)), np.asarray(vectors[0] ** 2)


def predict(
    fit: Fit, rows: Array, probabilities: Array | None = None, *, noise: bool = True
) -> Distribution:
    """The distribution of the log price of one instrument.

    Parameters
    ----------
    rows
        What the instrument may be, (s, p).
    probabilities
        Of each row, (s,); equal when None.
    noise
        Whether the scatter of a single sale is in it; without, it is that of the typical price.
    """
    x = np.atleast_2d(np.asarray(rows, dtype=np.float64))
    p = np.full(len(x), 1 / len(x)) if probabilities is None else np.asarray(probabilities)
    kept = p >= min(LEAST_ROW, float(p.max()))
    x, p = x[kept], p[kept] / p[kept].sum()
    centre = fit.mean @ x.T
    variance = np.einsum("si,kij,sj->ks", x, fit.covariance, x, optimize=True)
    share = fit.share[:, None] * p
    if noise:
        precision, chance = tail_nodes(fit.tails)
        scatter = fit.noise[:, None] ** 2 / precision
        variance = variance[:, :, None] + scatter[:, None, :]
        share = share[:, :, None] * chance
        centre = np.broadcast_to(centre[:, :, None], variance.shape)
    return _laid_out(centre.ravel(), np.sqrt(variance).ravel(), share.ravel())


def _laid_out(centre: Array, sd: Array, share: Array) -> Distribution:
    """Add normals on a grid; components alike to a fraction of a step are joined first."""
    counted = np.sort(sd)[::-1]
    held = np.cumsum(share[np.argsort(-sd)])
    widest = float(counted[min(len(sd) - 1, int(np.searchsorted(held, 1 - WIDEST)))])
    low = float((centre - REACH * np.minimum(sd, widest)).min())
    high = float((centre + REACH * np.minimum(sd, widest)).max())
    step = max(float(sd.min()) / FINEST, (high - low) / MOST_POINTS)
    points = np.arange(low, high + step, step)
    # centres to the nearest point with linear shares, widths to 2 %: components become few
    level = np.round(np.log(sd) / 0.02).astype(np.intp)
    density = np.zeros(len(points))
    for one in np.unique(level):
        own = level == one
        width = float(np.sqrt((share[own] @ sd[own] ** 2) / share[own].sum()))
        place = (centre[own] - low) / step
        left = np.floor(place).astype(np.intp)
        rest = place - left
        comb = np.zeros(len(points) + 1)
        np.add.at(comb, left, share[own] * (1 - rest))
        np.add.at(comb, left + 1, share[own] * rest)
        narrow = math.sqrt(max(width**2 - step**2 / 6, width**2 / 2))  # the comb adds step²/6
        reach = math.ceil(8 * narrow / step)
        offsets = np.arange(-reach, reach + 1) * step
        kernel = np.exp(-0.5 * (offsets / narrow) ** 2)
        full = np.convolve(comb[: len(points)], kernel / kernel.sum())
        density += full[reach : reach + len(points)]
    return Distribution(points, density / density.sum())
