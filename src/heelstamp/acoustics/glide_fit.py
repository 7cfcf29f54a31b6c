"""The course of a glide, fitted to all partials together with the decay and the beats of each.

Every partial is z_p(t) = (Σ c e^{st}) exp(2πi f_p ∫a dt) with two components of its own and one
relative course a(t) common to all. Round by round the components are fitted with the course taken
out, and the course moves by one Gauss–Newton step whose columns are freed of all that small changes
of both components could make as well, so that beats are not counted for the glide, nor a glide for
beats; two are allowed to every partial, for a beat that is left out bends the course.

What a course looks like is not known: it falls as one exponential, or follows the energy of the
string, since tension rises with the square of its slope [legge_1984] and every mode's energy decays
with twice its rate. A pickup hears slopes through combs and a filter, so energies weighted by 1, n
and n² stand beside each other. Shapes weigh by their evidence, with partials allowed a glide of
their own that differs from the common one by an amount nobody knows (variance between studies,
[dersimonian_1986]). The mean of the shapes is the course, and their differences are part of its
covariance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.damped_descent import exponentials, normal, project
from heelstamp.acoustics.damped_fit import DampedFit, Modes, fit
from heelstamp.acoustics.glide import LATER_S, Doubt, Fall
from heelstamp.acoustics.stiff_string import CENT

Complexes = NDArray[np.complex128]
Reals = NDArray[np.float64]

ROUNDS = 10
SETTLES = 2.0
"""Gain of the criterion below which no round follows."""
HOPELESS = 150.0
"""By how much a partial's criterion may be worse with the rough course than with none."""
SHORTER, SHORTEST = 0.3, 0.08
"""Of a step that made it worse; of the last one that is tried."""
OTHER = 0.1
"""Chance left to the shapes alike, whatever their evidence: a course may be none of them."""
LEAST_SIZE = 0.3
OWN_CENTS = np.array([0.003, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0])
"""By how much a partial's own glide may differ from the common one; each is tried."""
POWERS = (0.0, 1.0, 2.0)
"""Of the partial's number, with which its energy counts."""
AMOUNT, BESIDE = 1.0, 1.0
"""Prior standard deviations of an exponential, and of a course of energy beside it, over the
course's present size: shapes do not cancel each other."""
LOG_TIME = 0.7
"""Prior standard deviation of ln τ about the rough one."""
TIME_OWN = 0.3
"""A partial's own departure in ln τ, times the glide, beside that of its amount."""
SLOWEST, FASTEST = 0.08, 15.0
"""Decays in 1/s that count for energy."""
SHORTEST_S, LONGEST_S, LONGEST_STEP = 0.04, 3.0, 0.5
HYPOTHESES = ((0, 1), (0, 1, 2), (0, 1, 3), (0, 1, 4))
"""Shapes together: an exponential with its time constant, alone or beside one energy."""


def fit_glide(
    z: Complexes,
    t_s: Reals,
    since_pluck_s: Reals,
    hum: Complexes | None,
    *,
    correlation: float,
    hz: Reals,
    numbers: Reals,
    rough: Fall,
    without: float = np.inf,
) -> tuple[Fall, Doubt, DampedFit]:
    """Fit the course.

    Parameters
    ----------
    z
        Shape (partials, points), as demodulated.
    t_s, since_pluck_s
        Shape (points,): time from the beginning of the stretch, and from the pluck.
    hum, correlation
        As for `damped_fit.fit`.
    hz, numbers
        Shape (partials,).
    rough
        One exponential to begin with.
    without
        Sum of the partials' criteria with no course; a rough one far worse is not refined.

    Returns
    -------
    Fall, Doubt, DampedFit
        The course, what is not known of it, and the components that go with it, in the order
        of *hz*.
    """
    sound = _Sound(z, t_s, since_pluck_s, hum, correlation, hz, numbers)
    size = max(abs(float(rough.cents[0])), LEAST_SIZE)
    best = sound.step(rough, 1.0 / float(rough.rates[0]), sound.fitted(rough, None), size)
    taken = 1.0
    hopeless = float(best.fitted.criterion.sum()) > without + HOPELESS * len(hz)
    for turn in range(0 if hopeless else ROUNDS):
        trial = best.fall.towards(best.new, taken)
        fitted = sound.fitted(trial, best.fitted if turn != 1 else None)
        gain = float(best.fitted.criterion.sum() - fitted.criterion.sum())
        if gain < 0.0:
            taken *= SHORTER
            if taken < SHORTEST:
                break
            continue
        best = sound.step(trial, best.new_tau_s if taken == 1.0 else best.tau_s, fitted, size)
        taken = 1.0
        if gain < SETTLES:
            break
    return best.fall, best.doubt, best.fitted


@dataclass(frozen=True, slots=True, eq=False)
class _Step:
    """A course with the components that go with it, and the better one that follows."""

    fall: Fall
    tau_s: float
    fitted: DampedFit
    new: Fall
    new_tau_s: float
    doubt: Doubt


@dataclass(frozen=True, slots=True, eq=False)
class _Sound:
    """What is fitted; see `fit_glide`."""

    z: Complexes
    t_s: Reals
    since_s: Reals
    hum: Complexes | None
    correlation: float
    hz: Reals
    numbers: Reals

    def resting(self, fall: Fall) -> Complexes:
        """The partials with a course taken out."""
        return np.asarray(
            self.z * np.exp(-2j * np.pi * self.hz[:, None] * fall.ahead_s(self.since_s))
        )

    def fitted(self, fall: Fall, near: DampedFit | None) -> DampedFit:
        """The components that go with a course."""
        return fit(self.resting(fall), self.t_s, self.hum, correlation=self.correlation, near=near)

    def step(self, fall: Fall, tau_s: float, fitted: DampedFit, size: float) -> _Step:
        """A course, and the one that follows from a linear step."""
        shapes = _Shapes.of(tau_s, fitted.modes, self.numbers, float(self.since_s[0]))
        courses = np.vstack([shapes.ahead_cents_s(self.since_s), fall.ahead_cents_s(self.since_s)])
        information, right, pulls = self._equations(fall, fitted, courses)
        linear = information[:, :5, 5] + right[:, :5]
        weights, means, covariances = _weighed(information[:, :5, :5], linear, size)
        # a step that lowers the residual, whatever the partials' own departures would forgive
        likely, steps, _ = _weighed(information[:, :5, :5], linear, size, OWN_CENTS[:1])
        falls = [shapes.fall(step) for step in steps]
        mean = weights @ means
        off = means - mean
        whole = covariances + off[:, :, None] * off[:, None, :]
        doubted = (1.0 - OTHER) * weights + OTHER / len(weights)
        new = Fall(
            np.concatenate([w * one.cents for w, one in zip(likely, falls, strict=True)]),
            np.concatenate([one.rates for one in falls]),
        )
        doubt = Doubt(
            mean, np.einsum("k,kij->ij", doubted, whole), pulls[:, :5], shapes.at(LATER_S)
        )
        new_tau_s = 1.0 / float(falls[int(likely.argmax())].rates[0])
        return _Step(fall, tau_s, fitted, new, new_tau_s, doubt)

    def _equations(
        self, fall: Fall, fitted: DampedFit, courses: Reals
    ) -> tuple[Reals, Reals, Reals]:
        """Information, right side, and pulls of every partial about the course taken out."""
        c, s = fitted.pair.amplitudes, fitted.pair.exponents
        e = exponentials(s, self.t_s)
        model = np.einsum("pk,pkm->pm", c, e)
        # an amplitude of nought would leave its exponent without a column
        scale = np.where(np.abs(c) > 0, c, 1e-6)
        own = project(np.concatenate([e, scale[:, :, None] * self.t_s * e], axis=1), self.hum)
        columns = (2j * np.pi * CENT * self.hz)[:, None, None] * courses * model[:, None, :]
        columns = project(columns, self.hum)
        rest = project(self.resting(fall) - model, self.hum)
        share = np.linalg.solve(normal(own), np.matmul(own.conj(), columns.transpose(0, 2, 1)))
        left = columns - np.matmul(share.transpose(0, 2, 1), own)
        weight = 2.0 / np.maximum(fitted.noise**2 * self.correlation, 1e-300)
        information = np.matmul(left.conj(), left.transpose(0, 2, 1)).real
        right = np.matmul(left.conj(), rest[:, :, None])[:, :, 0].real
        pulls = share[:, 2].imag / (2.0 * np.pi * CENT * self.hz)[:, None]
        return information * weight[:, None, None], right * weight[:, None], pulls


@dataclass(frozen=True, slots=True, eq=False)
class _Shapes:
    """One exponential, its change with ln τ, and three courses of energy."""

    tau_s: float
    energies: tuple[Fall, ...]

    @classmethod
    def of(cls, tau_s: float, modes: Modes, numbers: Reals, first_s: float) -> _Shapes:
        """Energies by the components' decays, 1 at the first point."""
        n = np.concatenate([numbers, numbers])
        s, c = modes.exponents.T.ravel(), modes.amplitudes.T.ravel()
        kept = (np.abs(c) > 0) & (-s.real < FASTEST)
        rates = 2.0 * np.clip(-s.real[kept], SLOWEST, FASTEST)
        energies = []
        for power in POWERS:
            share = n[kept] ** power * np.abs(c[kept]) ** 2
            share = share / max(float(share.sum()), 1e-300)
            energies.append(Fall(share * np.exp(rates * first_s), rates))
        return cls(tau_s, tuple(energies))

    def ahead_cents_s(self, since_s: Reals) -> Reals:
        """Integrals, shape (5, points)."""
        tau = self.tau_s
        plain = -tau * np.exp(-since_s / tau)
        slower = plain * (1.0 + since_s / tau)
        return np.array([plain, slower, *(one.ahead_cents_s(since_s) for one in self.energies)])

    def at(self, since_s: float) -> Reals:
        """Each at one time, shape (5,)."""
        plain = np.exp(-since_s / self.tau_s)
        energies = [float(one.at(np.array([since_s]))[0]) for one in self.energies]
        return np.array([plain, plain * since_s / self.tau_s, *energies])

    def fall(self, coefficients: Reals) -> Fall:
        """The course of coefficients; the time constant moves, by no more than half."""
        amount = float(coefficients[0])
        step = float(coefficients[1]) / (amount if abs(amount) > 1e-3 else 1e-3)
        step = min(max(step, -LONGEST_STEP), LONGEST_STEP)
        tau = min(max(self.tau_s * float(np.exp(step)), SHORTEST_S), LONGEST_S)
        parts = [Fall(np.array([amount]), np.array([1.0 / tau]))]
        parts += [
            Fall(float(w) * one.cents, one.rates)
            for w, one in zip(coefficients[2:], self.energies, strict=True)
            if w
        ]
        return Fall(
            np.concatenate([part.cents for part in parts]),
            np.concatenate([part.rates for part in parts]),
        )


def _weighed(
    information: Reals, linear: Reals, size: float, own_cents: Reals = OWN_CENTS
) -> tuple[Reals, Reals, Reals]:
    """Weights, means (k, 5) and covariances (k, 5, 5) of the hypotheses about the course."""
    prior = 1.0 / (size * np.array([AMOUNT, LOG_TIME, BESIDE, BESIDE, BESIDE]))
    own = np.array([1.0, TIME_OWN, 1.0, 1.0, 1.0])
    evidence, means, covariances = [], [], []
    for shapes in HYPOTHESES:
        of = list(shapes)
        score, mean, covariance = _marginal(
            information[:, of][:, :, of],
            linear[:, of],
            np.diag(prior[of] ** 2),
            own_cents * own[of, None],
        )
        evidence.append(score)
        whole, spread = np.zeros(5), np.zeros((5, 5))
        whole[of] = mean
        spread[np.ix_(of, of)] = covariance
        means.append(whole)
        covariances.append(spread)
    weights = np.exp(np.array(evidence) - max(evidence))
    return weights / weights.sum(), np.array(means), np.array(covariances)


def _marginal(
    information: Reals, linear: Reals, prior: Reals, own: Reals
) -> tuple[float, Reals, Reals]:
    """Evidence, mean and covariance, over every size of the partials' own departures."""
    size = len(prior)
    between = own.T[:, :, None] ** 2 * np.eye(size) + 1e-12 * np.eye(size)
    between = between[:, None]  # (departures, 1, m, m)
    shrunk = np.linalg.inv(np.eye(size) + information @ between)
    known, pull = shrunk @ information, (shrunk @ linear[:, :, None])[..., 0]
    lost = 0.5 * np.einsum("pk,vpk->v", linear, (between @ pull[..., None])[..., 0])
    lost += 0.5 * np.linalg.slogdet(shrunk)[1].sum(axis=1)
    covariance = np.linalg.inv(known.sum(axis=1) + prior)
    total = pull.sum(axis=1)
    mean = (covariance @ total[:, :, None])[..., 0]
    score = lost + 0.5 * (total * mean).sum(axis=1)
    score += 0.5 * (np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(prior)[1])
    weight = np.exp(score - score.max())
    evidence = float(score.max() + np.log(weight.mean()))
    weight /= weight.sum()
    middle = weight @ mean
    off = mean - middle
    whole = covariance + off[:, :, None] * off[:, None, :]
    return evidence, middle, np.einsum("v,vij->ij", weight, whole)
