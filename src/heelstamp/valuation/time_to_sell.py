"""Weeks until an instrument is sold, along a path of asking prices: a hazard with reservations.

In week k after the first offer an unsold piece is sold with chance 1 - exp(-exp(eta_k)) (grouped
proportional hazards: Prentice and Gloeckler 1978, from memory), where

    eta_k = a + log(2 Phi(-(log p_k - m - s z) / sigma)) + f [k < 2] + g log((k + 1) / 4)
              + c size + b1 sin(2 pi week / 52) + b2 cos(2 pi week / 52)

m and tau are the middle and the standard deviation of the log market value as it was known on the
day of the first offer, s^2 = tau^2 + nu^2, and z ~ N(0, 1) is one piece's own: what nobody recorded
of its appeal. The price term is the share of buyers who would pay p. Unsold pieces count: they are
censored at their last week. All priors are common practice without a source; where a shop has no
sale of its own, they speak alone.

The posterior is sampled by importance: mode by BFGS, Hessian by differences, draws of a Student-t
there, weighted and resampled (Gelman et al., Bayesian Data Analysis, 3rd ed., from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]

NAMES = ("a", "log_sigma", "f", "g", "c", "b1", "b2", "log_nu")
PRIOR_MEAN: Real = np.array(
    [np.log(np.log(2.0) / 8.0), np.log(0.18), 0.3, 0.0, -0.15, 0.0, 0.0, np.log(0.08)]
)
"""Half sold within 8 weeks at the value; near it, 10 % dearer is about a third fewer sales; a rush
in the first two weeks; dear pieces have fewer buyers (common practice, no source)."""
PRIOR_SD: Real = np.array([0.7, 0.4, 0.4, 0.25, 0.25, 0.15, 0.15, 0.5])
RUSH_WEEKS, TREND_FROM = 2, 4.0
YEAR_WEEKS = 52.0
NODES = 9
"""Of the Gauss-Hermite rule over z."""
DRAWS, FREEDOM, SCALE = 2_000, 7.0, 1.1
FEW = 200
"""Effective number of draws under which an answer is called approximate."""
MOST_STEPS, FLAT = 60, 1e-3
"""Steps to the mode, and the slope in standard deviations of the prior that counts as none: the
draws are weighted, so that the mode needs no more."""
HIGHEST = 30.0
"""Bound of eta: a chance within 1e-13 of one."""
HORIZON = 520
"""Weeks beyond which nothing is said."""


@dataclass(frozen=True)
class Listing:
    """A piece that was offered.

    Attributes
    ----------
    log_prices
        Log of the asking price in each week on offer, the first week first; weeks of a hold are
        left out.
    value, doubt
        Middle and standard deviation of its log market value on the day of the first offer.
    week
        Of the year, 0 to 52, when it was first offered.
    sold
        Whether it was sold in the last of those weeks; unsold until its end without.
    paid
        Log of the price agreed with the buyer; None where it is not sold, or not told.
    """

    log_prices: tuple[float, ...]
    value: float
    doubt: float
    week: float
    sold: bool
    paid: float | None = None


@dataclass(frozen=True)
class Learned:
    """What listings taught: draws of the parameters.

    Attributes
    ----------
    draws
        Of shape (`DRAWS`, 8), in the order of `NAMES`.
    usual
        Log value that counts as the shop's usual one; NaN without listings.
    effective
        Effective number of draws.
    sold, unsold
        Listings that taught.
    """

    draws: Real
    usual: float
    effective: float
    sold: int
    unsold: int

    @property
    def approximate(self) -> bool:
        """Whether so few draws carry the weight that figures are approximate."""
        return self.effective < FEW


def learn(listings: Sequence[Listing], rng: np.random.Generator) -> Learned:
    """Learn from a shop's listings; without any, draws of the priors.

    Raises
    ------
    ValueError
        A listing without a week, or with a number that is not finite.
    """
    for one in listings:
        if not one.log_prices or not np.isfinite([*one.log_prices, one.value, one.doubt]).all():
            raise ValueError("a listing has weeks, and prices and a value that are finite")
    size = len(NAMES)
    if not listings:
        drawn = PRIOR_MEAN + PRIOR_SD * rng.standard_normal((DRAWS, size))
        return Learned(drawn, float("nan"), float(DRAWS), 0, 0)
    usual = float(np.median([one.value for one in listings]))

    def objective(unit: Real) -> float:
        theta = (PRIOR_MEAN + PRIOR_SD * unit)[None, :]
        return float(0.5 * unit @ unit - log_likelihood(theta, listings, usual)[0])

    top = _lowest(objective, np.zeros(size))
    spread, turn = np.linalg.eigh(_hessian(objective, top))
    root = turn / np.sqrt(np.clip(spread, 0.25, None))
    normal = rng.standard_normal((DRAWS, size))
    chi = rng.chisquare(FREEDOM, DRAWS) / FREEDOM
    steps = SCALE * normal / np.sqrt(chi)[:, None]
    units = top + steps @ root.T
    proposal = -0.5 * (FREEDOM + size) * np.log1p((steps / SCALE) ** 2 @ np.ones(size) / FREEDOM)
    target = log_likelihood(PRIOR_MEAN + PRIOR_SD * units, listings, usual)
    target -= 0.5 * np.einsum("ij,ij->i", units, units)
    weights = normalised(target - proposal)
    kept = units[_resampled(weights, rng)]
    sold = sum(one.sold for one in listings)
    return Learned(
        PRIOR_MEAN + PRIOR_SD * kept,
        usual,
        float(1.0 / np.sum(weights**2)),
        sold,
        len(listings) - sold,
    )


class _Laid:
    """Listings laid end to end: one row a run of weeks at one price, one row a week."""

    def __init__(self, listings: Sequence[Listing], usual: float) -> None:
        runs = [(i, *run) for i, one in enumerate(listings) for run in _runs(one.log_prices)]
        self.of = np.array([i for i, *_ in runs])
        self.above = np.array([price - listings[i].value for i, price, *_ in runs])
        self.doubt = np.array([listings[i].doubt for i, *_ in runs])
        self.size = np.array([one.value - usual for one in listings])
        self.k = np.concatenate([np.arange(first, end) for *_, first, end in runs]).astype(float)
        lengths = [end - first for *_, first, end in runs]
        self.year = np.repeat([listings[i].week for i, *_ in runs], lengths) + self.k
        self.starts = np.concatenate([[0], np.cumsum(lengths)[:-1]])
        self.first_run = np.searchsorted(self.of, np.arange(len(listings)))
        last_run = np.concatenate([self.first_run[1:], [len(runs)]]) - 1
        sold = np.array([one.sold for one in listings])
        self.last_run = last_run[sold]
        self.last_week = (self.starts + np.array(lengths) - 1)[self.last_run]
        self.sold = np.nonzero(sold)[0]


AT_ONCE = 40
"""Rows of parameters that are worked on together, to bound the memory."""


def log_likelihood(theta: Real, listings: Sequence[Listing], usual: float) -> Real:
    """Log likelihood of listings, for each row of parameters; shape (rows,)."""
    laid = _Laid(listings, usual)
    parts = [_likelihood(theta[at : at + AT_ONCE], laid) for at in range(0, len(theta), AT_ONCE)]
    return np.concatenate(parts)


def _likelihood(theta: Real, laid: _Laid) -> Real:
    nodes, shares = np.polynomial.hermite_e.hermegauss(NODES)
    shares = shares / shares.sum()
    late = weeks_term(theta, laid.k, laid.year)
    chances = np.exp(np.minimum(late, HIGHEST))
    chances[:, laid.last_week] = 0.0  # what came in that week is told apart
    summed = np.add.reduceat(chances, laid.starts, axis=1)
    base = theta[:, :1] + theta[:, 4:5] * laid.size
    ready = base[:, laid.of, None] + ready_to_pay(
        theta[:, :, None], laid.above[None, :, None], laid.doubt[None, :, None], nodes
    )
    gone = np.exp(np.minimum(ready, HIGHEST)) * summed[:, :, None]
    by_node = -np.add.reduceat(gone, laid.first_run, axis=1)
    last = ready[:, laid.last_run] + late[:, laid.last_week, None]
    by_node[:, laid.sold] += np.log(-np.expm1(-np.exp(np.clip(last, -10 * HIGHEST, HIGHEST))))
    most = by_node.max(axis=2)
    found: Real = (most + np.log(np.exp(by_node - most[:, :, None]) @ shares)).sum(axis=1)
    return found


def ready_to_pay(theta: Real, above: Real, doubt: Real, z: Real) -> Real:
    """Log of twice the share of buyers who would pay, the price being *above* the log value.

    ``theta`` has its parameters along the second axis; the others spread as arrays do.
    """
    sigma = np.exp(theta[:, 1])[:, None]
    s = np.sqrt(doubt**2 + np.exp(2.0 * theta[:, 7])[:, None])
    found: Real = log_erfc((above - s * z) / sigma / np.sqrt(2.0))
    return found


_ERFC = (
    *(-1.26551223, 1.00002368, 0.37409196, 0.09678418, -0.18628806),
    *(0.27886807, -1.13520398, 1.48851587, -0.82215223, 0.17087277),
)


def log_erfc(x: Real) -> Real:
    """Log of the complementary error function, which is twice the normal's upper tail.

    Relative error of erfc below 1.2e-7 everywhere (Press et al., Numerical Recipes in C, 2nd ed.,
    6.2; coefficients from memory, checked against scipy); in logs it never underflows.
    """
    t = 1.0 / (1.0 + 0.5 * np.abs(x))
    series = np.zeros_like(t)
    for one in reversed(_ERFC):
        series = series * t + one
    upper = np.log(t) - x * x + series
    found: Real = np.where(x >= 0, upper, np.log(2.0 - np.exp(np.minimum(upper, 0.0))))
    return found


def weeks_term(theta: Real, k: Real, year: Real) -> Real:
    """Terms of the weeks alone, *k* from the first offer and of the *year*; (rows, weeks)."""
    turn = 2.0 * np.pi * year / YEAR_WEEKS
    found: Real = (
        theta[:, 2:3] * (k < RUSH_WEEKS)
        + theta[:, 3:4] * np.log((k + 1.0) / TREND_FROM)
        + theta[:, 5:6] * np.sin(turn)
        + theta[:, 6:7] * np.cos(turn)
    )
    return found


def _runs(prices: Sequence[float]) -> list[tuple[float, int, int]]:
    """Weeks of one price: the price, the first of them, and the one after the last."""
    found: list[tuple[float, int, int]] = []
    for week, price in enumerate(prices):
        if found and found[-1][0] == price:
            found[-1] = (price, found[-1][1], week + 1)
        else:
            found.append((price, week, week + 1))
    return found


def _lowest(objective: Callable[[Real], float], start: Real, step: float = 1e-4) -> Real:
    """Find a lowest point: BFGS with gradients by differences and halved steps.

    Nocedal and Wright, Numerical Optimization, 2nd ed., algorithm 6.1, from memory.
    """
    size = len(start)
    steps = step * np.eye(size)

    def slope(at: Real) -> Real:
        return np.array([(objective(at + s) - objective(at - s)) / (2 * step) for s in steps])

    at, low, down, inverse = start, objective(start), slope(start), np.eye(size)
    for _ in range(MOST_STEPS):
        if np.abs(down).max() < FLAT:
            break
        way = -inverse @ down
        length, tried, value = 1.0, at, np.inf
        while length > 1e-6:
            tried = at + length * way
            value = objective(tried)
            if value <= low + 1e-4 * length * (way @ down):
                break
            length /= 2
        if value >= low:
            break
        new = slope(tried)
        moved, turned = tried - at, new - down
        along = moved @ turned
        if along > 1e-12:
            part = np.eye(size) - np.outer(moved, turned) / along
            inverse = part @ inverse @ part.T + np.outer(moved, moved) / along
        at, low, down = tried, value, new
    return at


def _hessian(objective: Callable[[Real], float], at: Real, step: float = 0.05) -> Real:
    size = len(at)
    steps = step * np.eye(size)
    found = np.empty((size, size))
    for i in range(size):
        for j in range(i, size):
            corners = [
                objective(at + one * steps[i] + other * steps[j])
                for one, other in ((1, 1), (1, -1), (-1, 1), (-1, -1))
            ]
            value = (corners[0] - corners[1] - corners[2] + corners[3]) / (4 * step**2)
            found[i, j] = found[j, i] = value
    return found


def normalised(log: Real) -> Real:
    """Turn logs of weights into weights that sum to one.

    Raises
    ------
    ValueError
        One is not finite: it would take all others with it in silence.
    """
    if not np.isfinite(log).all():
        raise ValueError("a weight that is not finite")
    weights = np.exp(log - log.max())
    found: Real = weights / weights.sum()
    return found


def _resampled(weights: Real, rng: np.random.Generator) -> NDArray[np.int64]:
    """Draw by systematic resampling: as many indices as weights."""
    size = len(weights)
    places = (rng.random() + np.arange(size)) / size
    found = np.searchsorted(np.cumsum(weights), places).clip(0, size - 1)
    return found.astype(np.int64)


@dataclass(frozen=True)
class Foreseen:
    """When a piece may be sold.

    Attributes
    ----------
    sold_by
        Chance that it is sold by the end of each week from now on, the first week first.
    """

    sold_by: Real

    def chance(self, weeks: int) -> float:
        """Chance of a sale within so many weeks."""
        return float(self.sold_by[weeks - 1])

    def weeks(self, share: float) -> float | None:
        """Weeks by which it is sold with this chance, within a week by straight line.

        None where that is beyond `HORIZON`.
        """
        if self.sold_by[-1] < share:
            return None
        at = int(np.searchsorted(self.sold_by, share))
        before = 0.0 if at == 0 else float(self.sold_by[at - 1])
        return at + (share - before) / (float(self.sold_by[at]) - before)


def foresee(
    learned: Learned,
    log_prices: Sequence[float],
    *,
    value: float,
    doubt: float,
    week: float,
    past: int = 0,
    rng: np.random.Generator,
) -> Foreseen:
    """Foresee when a piece is sold at a path of prices; the last price holds on.

    Parameters
    ----------
    log_prices
        Of every week from the first offer on.
    value, doubt, week
        As in `Listing`.
    past
        Weeks on offer without a sale so far, which weigh the draws.
    """
    theta = learned.draws
    z = rng.standard_normal(len(theta))[:, None]
    weeks = past + HORIZON
    prices = np.array([*log_prices, *[log_prices[-1]] * weeks][:weeks])
    usual = value if np.isnan(learned.usual) else learned.usual
    base = theta[:, 0] + theta[:, 4] * (value - usual)
    ready = np.empty((len(theta), weeks))
    for price, first, end in _runs(list(prices)):
        above = np.array([[price - value]])
        ready[:, first:end] = ready_to_pay(theta, above, np.array([[doubt]]), z)
    k = np.arange(weeks, dtype=float)
    eta = base[:, None] + ready + weeks_term(theta, k, week + k)
    gone = np.cumsum(np.exp(np.minimum(eta, HIGHEST)), axis=1)
    before = gone[:, past - 1] if past else np.zeros(len(theta))
    weights = normalised(-before)
    left = weights @ np.exp(-(gone[:, past:] - before[:, None]))
    return Foreseen(1.0 - left)
