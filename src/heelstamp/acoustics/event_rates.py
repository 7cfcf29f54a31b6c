"""Counts of events: how well a rate is known, and whether two differ.

Events of a sweep are taken as a Poisson series. Interval: exact (Garwood, *Biometrika* 28 (1936)
437-442). Two counts over known numbers of turns: given their sum, each is binomial (Przyborowski &
Wilenski, *Biometrika* 31 (1940) 313-323). The same bad place meets the wiper in every sweep, so
that counts scatter less than Poisson's: the intervals are on the wide side.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Change = Literal["fewer", "more", "not told apart"]
LEVEL = 0.05
"""Chance below which two counts are told apart, each way."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two rates: per turn before and after, and the chance of a change so large without one."""

    before: float
    after: float
    chance: float
    change: Change


def interval(count: int, level: float = 0.90) -> tuple[float, float]:
    """The exact central interval of a Poisson mean.

    Examples
    --------
    >>> low, high = interval(3)
    >>> round(low, 3), round(high, 3)
    (0.818, 7.754)
    """
    tail = (1.0 - level) / 2.0
    top = count + 10.0 * math.sqrt(count + 1.0) + 10.0
    high = _crossing(lambda mean: _poisson_cdf(count, mean) - tail, 0.0, top)
    if count == 0:
        return 0.0, high
    low = _crossing(lambda mean: _poisson_cdf(count - 1, mean) - (1.0 - tail), 0.0, top)
    return low, high


def compare(before: int, before_turns: float, after: int, after_turns: float) -> Comparison:
    """Say whether events became fewer.

    Examples
    --------
    >>> compare(95, 5, 15, 5).change
    'fewer'
    >>> compare(4, 5, 3, 5).change
    'not told apart'
    """
    total, share = before + after, after_turns / (before_turns + after_turns)
    up_to = _binomial_cdf(after, total, share)
    from_on = 1.0 - _binomial_cdf(after - 1, total, share)
    change: Change = "not told apart"
    if total and up_to < LEVEL:
        change = "fewer"
    elif total and from_on < LEVEL:
        change = "more"
    chance = min(1.0, max(0.0, min(up_to, from_on)))
    return Comparison(before / before_turns, after / after_turns, chance, change)


def _poisson_cdf(count: int, mean: float) -> float:
    if mean <= 0.0:
        return 1.0
    return math.fsum(
        math.exp(k * math.log(mean) - mean - math.lgamma(k + 1)) for k in range(count + 1)
    )


def _binomial_cdf(count: int, total: int, share: float) -> float:
    if count < 0:
        return 0.0
    log_p, log_q = math.log(share), math.log1p(-share)
    top = math.lgamma(total + 1)
    return math.fsum(
        math.exp(
            top - math.lgamma(k + 1) - math.lgamma(total - k + 1) + k * log_p + (total - k) * log_q
        )
        for k in range(min(count, total) + 1)
    )


def _crossing(falling: Callable[[float], float], low: float, high: float) -> float:
    """Find where a falling function is nothing, by halving."""
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if falling(middle) > 0 else (low, middle)
    return 0.5 * (low + high)
