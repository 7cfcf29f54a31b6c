"""The glide of a plucked note: tension falls back after the pluck, and every partial with it.

All partials share one relative course, g exp(−t/τ) above the settled pitch, because a string's
frequencies go with the square root of its tension. The phase of each partial then runs ahead by
2π f ∫ g exp(−t/τ) dt. Each partial keeps a phase and a frequency of its own; g is common, τ is taken
from a grid. A glide is accepted when partials agree on it: their own g scatter far less about the
common one than it is large, and it exceeds `LEAST_CENTS`. Two decay times, as strings that buzz at
first have, are not modelled.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Complexes = NDArray[np.complex128]
Reals = NDArray[np.float64]

TAUS_S = (0.05, 0.075, 0.11, 0.16, 0.23, 0.33, 0.48, 0.7, 1.0)
LEAST_CENTS = 0.25
AGREEMENT = 4.0
COURSE_POINTS = 30
CENT = float(np.log(2.0) / 1200.0)


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


@dataclass(frozen=True, slots=True)
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
    settled_sigma_cents
        What it adds to the uncertainty of the settled pitch.
    accepted
        Whether the partials agree that there is one.
    """

    cents: float
    tau_s: float
    sigma_cents: float
    settled_sigma_cents: float
    accepted: bool

    def ahead_s(self, since_pluck_s: Reals) -> Reals:
        """Give how far every partial runs ahead, in seconds of its own phase."""
        g = 2.0 ** (self.cents / 1200.0) - 1.0
        return np.asarray(-g * self.tau_s * np.exp(-since_pluck_s / self.tau_s))

    def at(self, since_pluck_s: Reals) -> Reals:
        """Give the course in cents above the settled pitch."""
        return np.asarray(self.cents * np.exp(-since_pluck_s / self.tau_s))


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
    phase = np.unwrap(np.angle(z), axis=1)
    ahead = phase / (2.0 * np.pi * hz[:, None])
    # beats of two polarisations move phases by a share of the amplitude, however low the noise
    doubt = (noise[:, None] / np.maximum(np.abs(z), 1e-30)) ** 2 + 0.02**2
    weight = np.where(np.abs(z) > 4.0 * noise[:, None], 1.0 / doubt, 0.0)
    weight *= (2.0 * np.pi * hz[:, None]) ** 2
    best: tuple[float, float, float, float, float] | None = None
    for tau in TAUS_S:
        found = _common(ahead, weight, since_pluck_s, tau)
        if found is not None and (best is None or found[0] > best[0]):
            best = found
    if best is None:
        return Glide(0.0, 0.3, 0.0, 0.0, accepted=False)
    _, g, sigma, slope, tau = best
    cents = float(np.log1p(np.clip(g, -0.1, 0.1)) / CENT)
    sigma_cents = sigma / CENT
    accepted = abs(cents) > LEAST_CENTS and abs(cents) > AGREEMENT * sigma_cents
    return Glide(cents, tau, sigma_cents, abs(slope) * sigma_cents, accepted)


def _common(
    ahead: Reals, weight: Reals, t_s: Reals, tau: float
) -> tuple[float, float, float, float, float] | None:
    """Give gain, g, its uncertainty from the partials' scatter, its pull on frequency, and τ."""
    shape = -tau * np.exp(-t_s / tau)
    total = np.maximum(weight.sum(axis=1), 1e-30)
    middle = (weight * t_s).sum(axis=1) / total
    t = t_s[None, :] - middle[:, None]
    tt = np.maximum((weight * t * t).sum(axis=1), 1e-30)

    def without_line(a: Reals) -> tuple[Reals, Reals]:
        mean = (weight * a).sum(axis=1) / total
        slope = (weight * t * a).sum(axis=1) / tt
        return a - mean[:, None] - slope[:, None] * t, slope

    bent, pull = without_line(np.broadcast_to(shape, ahead.shape))
    rest, _ = without_line(ahead)
    size = (weight * bent * bent).sum(axis=1)
    good = size > 1e-6 * size.max() if len(size) else size > 0
    if good.sum() < 2:
        return None
    own = (weight * bent * rest).sum(axis=1)[good] / size[good]
    share = size[good] / size[good].sum()
    share = np.minimum(share, 0.5)
    share /= share.sum()
    g = float((share * own).sum())
    # one partial that beats must not carry the rest
    far = np.abs(own - np.median(own))
    kept = far <= 4.0 * np.median(far) + 1e-12
    share = share[kept] / share[kept].sum()
    own = own[kept]
    g = float((share * own).sum())
    effective = 1.0 / float((share**2).sum())
    scatter = float(np.sqrt((share * (own - g) ** 2).sum() / max(effective - 1.0, 0.3)))
    gain = float((2.0 * size[good][kept] * own * g - size[good][kept] * g * g).sum())
    return gain, g, scatter, float((share * pull[good][kept]).sum()), tau


def course_of(z: Complexes, hz: Reals, noise: Reals, since_pluck_s: Reals) -> Course:
    """Give pitch over time from the phases of all partials together.

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
    return Course(
        np.array([float(middle[g].mean()) for g in groups]),
        np.array([float(np.log1p(np.clip(rate[g].mean(), -0.5, 0.5)) / CENT) for g in groups]),
    )
