"""A model of a body, a neck and three volume pots with plain tables, for tests of properties."""

import numpy as np

from heelstamp.dating import (
    Assembly,
    Batch,
    DatingModel,
    Feature,
    Mark,
    Part,
    Reading,
    SerialScheme,
    Sign,
    Timing,
    Transition,
)
from heelstamp.units import MonthGrid, Period, parse_month

COMPLETION = MonthGrid.parse("1955-01", "1969-12")
MARKS = MonthGrid.parse("1950-01", "1990-12")
CLASSES = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)
STATES = ("original", "period_replacement", "later_replacement", "from_another_instrument")
POTS = ("pot_1", "pot_2", "pot_3")
KEPT, OPENED = (0.97, 0.01, 0.01, 0.01), (0.5, 0.2, 0.2, 0.1)


def old_stock(mean: float, longest: int) -> tuple[float, ...]:
    """A lag that falls off from its mean, with a share of old stock."""
    months = np.arange(longest + 1)
    row = (months + 0.5) * np.exp(-2 * months / mean)
    row = 0.92 * row / row.sum() + 0.08 / len(months)
    return tuple((row / row.sum()).tolist())


def pots_model(share: float = 1.0) -> DatingModel:
    """Model whose pots come from one lot with probability *share*."""
    ramp = np.linspace(1, 2, len(COMPLETION))
    pot_lag = old_stock(5, 30)
    body = Part("body", STATES[::3], CLASSES[::3], (1.0, 0.0), (1.0, 0.0))
    neck = Part("neck", STATES, CLASSES, KEPT, OPENED)
    pots = tuple(Part(name, STATES, CLASSES, KEPT, OPENED, pot_lag) for name in POTS)
    change = (Transition(parse_month("1962-04"), 2.0), Transition(parse_month("1966-04"), 3.0))
    return DatingModel(
        completion=COMPLETION,
        marks=MARKS,
        prior=ramp / ramp.sum(),
        history=(("kept", 0.7), ("used", 0.3)),
        assemblies=(
            Assembly("body", ("body",), (0, 0)),
            Assembly("neck", ("neck",), (0.03, 0.3)),
            Assembly("electronics", POTS, (0.1, 0.6)),
        ),
        parts=(body, neck, *pots),
        lag=old_stock(2.5, 24),
        gap_first=-24,
        gap=halving(),
        features=(
            Feature(
                "dots", "neck", ("clay", "pearl", "brass", "other"), change, (0.15,) * 3 + (0.55,)
            ),
            Feature(
                "felt",
                "body",
                ("none", "green"),
                (),
                (0.5, 0.5),
                0.01,
                (parse_month("1959-05"), parse_month("1959-12"), 0.35, 1.0),
            ),
        ),
        serial=SerialScheme("body", 4.0),
        signs=(
            Sign(
                "fit", ("matched", "not"), ((0.9, 0.1), (0.4, 0.6), (0.3, 0.7), (0.4, 0.6)), "neck"
            ),
            Sign("joints", ("one", "two"), ((0.9, 0.1), (0.2, 0.8)), assembly="electronics"),
        ),
        batches=(Batch(POTS, share),),
    )


def halving() -> tuple[float, ...]:
    """P(gap), halving every 16 months either way."""
    row = 0.5 ** (np.abs(np.arange(-24, 73)) / 16)
    return tuple((row / row.sum()).tolist())


def mark(part: str, *months: str, weight: float = 1.0, error: float = 0.01) -> Mark:
    """A mark that may mean any of *months*."""
    readings = tuple(Reading(Period.parse(month), weight) for month in months)
    return Mark(part, readings, error)
