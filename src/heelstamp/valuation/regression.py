"""Bayesian regression of a log price on what is known of each sale, with heavy-tailed noise.

y_n = x_n·b + e_n, e_n Student-t with given degrees of freedom and scale s. Coefficients have normal
priors. Some of them are steps of a random walk, whose common standard deviation is learned (one a
walk); so is s. Priors of these scales are scaled inverse chi-squared, the conjugate family.

Given scales and the weights that stand for the tails (a t is a normal whose precision is a gamma
variable), everything is conjugate and exact. The scales are integrated by quadrature, equal steps
of their logarithms about the most likely values. The weights are found by variational Bayes at
each noise scale: q(b) normal, q(weight) gamma, and the bound on the log evidence (Bishop, *Pattern
Recognition and Machine Learning*, 2006, 10.1-10.2) weighs the nodes of the quadrature. With
infinite degrees of freedom the weights are one and the answer is exact up to the quadrature.

Taken at their best values the weights pass for known, and ranges of coefficients come out too
narrow: a t sale tells (tails + 1) / (tails + 3) of what its weight says (the Fisher information of
its location: Lange, Little and Taylor, "Robust statistical modeling using the t distribution",
JASA 84 (1989) 881-896), and the covariances are taken by that. How often ranges hold is measured
(``benchmarks/price_coverage.py``).

It does not hold where two groups of sales follow two rules: a t has one centre.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from heelstamp.errors import InputError
from heelstamp.valuation.least_squares import Array

Flags = npt.NDArray[np.bool_]

NOISE_NODES, WALK_NODES = 7, 5
"""Nodes of the quadrature over each scale."""

NOISE_SPAN, WALK_SPAN = 3.0, 3.0
"""How many standard deviations of a log scale the nodes reach to either side."""

CLIMB, SETTLE = 40, 12
"""Most steps to the most likely scales, and of the weights at a node."""

SHARED_WEIGHTS_FROM = 400
"""From so many sales on the noise scale is so well known that all nodes share its weights."""

LEAST_NODE = 1e-4
"""Nodes with less than this of the best are dropped."""


@dataclass(frozen=True)
class Scale:
    """Scaled inverse chi-squared prior of a variance: scale as a standard deviation, and dof."""

    typical: float
    dof: float


@dataclass(frozen=True)
class Prior:
    """Priors of the coefficients and scales.

    Attributes
    ----------
    mean, sd
        Of each coefficient, (p,); for a step of a walk *sd* is its length in units of the walk's
        scale (the root of the time it spans).
    walk
        For each coefficient the position of its walk in *walks*, or -1.
    noise, walks
        Priors of the scales.
    tails
        Degrees of freedom of the noise; ``math.inf`` makes it normal.
    """

    mean: Array
    sd: Array
    walk: Sequence[int]
    noise: Scale
    walks: Sequence[Scale]
    tails: float = 5.0


@dataclass(frozen=True)
class Fit:
    """A posterior as a mixture over the nodes of the scales.

    Attributes
    ----------
    share
        Weight of each node, (k,).
    mean, covariance
        Of the coefficients at each node, (k, p) and (k, p, p).
    noise, walks
        Scales at each node, (k,) and (k, walks).
    weights
        How much each sale counts, about one; far below it for a sale that fits badly, (n,).
    surprise
        Residual of each sale over its standard deviation, at the best node, (n,).
    tails
        Degrees of freedom of the noise.
    """

    share: Array
    mean: Array
    covariance: Array
    noise: Array
    walks: Array
    weights: Array
    surprise: Array
    tails: float

    def coefficients(self) -> tuple[Array, Array]:
        """Posterior mean and covariance of the coefficients over all nodes."""
        mean = self.share @ self.mean
        away = self.mean - mean
        spread = np.einsum("k,ki,kj->ij", self.share, away, away)
        return mean, np.einsum("k,kij->ij", self.share, self.covariance) + spread


def regress(design: Array, response: Array, prior: Prior) -> Fit:
    """Compute the posterior.

    Parameters
    ----------
    design
        (n, p); n may be none, which gives the prior.
    response
        Log prices, (n,).

    Raises
    ------
    InputError
        Shapes differ, or a number is not finite.
    """
    x = np.asarray(design, dtype=np.float64)
    y = np.asarray(response, dtype=np.float64)
    if x.ndim != 2 or x.shape != (len(y), len(prior.mean)):
        raise InputError("design, prices and priors differ in size", received=str(x.shape))
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise InputError("a price or a quality is no finite number", remedy="Look for gaps.")
    seen = x.any(axis=0) | (np.asarray(prior.walk) >= 0)
    work = _Work(x[:, seen], y - x @ prior.mean, _some(prior, seen))
    return _with_unseen(work.integrate(work.climb()), prior, seen)


def _some(prior: Prior, which: Flags) -> Prior:
    """The prior of some of the coefficients."""
    walk = [one for one, kept in zip(prior.walk, which, strict=True) if kept]
    return replace(prior, mean=prior.mean[which], sd=prior.sd[which], walk=walk)


def _with_unseen(fit: Fit, prior: Prior, seen: Flags) -> Fit:
    """The fit with the coefficients that no sale tells of: they stay as they were believed."""
    if seen.all():
        return fit
    nodes, count = len(fit.share), len(seen)
    mean = np.tile(prior.mean, (nodes, 1))
    mean[:, seen] = fit.mean
    covariance = np.zeros((nodes, count, count))
    covariance[:, np.arange(count), np.arange(count)] = prior.sd**2
    inside = np.flatnonzero(seen)
    covariance[:, inside[:, None], inside] = fit.covariance
    return replace(fit, mean=mean, covariance=covariance)


@dataclass
class _Centre:
    noise: float
    walks: Array
    weights: Array
    free: float


class _Work:
    def __init__(self, x: Array, y: Array, prior: Prior) -> None:
        self.x, self.y, self.prior = x, y, prior
        self.n, self.p = x.shape
        self.walk = np.asarray(prior.walk, dtype=np.intp)
        self.count = len(prior.walks)
        self.steps = np.array([(self.walk == place).sum() for place in range(self.count)])

    def variances(self, walks: Array) -> Array:
        """Prior variances for scales (..., walks), (..., p)."""
        scales = np.concatenate([walks, np.ones((*walks.shape[:-1], 1))], axis=-1)
        return np.asarray((self.prior.sd * scales[..., self.walk]) ** 2)

    def climb(self) -> _Centre:
        """Find likely scales and weights by expectation and maximisation."""
        prior = self.prior
        walks = np.array([one.typical for one in prior.walks])
        noise, weights = prior.noise.typical, np.ones(self.n)
        free = float(self.n)
        for _ in range(CLIMB):
            gram = (self.x * weights[:, None]).T @ self.x
            precision: Array = gram / noise**2
            precision += np.diag(1 / self.variances(walks))
            inverse: Array = np.asarray(np.linalg.inv(precision), dtype=np.float64)
            mean = inverse @ ((self.x.T @ (weights * self.y)) / noise**2)
            squares = (self.y - self.x @ mean) ** 2 + _leverage(self.x, inverse)
            before = np.append(walks, noise)
            noise = self._noise(float((weights * squares).sum()))
            moved = mean**2 + np.diag(inverse)
            for place, scale in enumerate(prior.walks):
                own = self.walk == place
                total = float((moved[own] / prior.sd[own] ** 2).sum())
                walks[place] = math.sqrt(
                    (total + scale.dof * scale.typical**2) / (own.sum() + scale.dof)
                )
            weights = self._weights(squares / noise**2)
            free = self.n - float((gram * inverse).sum()) / noise**2
            if np.abs(np.log(np.append(walks, noise) / before)).max() < 1e-3:
                break
        return _Centre(noise, walks, weights, max(0.0, free))

    def _noise(self, squares: float) -> float:
        scale = self.prior.noise
        return math.sqrt((squares + scale.dof * scale.typical**2) / (self.n + scale.dof))

    def _weights(self, distance: Array) -> Array:
        tails = self.prior.tails
        if math.isinf(tails):
            return np.ones(len(distance))
        return np.asarray((tails + 1) / (tails + distance))

    def integrate(self, centre: _Centre) -> Fit:
        """Integrate the scales about *centre*."""
        prior = self.prior
        spread = 1 / math.sqrt(2 * (centre.free + prior.noise.dof))
        noise = centre.noise * np.exp(
            spread * np.linspace(-NOISE_SPAN, NOISE_SPAN, NOISE_NODES)
        )  # skewed upwards by the volume element of the logarithm
        weights = self._weights_at(noise, centre)
        axes = [
            centre.walks[place]
            * np.exp(
                np.linspace(-WALK_SPAN, WALK_SPAN, WALK_NODES)
                / math.sqrt(2 * (prior.walks[place].dof + 0.3 * self.steps[place]))
            )
            for place in range(self.count)
        ]
        which, *grids = np.meshgrid(np.arange(len(noise)), *axes, indexing="ij")
        place = which.ravel()
        walks = (
            np.stack([one.ravel() for one in grids], axis=1) if grids else np.empty((len(place), 0))
        )
        return self._mixture(noise[place], walks, place, weights)

    def _weights_at(self, noise: Array, centre: _Centre) -> Array:
        weights = np.repeat(centre.weights[None], len(noise), axis=0)
        if math.isinf(self.prior.tails) or self.n > SHARED_WEIGHTS_FROM:
            return weights
        precision = np.diag(1 / self.variances(centre.walks))
        for _ in range(SETTLE):
            weighed = weights / noise[:, None] ** 2
            gram = self.x.T @ (weighed[:, :, None] * self.x)
            inverse = np.linalg.inv(gram + precision)
            mean = inverse @ ((weighed * self.y) @ self.x)[:, :, None]
            fit = mean[:, :, 0] @ self.x.T
            leverage = np.einsum("kni,ni->kn", self.x @ inverse, self.x)
            before = weights
            weights = self._weights(((self.y - fit) ** 2 + leverage) / noise[:, None] ** 2)
            if not self.n or np.abs(weights - before).max() < 1e-3:
                break
        return weights

    def _mixture(self, noise: Array, walks: Array, place: Array, weights: Array) -> Fit:
        grams = self.x.T @ (weights[:, :, None] * self.x)
        rights = (weights * self.y) @ self.x
        totals = weights @ self.y**2
        variances = self.variances(walks)
        diagonal = np.arange(self.p)
        told = grams[place] / noise[:, None, None] ** 2
        precision = told.copy()
        precision[:, diagonal, diagonal] += 1 / variances
        covariance = np.linalg.inv(precision)
        half = np.linalg.cholesky(precision)
        log_det = 2 * np.log(half[:, diagonal, diagonal]).sum(axis=1)
        right = rights[place] / noise[:, None] ** 2
        mean = (covariance @ right[:, :, None])[:, :, 0]
        log = -0.5 * log_det - 0.5 * np.log(variances).sum(axis=1) + self._scales(noise, walks)
        if math.isinf(self.prior.tails):
            log += -self.n * np.log(noise) - 0.5 * self.n * math.log(2 * math.pi)
            log -= 0.5 * (totals[place] / noise**2 - (right * mean).sum(axis=1))
        else:
            log += self._bound(noise, mean, covariance, variances)
        share = np.exp(log - log.max())
        kept = share > LEAST_NODE
        wide = self._widened(told[kept], variances[kept], covariance[kept])
        best = int(log.argmax())
        counted = weights[place[best]]
        leverage = _leverage(self.x, np.asarray(covariance[best]))
        surprise = (self.y - self.x @ mean[best]) / np.sqrt(noise[best] ** 2 + leverage)
        return Fit(
            share[kept] / share[kept].sum(),
            mean[kept] + self.prior.mean,
            wide,
            noise[kept],
            walks[kept],
            counted,
            surprise,
            self.prior.tails,
        )

    def _widened(self, told: Array, variances: Array, covariance: Array) -> Array:
        """Covariances by what heavy-tailed sales tell, not by what their weights would."""
        tails = self.prior.tails
        if math.isinf(tails):
            return covariance
        precision = told * (tails + 1) / (tails + 3)
        diagonal = np.arange(self.p)
        precision[:, diagonal, diagonal] += 1 / variances
        return np.asarray(np.linalg.inv(precision))

    def _scales(self, noise: Array, walks: Array) -> Array:
        """Log prior densities of the scales, of their logarithms."""
        told = np.zeros(len(noise))
        both = [(self.prior.noise, noise), *zip(self.prior.walks, walks.T, strict=True)]
        for prior, value in both:
            ratio = (prior.typical / value) ** 2
            told += 0.5 * prior.dof * (np.log(ratio) - ratio)
        return told

    def _bound(self, noise: Array, mean: Array, covariance: Array, variances: Array) -> Array:
        """The bound on the log evidence, but for what ``_mixture`` adds."""
        tails = self.prior.tails
        fit = mean @ self.x.T
        if self.n > SHARED_WEIGHTS_FROM:  # small then, and near the same share of the noise
            middle = len(noise) // 2
            shared = _leverage(self.x, np.asarray(covariance[middle])) / noise[middle] ** 2
            leverage = shared * noise[:, None] ** 2
        else:
            leverage = np.einsum("kni,ni->kn", self.x @ covariance, self.x)
        distance = ((self.y - fit) ** 2 + leverage) / noise[:, None] ** 2
        one = (
            math.lgamma((tails + 1) / 2) - math.lgamma(tails / 2) + tails / 2 * math.log(tails / 2)
        )
        each = one - (tails + 1) / 2 * np.log((tails + distance) / 2)
        each -= 0.5 * np.log(2 * math.pi * noise[:, None] ** 2)
        prior = (mean**2 / variances).sum(axis=1)
        diagonal = np.arange(self.p)
        prior += (covariance[:, diagonal, diagonal] / variances).sum(axis=1)
        return np.asarray(each.sum(axis=1) - 0.5 * prior + 0.5 * self.p)


def _leverage(x: Array, inverse: Array) -> Array:
    return np.asarray(((x @ inverse) * x).sum(axis=1))
