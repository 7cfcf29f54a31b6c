"""What moves the price of one instrument, every effect with its prior, and the market's own index.

Effects are posterior means of the regression with 90 % intervals (normal, from mean and variance
over all nodes). A driver is an effect times how much of it the instrument is expected to have; in
money, what it does to the middle price.
"""

from __future__ import annotations

import numpy as np

from heelstamp.casework.appraisal.design import Priced, walked
from heelstamp.casework.appraisal.finding import Driver, IndexPoint
from heelstamp.casework.appraisal.instrument import Possible
from heelstamp.casework.appraisal.market import EFFECTS
from heelstamp.units import format_month
from heelstamp.units.months import MONTHS_A_YEAR
from heelstamp.valuation.least_squares import Array

Z90 = 1.6448536269514722  # 95 % point of the normal distribution
LEAST_AMOUNT = 0.005


def effects_of(priced: Priced) -> list[Driver]:
    """Return every effect, for one unit of it."""
    return [_effect(priced, key, 1.0, 0.0) for key in EFFECTS]


def drivers_of(priced: Priced, may_be: Possible, middle: float) -> list[Driver]:
    """Return what moves this instrument's price, the strongest first."""
    row = may_be.mean_row
    found = []
    for place, key in enumerate(EFFECTS, start=1):
        if key != "drift" and abs(row[place]) >= LEAST_AMOUNT:
            found.append(_effect(priced, key, float(row[place]), middle))
    layout = priced.layout
    made = np.zeros_like(row)
    made[layout.made_steps] = row[layout.made_steps] - layout.average_made
    if made.any():
        found.append(_along(priced, "made", "year of making, against the average", made, middle))
    month = float(np.mean([_month(one.month) for one in priced.used]))
    since = np.zeros_like(row)
    since[layout.market_steps] = -walked(np.array([month]), layout.knots)[0]
    since[1 + EFFECTS.index("drift")] = (layout.as_of - month) / MONTHS_A_YEAR
    label = f"the market since {format_month(round(month))}, inflation apart"
    found.append(_along(priced, "market", label, since, middle))
    return sorted(found, key=lambda one: -abs(one.effect))


def market_index(priced: Priced) -> list[IndexPoint]:
    """Return the index of the shop's own comparables at the knots of the walk; the first is 100."""
    layout = priced.layout
    mean, covariance = priced.fit.coefficients()
    first = layout.knots[0]
    found = []
    for knot in layout.knots:
        row = np.zeros(len(mean))
        row[layout.market_steps] = (
            walked(np.array([knot]), layout.knots)[0] - walked(np.array([first]), layout.knots)[0]
        )
        row[1 + EFFECTS.index("drift")] = (knot - first) / MONTHS_A_YEAR
        real = float(row @ mean)
        sd = float(np.sqrt(row @ covariance @ row))
        then, now = priced.index.log_levels(np.array([first, knot]))
        nominal = real + float(now - then)
        found.append(
            IndexPoint(
                month=format_month(round(knot)),
                real=round(100 * float(np.exp(real)), 1),
                nominal=round(100 * float(np.exp(nominal)), 1),
                nominal_90=(
                    round(100 * float(np.exp(nominal - Z90 * sd)), 1),
                    round(100 * float(np.exp(nominal + Z90 * sd)), 1),
                ),
            )
        )
    return found


def _effect(priced: Priced, key: str, amount: float, middle: float) -> Driver:
    mean, covariance = priced.fit.coefficients()
    place = 1 + EFFECTS.index(key)
    prior = priced.market.priors()[key]
    one, sd = float(mean[place]), float(np.sqrt(covariance[place, place]))
    ends = sorted(amount * (one + side * Z90 * sd) for side in (-1, 1))
    return Driver(
        key=key,
        label=prior.label,
        amount=amount,
        effect=amount * one,
        low=ends[0],
        high=ends[1],
        money=_money(amount * one, middle),
        prior=(prior.mean, prior.sd),
        posterior=(one, sd),
        basis=prior.basis,
    )


def _along(priced: Priced, key: str, label: str, row: Array, middle: float) -> Driver:
    mean, covariance = priced.fit.coefficients()
    effect, sd = float(row @ mean), float(np.sqrt(row @ covariance @ row))
    walk = priced.market.made_walk if key == "made" else priced.market.market_walk
    return Driver(
        key=key,
        label=label,
        amount=1.0,
        effect=effect,
        low=effect - Z90 * sd,
        high=effect + Z90 * sd,
        money=_money(effect, middle),
        prior=None,
        posterior=(effect, sd),
        basis=walk.basis,
    )


def _money(effect: float, middle: float) -> float:
    """Return what an effect does to the middle price that already holds it."""
    return round(middle * (1 - float(np.exp(-effect))), 2)


def _month(text: str) -> int:
    year, month = text.split("-")
    return MONTHS_A_YEAR * int(year) + int(month) - 1
