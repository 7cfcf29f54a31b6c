"""What differs between shops and the instruments that come to them, drawn anew for each.

All ranges are judgement (common practice, no source); they are wide on purpose.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Generator = np.random.Generator


@dataclass(frozen=True)
class Habits:
    """Rates of one shop's run of instruments.

    Attributes
    ----------
    body_lag, neck_lag, pot_lag
        Mean months from the mark to completion.
    old_stock
        Share of pieces that lay about for up to ``old_months`` before they were fitted.
    carton
        Share of instruments whose two pots came from one carton.
    bin_months
        Standard deviation of a serial number about its month: plates were drawn from a bin.
    stragglers
        Share of pieces fitted in the old pattern up to a year after it had gone.
    restless
        How readily owners open things, as a factor.
    careful
        Share of hands that hide what they did.
    shows, false_show
        P(a screw looks turned) if a careless hand turned it, and if it never was.
    joint_shows, joint_doubt
        P(a heated joint is seen to be so); P(an untouched one is doubted).
    faint
        Factor on the shares of marks that cannot be read.
    misread, misseen
        Share of marks, and of looks at features, that are wrong.
    two_ways
        Share of read marks that are left open between two months.
    thorough
        P(a look that could be made is made and entered).
    """

    body_lag: float
    neck_lag: float
    pot_lag: float
    old_stock: float
    old_months: int
    carton: float
    bin_months: float
    stragglers: float
    restless: float
    careful: float
    shows: float
    false_show: float
    joint_shows: float
    joint_doubt: float
    faint: float
    misread: float
    misseen: float
    two_ways: float
    thorough: float


def draw_habits(random: Generator) -> Habits:
    """Draw the habits of one shop."""
    return Habits(
        body_lag=random.uniform(1.0, 5.0),
        neck_lag=random.uniform(1.0, 4.5),
        pot_lag=random.uniform(2.5, 9.0),
        old_stock=random.uniform(0.0, 0.12),
        old_months=int(random.integers(10, 37)),
        carton=random.uniform(0.55, 0.97),
        bin_months=random.uniform(2.0, 6.0),
        stragglers=random.uniform(0.0, 0.02),
        restless=random.uniform(0.4, 1.6),
        careful=random.uniform(0.1, 0.45),
        shows=random.uniform(0.65, 0.95),
        false_show=random.uniform(0.005, 0.06),
        joint_shows=random.uniform(0.65, 0.95),
        joint_doubt=random.uniform(0.02, 0.15),
        faint=random.uniform(0.5, 1.8),
        misread=random.uniform(0.002, 0.025),
        misseen=random.uniform(0.002, 0.015),
        two_ways=random.uniform(0.02, 0.15),
        thorough=random.uniform(0.6, 0.95),
    )
