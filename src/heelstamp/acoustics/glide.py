"""The glide of a plucked note: tension falls back after the pluck, and every partial with it.

All partials share one relative course, g exp(−t/τ) above the settled pitch, because a string's
frequencies go with the square root of its tension. The phase of each partial then runs ahead by 2π
f ∫ g exp(−t/τ) dt. Each partial keeps a phase and a frequency of its own; g is common, τ is taken
from a grid. A glide is worth a try when it exceeds `LEAST_CENTS` and what the partials' own g
scatter by about it; whether it is one, the partials then say (`partial_set`). Two decay times, as
strings that buzz at first have, are not modelled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Complexes = NDArray[np.complex128]
Reals = NDArray[np.float64]

TAUS_S = (0.05, 0.09, 0.16, 0.3, 0.55, 1.0)
LEAST_CENTS = 0.25
AGREEMENT = 2.0
LATER_S = 1.0
"""Since the pluck: when notes are compared, within the recording and after most of a glide."""
SETTLED_DOUBT, LATER_DOUBT = 1.6, 1.0
"""Times the uncertainty of the fitted course; the first set on simulated notes."""
REJECTED = 0.1
"""Chance left to a glide that the partials did not agree on."""
HOPELESS = 0.4
"""Share of the least glide below which a rough one is not refined."""
STEEPEST_CENTS, FOLLOWED_TURNS, FEWEST = 12.0, 0.3, 3
"""A glide that phases must be able to follow, turns from point to point, least partials."""
COURSE_POINTS = 30
NEWTON_STEPS = 4
CENT = float(np.log(2.0) / 1200.0)


@dataclass(frozen=True, slots=True, eq=False)
class Fall:
    """A course of pitch as a sum of exponentials.

    Attributes
    ----------
    cents
        Shape (k,): of each at the pluck, above the settled pitch.
    rates
        Shape (k,): of each, 1/s.
    """

    cents: Reals
    rates: Reals

    def at(self, since_pluck_s: Reals) -> Reals:
        """Cents above the settled pitch."""
        return np.asarray(np.exp(-np.multiply.outer(since_pluck_s, self.rates)) @ self.cents)

    def slope_at(self, since_pluck_s: float) -> float:
        """Cents per second."""
        return -float(np.exp(-since_pluck_s * self.rates) @ (self.cents * self.rates))

    def ahead_cents_s(self, since_pluck_s: Reals) -> Reals:
        """Its integral from there on, negative: how far pitch has yet to run, in cents × s."""
        falls = np.exp(-np.multiply.outer(since_pluck_s, self.rates))
        return np.asarray(-falls @ (self.cents / self.rates))

    def ahead_s(self, since_pluck_s: Reals) -> Reals:
        """How far every partial runs ahead, in seconds of its own phase."""
        return np.asarray(CENT * self.ahead_cents_s(since_pluck_s))

    def towards(self, other: Fall, share: float) -> Fall:
        """The course a share of the way to another."""
        if share == 1.0:
            return other
        return Fall(
            np.concatenate([(1.0 - share) * self.cents, share * other.cents]),
            np.concatenate([self.rates, other.rates]),
        )

    def time_s(self) -> float:
        """When it has fallen to 1/e."""
        t = np.linspace(0.0, 4.0, 801)
        level = self.at(t) / (self.at(t[:1])[0] or 1.0)
        return float(t[int(np.argmax(level <= math.exp(-1.0)))]) if level.min() < 0.37 else 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """Pitch over time.

    Attributes
    ----------
    t_s
        Shape (k,): time since the pluck.
    cents
        Shape (k,): above the settled pitch, all used partials together.
    """

    t_s: Reals
    cents: Reals


@dataclass(frozen=True, slots=True, eq=False)
class Glide:
    """A common course of pitch.

    Attributes
    ----------
    cents
        At the pluck, above the settled pitch; negative when pitch rises.
    tau_s
        Time in which it falls to 1/e.
    sigma_cents
        Standard uncertainty of `cents`.
    accepted
        Whether the partials agree that there is one.
    worth_a_try
        Whether it is large enough to be put to them.
    fall
        The course itself.
    doubt
        What is not known of it; None when it was not fitted.
    """

    cents: float
    tau_s: float
    sigma_cents: float
    accepted: bool
    worth_a_try: bool = False
    fall: Fall = field(default_factory=lambda: Fall(np.zeros(1), np.ones(1)))
    doubt: Doubt | None = None

    def at(self, since_pluck_s: Reals) -> Reals:
        """The course in cents above the settled pitch."""
        return self.fall.at(since_pluck_s)

    def adds(self, shares: Reals) -> tuple[float, float]:
        """What it adds to the standard uncertainty of a mean of partials, settled and at 1 s.

        Parameters
        ----------
        shares
            Shape (partials,): weight of each partial in the mean; for f1 their sum is near one.
        """
        if self.doubt is None:
            return 0.0, 0.0
        return self.doubt.adds(shares, accepted=self.accepted)


@dataclass(frozen=True, slots=True, eq=False)
class Doubt:
    """What is not known of a course.

    Attributes
    ----------
    coefficients, covariance
        Of its shapes, in cents: shapes (k,) and (k, k).
    pulls
        Shape (partials, k): by how many cents a unit of each shape lowers the settled frequency.
    later
        Shape (k,): each shape 1 s after the pluck.
    """

    coefficients: Reals
    covariance: Reals
    pulls: Reals
    later: Reals

    def adds(self, shares: Reals, *, accepted: bool) -> tuple[float, float]:
        """Standard uncertainties settled and at 1 s; of a rejected course what doubt is left."""
        down = shares @ self.pulls
        both = (-down, shares.sum() * self.later - down)
        if not accepted:
            settled, later = (abs(float(one @ self.coefficients)) for one in both)
            return math.sqrt(REJECTED) * settled, math.sqrt(REJECTED) * later
        settled, later = (math.sqrt(max(float(one @ self.covariance @ one), 0.0)) for one in both)
        return SETTLED_DOUBT * settled, LATER_DOUBT * later


NO_GLIDE = Glide(0.0, 0.3, 0.0, accepted=False)


def find_glide(z: Complexes, hz: Reals, noise: Reals, since_pluck_s: Reals) -> Glide:
    """Find the common glide of partials.

    Parameters
    ----------
    z
        Shape (partials, points), turned so that each partial nearly rests.
    hz
        Shape (partials,): frequencies.
    noise
        Shape (partials,): standard deviation of one point of z.
    since_pluck_s
        Shape (points,).
    """
    # a partial whose phase runs ahead by near half a turn from point to point cannot be followed
    slow = hz * STEEPEST_CENTS * CENT * float(np.diff(since_pluck_s[:2]).sum()) < FOLLOWED_TURNS
    slow |= np.arange(len(hz)) < FEWEST
    z, hz, noise = z[slow], hz[slow], noise[slow]
    phase = np.unwrap(np.angle(z), axis=1)
    ahead = phase / (2.0 * np.pi * hz[:, None])
    # beats of two polarisations move phases by a share of the amplitude, however low the noise
    doubt = (noise[:, None] / np.maximum(np.abs(z), 1e-30)) ** 2 + 0.02**2
    weight = np.where(np.abs(z) > 4.0 * noise[:, None], 1.0 / doubt, 0.0)
    weight *= (2.0 * np.pi * hz[:, None]) ** 2
    lines = _Lines(weight, since_pluck_s)
    rest = lines.without(ahead)
    best: tuple[float, float, float] | None = None
    for tau in TAUS_S:
        g, gain = _amount(lines, rest, since_pluck_s, tau)
        if best is None or gain > best[2]:
            best = g, tau, gain
    if best is None or len(hz) < 2 or abs(best[0]) < HOPELESS * LEAST_CENTS * CENT:
        return NO_GLIDE
    return _refined(lines, rest, since_pluck_s, best[0], best[1])


class _Lines:
    """Takes each partial's own phase and frequency, a straight line in time, out of a course."""

    def __init__(self, weight: Reals, t_s: Reals) -> None:
        self.weight = weight
        self._total = np.maximum(weight.sum(axis=1), 1e-30)
        middle = (weight * t_s).sum(axis=1) / self._total
        self._t = t_s[None, :] - middle[:, None]
        self._tt = np.maximum((weight * self._t * self._t).sum(axis=1), 1e-30)

    def without(self, course: Reals) -> Reals:
        """What is left of a course."""
        mean = (self.weight * course).sum(axis=1) / self._total
        slope = (self.weight * self._t * course).sum(axis=1) / self._tt
        return np.asarray(course - mean[:, None] - slope[:, None] * self._t)


def _amount(lines: _Lines, rest: Reals, t_s: Reals, tau: float) -> tuple[float, float]:
    """The best common g for one τ, and how much it lowers the weighted residual."""
    bent = lines.without(np.broadcast_to(-tau * np.exp(-t_s / tau), rest.shape))
    size = float((lines.weight * bent * bent).sum())
    product = float((lines.weight * bent * rest).sum())
    return product / max(size, 1e-30), product * product / max(size, 1e-30)


def _refined(lines: _Lines, rest: Reals, t_s: Reals, g: float, tau: float) -> Glide:
    """Refine g and τ together; their uncertainty is that of the partials' scatter about them.

    Every partial adds a share to the equations of both; the scatter of those shares gives the
    covariance (the sandwich of clustered data), whatever the noise of single points.
    """
    covariance = np.zeros((2, 2))
    trust = np.ones(len(rest))
    for _ in range(NEWTON_STEPS):
        decay = np.exp(-t_s / tau)
        bent = lines.without(np.broadcast_to(-tau * decay, rest.shape))
        slanted = -g * decay * (1.0 + t_s / tau)
        turned = lines.without(np.broadcast_to(slanted, rest.shape))
        both = np.stack([bent, turned], axis=1)
        heavy = (lines.weight * trust[:, None])[:, None, :] * both
        left = np.matmul(heavy, both.transpose(0, 2, 1))
        right = np.matmul(heavy, (rest - g * bent)[:, :, None])[:, :, 0]
        whole = left.sum(axis=0)
        # a slight hold on τ, where the data leave it open
        whole[1, 1] += (whole[0, 0] + 1e-30) * 1e-6 + 1e-3 * whole[1, 1]
        inverse = np.linalg.inv(whole + np.eye(2) * 1e-30)
        change = inverse @ right.sum(axis=0)
        scores = right - left @ change
        count = len(rest)
        covariance = inverse @ (scores.T @ scores) @ inverse * count / max(count - 2, 1)
        own = right[:, 0] / np.maximum(left[:, 0, 0], 1e-30)
        off = np.abs(own - np.median(own))
        trust = np.minimum(1.0, 3.0 * np.median(off) / np.maximum(off, 1e-30))
        g += min(max(float(change[0]), -0.01), 0.01)
        tau += min(max(float(change[1]), -0.3 * tau), 0.3 * tau)
        tau = min(max(tau, 0.03), 2.0)
    cents = g / CENT
    sigma = math.sqrt(max(float(covariance[0, 0]), 0.0)) / CENT
    worth = abs(cents) > LEAST_CENTS and abs(cents) > AGREEMENT * sigma
    fall = Fall(np.array([cents]), np.array([1.0 / tau]))
    return Glide(cents, tau, sigma, accepted=False, worth_a_try=worth, fall=fall)


def course_of(z: Complexes, hz: Reals, noise: Reals, since_pluck_s: Reals) -> Course:
    """Pitch over time from the phases of all partials together.

    Parameters
    ----------
    z
        Shape (partials, points), turned so that each partial rests when it has settled.
    hz, noise, since_pluck_s
        As for `find_glide`.
    """
    if len(hz) == 0 or z.shape[1] < 4:
        return Course(np.empty(0), np.empty(0))
    ahead = np.unwrap(np.angle(z), axis=1) / (2.0 * np.pi * hz[:, None])
    sure = np.abs(z) > 4.0 * noise[:, None]
    weight = np.where(sure, np.abs(z) ** 2 / noise[:, None] ** 2, 0.0)
    weight = np.minimum(weight, 1e4) * hz[:, None] ** 2
    both = np.minimum(weight[:, 1:], weight[:, :-1])
    total = both.sum(axis=0)
    step = np.diff(since_pluck_s)
    rate = (both * np.diff(ahead, axis=1)).sum(axis=0) / np.maximum(total, 1e-30) / step
    middle = 0.5 * (since_pluck_s[1:] + since_pluck_s[:-1])
    known = total > 0
    groups = [g for g in np.array_split(np.flatnonzero(known), COURSE_POINTS) if len(g)]
    slopes = np.array([float(rate[g].mean()) for g in groups])
    return Course(
        np.array([float(middle[g].mean()) for g in groups]),
        np.asarray(np.log1p(np.clip(slopes, -0.5, 0.5)) / CENT),
    )
