"""Which path of asking prices leaves the consignor most, and how well that is known.

A path is a price for each block of four weeks, none above the one before. It is worth

    net = sum_k P(sold in week k) net(p_k paid / asked) / (1 + i)^months + P(unsold) U

with the weeks of `time_to_sell`, averaged over its draws and over what nobody recorded of the
piece; i is what a month of waiting costs, U what the piece unsold is worth to the consignor. U must
be declared: at nought the best path ends at the floor, at the floor it hardly cuts. Every sequence
of the permitted prices is tried.

Two ranges are kept apart: what may happen to this one piece, and how well the average is known.
The best of many paths promises more than it keeps wherever a value was misread. On simulated shops
a third of a promise came true where values were read 12 % high, all of it where shop and value were
as believed, and a quarter to a third of single pieces did worse (benchmarks/price_paths.py). `KEPT`
is between, and a path is a choice, never a default.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.valuation.time_to_sell import (
    DRAWS,
    HIGHEST,
    NODES,
    YEAR_WEEKS,
    Learned,
    Listing,
    Real,
    normalised,
    ready_to_pay,
    weeks_term,
)

BLOCK = 4
"""Weeks of a block."""
MOST_BLOCKS = 6
STEP, LEAST, MOST = 0.05, 0.80, 1.25
"""Ratios of price to value that are tried: steps, the lowest, the highest."""
KEPT = 0.5
"""Share of a promised gain that is to be expected; see the head."""
PAID_MEAN, PAID_SD, PAID_WEIGHT = -0.04, 0.04, 4.0
"""Log of the price paid over the price asked: mean and standard deviation, each worth so many
sales (common practice, no source)."""
QUANTILES = 15
"""Of that ratio, at which a net is worked out."""
MONTHS_A_WEEK = 12.0 / YEAR_WEEKS
TAIL = 0.1
"""Beyond each end of an 80 % range."""


@dataclass(frozen=True)
class Piece:
    """A piece whose price is to be chosen.

    Attributes
    ----------
    value, doubt, week
        As of a `Listing`, on the day of the first offer.
    past
        Log asking price of each week on offer so far without a sale; empty before the first offer.
    """

    value: float
    doubt: float
    week: float
    past: tuple[float, ...] = ()


@dataclass(frozen=True)
class Worth:
    """What sums are worth to the consignor.

    Attributes
    ----------
    net
        What a price paid nets, both in money; may be called with any price above nought.
    unsold
        Worth of the piece unsold, in money.
    monthly
        What a month of waiting costs, a share.
    """

    net: Callable[[float], float]
    unsold: float
    monthly: float


@dataclass(frozen=True)
class Choice:
    """The best path beside the agreed one.

    Attributes
    ----------
    prices
        Of the best path, a block each, in money.
    agreed, best
        What each nets on average, as worked out.
    gain_known
        80 % range of the average gain, over what is not known of the shop.
    likely
        Chance that the average gain is above nought.
    agreed_piece, best_piece
        80 % range of what this one piece nets by each path.
    worse, same
        Share of single pieces that net less by the best path, and of those that net the same.
    tried
        How many paths were.
    """

    prices: tuple[float, ...]
    agreed: float
    best: float
    gain_known: tuple[float, float]
    likely: float
    agreed_piece: tuple[float, float]
    best_piece: tuple[float, float]
    worse: float
    same: float
    tried: int

    @property
    def promised(self) -> float:
        """Average gain as worked out."""
        return self.best - self.agreed

    @property
    def to_expect(self) -> float:
        """The part of it that is to be expected; see `KEPT`."""
        return KEPT * self.promised


def paid_ratios(listings: Sequence[Listing], rng: np.random.Generator) -> Real:
    """Quantiles of log(paid / asked) of the next sale, rising, of shape (`QUANTILES`,).

    Normal with both parameters unknown and a conjugate prior (Gelman et al., Bayesian Data
    Analysis, 3rd ed., 3.3, from memory): the predictive is a Student-t. Nobody pays more than is
    asked: what lies above nought counts as nought.
    """
    told = np.array(
        [one.paid - one.log_prices[-1] for one in listings if one.sold and one.paid is not None]
    )
    count = len(told)
    mean = float(told.mean()) if count else PAID_MEAN
    scatter = float(((told - mean) ** 2).sum())
    weight, freedom = PAID_WEIGHT + count, PAID_WEIGHT + count
    centre = (PAID_WEIGHT * PAID_MEAN + count * mean) / weight
    apart = PAID_WEIGHT * count / weight * (mean - PAID_MEAN) ** 2
    variance = (PAID_WEIGHT * PAID_SD**2 + scatter + apart) / freedom
    spread = np.sqrt(variance * (1.0 + 1.0 / weight))
    drawn = np.minimum(centre + spread * rng.standard_t(freedom, 20 * DRAWS), 0.0)
    found: Real = np.quantile(drawn, (np.arange(QUANTILES) + 0.5) / QUANTILES)
    return found


def ratios_to_try(listings: Sequence[Listing], agreed: Sequence[float]) -> list[float]:
    """Ratios of price to value that a path may have, rising.

    Those that the shop has tried, or that are agreed for this piece; a shop without offers has
    tried none, and common practice stands for it. Never beyond: what nobody was asked for is
    foreseen by the shape of a curve alone.

    Parameters
    ----------
    agreed
        Log of price over value, of the agreed path.
    """
    steps = LEAST + STEP * np.arange(round((MOST - LEAST) / STEP) + 1)
    told = [price - one.value for one in listings for price in one.log_prices]
    known = [*told, *agreed]
    low, high = (min(known), max(known)) if told else (-np.inf, np.inf)
    return [float(one) for one in steps if low - 1e-9 <= np.log(one) <= high + 1e-9]


def best_path(
    learned: Learned,
    piece: Piece,
    worth: Worth,
    *,
    permitted: Sequence[float],
    agreed: Sequence[float],
    ratios: Real,
    rng: np.random.Generator,
) -> Choice:
    """Find the path that nets most on average, and hold it beside the agreed one.

    Parameters
    ----------
    permitted
        Asking prices in money that a block may have.
    agreed
        Log asking price of each week from now on; as many whole blocks as are looked at.
    ratios
        As of `paid_ratios`.

    Raises
    ------
    ValueError
        No price is permitted, or the agreed path has not one to `MOST_BLOCKS` whole blocks.
    """
    blocks, over = divmod(len(agreed), BLOCK)
    if over or not 1 <= blocks <= MOST_BLOCKS or not permitted:
        raise ValueError("a path has whole blocks, and prices to choose from")
    levels = np.array(sorted(set(permitted), reverse=True))
    logs = np.log(levels)
    nets = _nets(logs, worth, ratios)
    z = rng.standard_normal(len(learned.draws))
    at_random = _Weeks(learned.draws, z[:, None], learned.usual, piece, weeks=len(agreed))
    chosen, tried = _search(at_random, logs, nets.mean(axis=1), worth, blocks)
    path = np.repeat(logs[list(chosen)], BLOCK)

    nodes, shares = np.polynomial.hermite_e.hermegauss(NODES)
    known = _Weeks(
        np.repeat(learned.draws, NODES, axis=0),
        np.tile(nodes, len(learned.draws))[:, None],
        learned.usual,
        piece,
        weeks=len(agreed),
        shares=np.tile(shares / shares.sum(), len(learned.draws)),
    )
    mine, theirs = (
        _average(known, one, _nets(np.unique(one), worth, ratios).mean(axis=1), worth)
        for one in (path, np.asarray(agreed))
    )
    weights = known.weights.reshape(-1, NODES)
    shop = weights.sum(axis=1)
    by_shop = [
        (weights * one.reshape(-1, NODES)).sum(axis=1) / np.maximum(shop, 1e-300)
        for one in (mine, theirs)
    ]
    gains = by_shop[0] - by_shop[1]
    luck = _Luck(rng.exponential(size=len(z)), rng.integers(0, len(ratios), len(z)))
    single = [_single(at_random, one, worth, ratios, luck) for one in (path, np.asarray(agreed))]
    cent = 0.005
    own = at_random.weights
    return Choice(
        tuple(float(levels[one]) for one in chosen),
        float(shop @ by_shop[1]),
        float(shop @ by_shop[0]),
        _range(gains, shop),
        float(shop @ (gains > 0)),
        _range(single[1], own),
        _range(single[0], own),
        float(own @ (single[0] < single[1] - cent)),
        float(own @ (np.abs(single[0] - single[1]) <= cent)),
        tried,
    )


class _Weeks:
    """Rows of parameters and appeal, and their weights: the chance of having come this far."""

    def __init__(
        self,
        theta: Real,
        z: Real,
        usual: float,
        piece: Piece,
        *,
        weeks: int,
        shares: Real | None = None,
    ) -> None:
        self.theta, self.z, self.piece = theta, z, piece
        base = piece.value if np.isnan(usual) else usual
        self.base = theta[:, 0] + theta[:, 4] * (piece.value - base)
        k = np.arange(len(piece.past) + weeks, dtype=float)
        self.late = weeks_term(theta, k, piece.week + k)
        gone = np.zeros(len(theta))
        for week, price in enumerate(piece.past):
            gone += np.exp(np.minimum(self.ready(price) + self.late[:, week], HIGHEST))
        started: Real = np.zeros(len(theta)) if shares is None else np.log(shares)
        self.weights: Real = normalised(started - gone)
        self.late = self.late[:, len(piece.past) :]

    def ready(self, price: float) -> Real:
        """Log hazard of each row at a log price, without the term of the week."""
        above = np.array([[price - self.piece.value]])
        found = ready_to_pay(self.theta, above, np.array([[self.piece.doubt]]), self.z)
        ready: Real = self.base + found[:, 0]
        return ready

    def sums(self, prices: Real) -> Real:
        """Cumulated hazard at the end of each week of a path of log prices; (rows, weeks)."""
        ready = {one: self.ready(float(one)) for one in np.unique(prices)}
        eta = np.column_stack([ready[one] for one in prices]) + self.late
        found: Real = np.cumsum(np.exp(np.minimum(eta, HIGHEST)), axis=1)
        return found


def _nets(logs: Real, worth: Worth, ratios: Real) -> Real:
    """What each asking price nets, by quantile of what is paid of it; (prices, quantiles)."""
    return np.array([[worth.net(float(np.exp(p + d))) for d in ratios] for p in logs])


def _waits(weeks: int, worth: Worth) -> Real:
    """What a sum at the end of each week is worth now."""
    weeks_on: Real = np.arange(1, weeks + 1).astype(np.float64)
    found: Real = (1.0 + worth.monthly) ** (-MONTHS_A_WEEK * weeks_on)
    return found


def _average(rows: _Weeks, path: Real, nets: Real, worth: Worth) -> Real:
    """Net of a path for each row; *nets* by its distinct prices, rising."""
    left: Real = np.exp(-rows.sums(path))
    sold = np.concatenate([np.ones((len(left), 1)), left[:, :-1]], axis=1) - left
    by_week = nets[np.searchsorted(np.unique(path), path)] * _waits(len(path), worth)
    found: Real = sold @ by_week + left[:, -1] * worth.unsold
    return found


@dataclass(frozen=True)
class _Luck:
    """Of one piece a row, the same on every path.

    Attributes
    ----------
    patience
        Cumulated hazard at which it is sold, exponential.
    paid
        Index into the ratios of what is paid to what is asked.
    """

    patience: Real
    paid: NDArray[np.int64]


def _single(rows: _Weeks, path: Real, worth: Worth, ratios: Real, luck: _Luck) -> Real:
    """What one piece a row nets: sold in the week in which its hazard reaches its patience."""
    sums = rows.sums(path)
    week = (sums < luck.patience[:, None]).sum(axis=1)
    sold = week < len(path)
    at = np.minimum(week, len(path) - 1)
    distinct = np.unique(path)
    nets = _nets(distinct, worth, ratios)[np.searchsorted(distinct, path[at]), luck.paid]
    found: Real = np.where(sold, nets * _waits(len(path), worth)[at], worth.unsold)
    return found


def _search(
    rows: _Weeks, logs: Real, nets: Real, worth: Worth, blocks: int
) -> tuple[tuple[int, ...], int]:
    """Try every sequence of prices, none above the one before; indices into *logs*, and count."""
    waits = _waits(blocks * BLOCK, worth).reshape(blocks, BLOCK)
    late = np.exp(np.minimum(rows.late, HIGHEST)).reshape(-1, blocks, BLOCK).cumsum(axis=2)
    gains, stays = [], []
    for price in logs:
        rate = np.exp(np.minimum(rows.ready(float(price)), HIGHEST))
        left = np.exp(-rate[:, None, None] * late)
        sold = np.concatenate([np.ones_like(left[:, :, :1]), left[:, :, :-1]], axis=2) - left
        gains.append((sold * waits).sum(axis=2))
        stays.append(left[:, :, -1])
    gain = np.stack(gains, axis=2) * nets  # rows, blocks, prices
    stay = np.stack(stays, axis=2)
    last = gain[:, -1] + stay[:, -1] * worth.unsold
    best: tuple[float, tuple[int, ...]] = (-np.inf, ())
    tried = 0

    def follow(block: int, first: int, left: Real, so_far: float, path: tuple[int, ...]) -> None:
        nonlocal best, tried
        if block == blocks - 1:
            ends = so_far + left @ last[:, first:]
            tried += len(ends)
            top = int(np.argmax(ends))
            if ends[top] > best[0]:
                best = float(ends[top]), (*path, first + top)
            return
        now = so_far + left @ gain[:, block, first:]
        for step in range(len(logs) - first):
            price = first + step
            follow(block + 1, price, left * stay[:, block, price], float(now[step]), (*path, price))

    follow(0, 0, rows.weights, 0.0, ())
    return best[1], tried


def _range(values: Real, weights: Real) -> tuple[float, float]:
    order = np.argsort(values)
    up_to = np.cumsum(weights[order])
    low, high = np.searchsorted(up_to, [TAIL, 1.0 - TAIL]).clip(0, len(values) - 1)
    return float(values[order[low]]), float(values[order[high]])
