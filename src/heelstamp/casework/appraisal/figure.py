"""What is open about a price, as a figure whose expected fall is the money gain of an inspection.

The figure is the standard deviation of the middle price through the states of parts and the year of
making, exact for every hypothetical row (``dating.additive_moments``), plus what buyers take off
as long as something has not been looked at. An inspection that shows it takes that away.

Beside it, the seller's regret: who asks less than the piece would bring loses the difference, who
asks more loses a share of it (`LATE`: months unsold, a cut later). The best price to ask is then a
quantile, and with a normal spread s the least expected loss is s (1 + LATE) φ(z), Φ(z) = 1 / (1 +
LATE): the newsvendor (Arrow, Harris and Marschak, *Econometrica* 19 (1951) 250-272, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import NormalDist

import numpy as np

from heelstamp.casework.appraisal.design import Priced, made_row_of
from heelstamp.casework.appraisal.instrument import shares_of
from heelstamp.casework.appraisal.market import EFFECTS
from heelstamp.casework.inspections.plan import Money
from heelstamp.dating import CompiledModel, Evidence, Mark, additive_moments
from heelstamp.units.months import MONTHS_A_YEAR
from heelstamp.valuation.least_squares import Array

LATE = 0.3
"""Share of what is asked too much that a seller loses in the end; judgement, no source."""


def open_money(priced: Priced, middle: float, unseen: Sequence[str]) -> Money:
    """Return the figure for planning inspections.

    Parameters
    ----------
    middle
        Middle price now.
    unseen
        Effects of what nobody has looked at.
    """
    mean, _ = priced.fit.coefficients()
    effect = {key: float(mean[place]) for place, key in enumerate(EFFECTS, start=1)}
    walk = mean[priced.layout.made_steps]
    hidden = [
        (row.part, middle * (float(np.exp(-effect[row.effect])) - 1))
        for row in priced.market.unseen
        if row.effect in unseen
    ]

    told: list[tuple[Sequence[Evidence], Array]] = []

    def spread(compiled: CompiledModel, rows: Sequence[Evidence]) -> Array:
        if told and told[0][0] is rows:
            return told[0][1]
        months = list(compiled.model.completion)
        years = {month // MONTHS_A_YEAR for month in months}
        by_year = {
            year: float(made_row_of((year, year), priced.layout.years) @ walk) for year in years
        }
        by_month = np.array([by_year[month // MONTHS_A_YEAR] for month in months])
        by_state = {}
        for part in compiled.model.parts:
            logs = [
                sum(effect[key] * much for key, much in _shares(priced, part.name, state))
                for state in part.states
            ]
            if any(logs):
                by_state[part.name] = logs
        _, variance = additive_moments(compiled, rows, by_month, by_state)
        found = np.asarray(middle * np.sqrt(np.maximum(variance, 0.0)))
        told[:] = [(rows, found)]  # both figures are asked of the same rows, one after the other
        return found

    def figure(compiled: CompiledModel, rows: Sequence[Evidence]) -> Array:
        taken = [
            sum(
                max(0.0, off)
                for part, off in hidden
                if not any(isinstance(one, Mark) and one.part == part for one in row)
            )
            for row in rows
        ]
        return np.asarray(spread(compiled, rows) + np.array(taken))

    def regret(compiled: CompiledModel, rows: Sequence[Evidence]) -> Array:
        return np.asarray(seller_regret(1.0) * spread(compiled, rows))

    return Money(figure, priced.currency, regret)


def seller_regret(spread: float, late: float = LATE) -> float:
    """The least expected loss of a seller who knows a price to *spread*, in its unit.

    Parameters
    ----------
    late
        Share of a price asked too high that is lost.
    """
    normal = NormalDist()
    return spread * (1.0 + late) * normal.pdf(normal.inv_cdf(1.0 / (1.0 + late)))


def _shares(priced: Priced, part: str, state: str) -> list[tuple[str, float]]:
    return list(shares_of(priced.market, part, state).items())
