"""What is open about a price, as a figure whose expected fall is the money gain of an inspection.

The figure is the standard deviation of the middle price through the states of parts and the year of
making, exact for every hypothetical row (``dating.additive_moments``), plus what buyers take off
as long as something has not been looked at. An inspection that shows it takes that away.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heelstamp.casework.appraisal.design import Priced, made_row_of
from heelstamp.casework.appraisal.instrument import shares_of
from heelstamp.casework.appraisal.market import EFFECTS
from heelstamp.casework.inspections.plan import Money
from heelstamp.dating import CompiledModel, Evidence, Mark, additive_moments
from heelstamp.units.months import MONTHS_A_YEAR
from heelstamp.valuation.least_squares import Array


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

    def figure(compiled: CompiledModel, rows: Sequence[Evidence]) -> Array:
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
        spread = middle * np.sqrt(np.maximum(variance, 0.0))
        taken = [
            sum(
                max(0.0, off)
                for part, off in hidden
                if not any(isinstance(one, Mark) and one.part == part for one in row)
            )
            for row in rows
        ]
        return np.asarray(spread + np.array(taken))

    return Money(figure, priced.currency)


def _shares(priced: Priced, part: str, state: str) -> list[tuple[str, float]]:
    return list(shares_of(priced.market, part, state).items())
