"""Change-overs learned from published counts, against the published fit and plain integration.

Bioassay: A. Racine, A. P. Grieve, H. Flühler and A. F. M. Smith, Applied Statistics 35 (1986)
93-150, as in A. Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, table 3.1 and section 3.7:
doses -0.86, -0.30, -0.05, 0.73 (log g/ml), five animals each, 0, 1, 3, 5 deaths; the book gives the
maximum likelihood at (alpha, beta) = (0.8, 7.7). Pneumoconiosis of coal miners: J. R. Ashford,
Biometrics 15 (1959) 573-581, as in P. McCullagh and J. A. Nelder, Generalized Linear Models, 2nd
ed. 1989, table 5.1: years underground, miners without, with mild and with severe disease. Both
tables and the maximum are from memory of these books.

Here a dose or a year underground plays the month, an animal or miner the instrument whose month is
known exactly and whose part is as built beyond doubt.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import simpson
from scipy.optimize import minimize

from fakes.pots_model import pots_model
from heelstamp.dating.change_quadrature import WIDTHS, CurveGrid, Looks, learn_changes
from heelstamp.dating.changeover import logistic
from heelstamp.dating.model import DatingModel, Feature, Transition
from heelstamp.units import Period

MODEL: DatingModel = pots_model(0.8)
FIRST = MODEL.completion.first
MONTHS = len(MODEL.completion)

DOSES = (-0.86, -0.30, -0.05, 0.73)
DEATHS = (0, 1, 3, 5)
ANIMALS = 5
MONTHS_A_LOG_DOSE = 40.0
MIDDLE = 60  # month of dose nought on the grid

YEARS = (5.8, 15.0, 21.5, 27.5, 33.5, 39.5, 46.0, 51.5)
WITHOUT = (98, 51, 34, 35, 32, 23, 12, 4)
MILD = (0, 2, 6, 5, 10, 7, 6, 2)
SEVERE = (0, 1, 3, 8, 9, 8, 10, 5)


def looks(months: list[float], variants: list[int]) -> Looks:
    """Looks at known months; a month between two is shared between them."""
    table = np.zeros((len(months), MONTHS))
    for row, month in enumerate(months):
        below = int(np.floor(month))
        table[row, below] = 1 - (month - below)
        table[row, below + 1] = month - below
    count = len(months)
    return Looks(table, np.array(variants), np.full(count, 1e-12), np.ones(count))


def feature(changes: int) -> Feature:
    names = tuple(f"v{i}" for i in range(changes + 1))
    share = 1 / len(names)
    return Feature("f", "neck", names, (Transition(0, 1),) * changes, (share,) * len(names))


def bioassay() -> Looks:
    months, variants = [], []
    for dose, deaths in zip(DOSES, DEATHS, strict=True):
        for animal in range(ANIMALS):
            months.append(MIDDLE + MONTHS_A_LOG_DOSE * dose)
            variants.append(int(animal < deaths))
    return looks(months, variants)


def log_likelihood(alpha: float, beta: float) -> float:
    """Binomial likelihood with logit alpha + beta x: the model as the book writes it."""
    total = 0.0
    for dose, deaths in zip(DOSES, DEATHS, strict=True):
        logit = alpha + beta * dose
        total += deaths * logit - ANIMALS * np.logaddexp(0, logit)
    return total


def test_the_bioassay_has_its_published_maximum() -> None:
    """What the reference integrates below is the book's likelihood."""
    found = minimize(lambda x: -log_likelihood(*x), x0=(0.0, 5.0))
    assert found.x == pytest.approx((0.8, 7.7), abs=0.06)


def test_the_bioassays_posterior() -> None:
    """Against Simpson's rule on a fine grid of the same prior: flat in centre and log width."""
    span = Period(FIRST + 5, FIRST + 115)
    (change,) = learn_changes(CurveGrid(MODEL.completion, span), feature(1), bioassay())
    centres = np.linspace(5, 115, 401)
    widths = np.linspace(np.log(WIDTHS[0]), np.log(WIDTHS[-1]), 301)
    log = np.empty((len(centres), len(widths)))
    for i, centre in enumerate(centres):
        for j, width in enumerate(np.exp(widths)):
            beta = MONTHS_A_LOG_DOSE / width
            log[i, j] = log_likelihood(beta * (MIDDLE - centre) / MONTHS_A_LOG_DOSE, beta)
    density = np.exp(log - log.max())
    over_widths = simpson(density, x=widths, axis=1)
    mass = simpson(over_widths, x=centres)
    mean = simpson(over_widths * centres, x=centres) / mass
    sd = np.sqrt(simpson(over_widths * (centres - mean) ** 2, x=centres) / mass)
    log_width = simpson(simpson(density, x=centres, axis=0) * widths, x=widths) / mass
    ours = float(change.posterior.sum(axis=0) @ np.log(change.widths))
    assert change.centre_mean - FIRST == pytest.approx(mean, abs=0.1)
    assert change.centre_sd == pytest.approx(sd, rel=0.03)
    assert ours == pytest.approx(log_width, abs=0.06)  # ten widths: a step is 0.37
    # the book's LD50, -alpha / beta = -0.1 log g/ml, four months before dose nought here
    best = np.unravel_index(change.posterior.argmax(), change.posterior.shape)
    assert change.centres[best[0]] - FIRST == pytest.approx(
        MIDDLE - 0.8 / 7.7 * MONTHS_A_LOG_DOSE, abs=2
    )
    assert change.widths[best[1]] == pytest.approx(MONTHS_A_LOG_DOSE / 7.7, rel=0.4)


def miners() -> Looks:
    months: list[float] = []
    variants: list[int] = []
    for year, *counts in zip(YEARS, WITHOUT, MILD, SEVERE, strict=True):
        for variant, count in enumerate(counts):
            months += [MIDDLE / 2 + year] * count
            variants += [variant] * count
    return looks(months, variants)


def sequential(params: np.ndarray) -> float:
    """Minus log likelihood of the continuation-ratio model of the miners."""
    c0, w0, c1, w1 = params
    total = 0.0
    for year, none, mild, severe in zip(YEARS, WITHOUT, MILD, SEVERE, strict=True):
        ill = float(logistic(np.array([(year - c0) / np.exp(w0)]))[0])
        worse = float(logistic(np.array([(year - c1) / np.exp(w1)]))[0])
        total += none * np.log(1 - ill) + mild * np.log(ill * (1 - worse))
        total += severe * np.log(ill * worse)
    return -total


def test_two_change_overs_of_the_miners() -> None:
    """Given the first, the second is a regression of its own: the sequential form's virtue."""
    span = Period(FIRST + 1, FIRST + 118)
    first, second = learn_changes(CurveGrid(MODEL.completion, span), feature(2), miners())
    best = minimize(
        sequential,
        x0=(40.0, 2.0, 30.0, 2.0),
        method="Nelder-Mead",
        options={"maxiter": 4000, "xatol": 1e-4, "fatol": 1e-8},
    )
    c0, w0, c1, w1 = best.x
    shift = FIRST + MIDDLE / 2
    assert first.centre_90[0] <= c0 + shift <= first.centre_90[1]
    assert second.centre_90[0] <= c1 + shift <= second.centre_90[1]
    assert first.centre_mean - shift == pytest.approx(c0, abs=2.5)
    # a census that knows only who is ill teaches the first change-over the same
    told = miners()
    joined = replace(told, variants=np.minimum(told.variants, 1))
    (alone,) = learn_changes(CurveGrid(MODEL.completion, span), feature(1), joined)
    # but for years between two months, over which a product of curves is not the curves' product
    assert alone.posterior == pytest.approx(first.posterior, abs=1e-4)
    ill = told.variants > 0
    among = Looks(told.months[ill], told.variants[ill] - 1, told.fixed[ill], told.moved[ill])
    (worse,) = learn_changes(CurveGrid(MODEL.completion, span), feature(1), among)
    assert worse.centre_mean == pytest.approx(second.centre_mean, abs=1.0)
    assert np.exp(w0) < WIDTHS[-1]
    assert w1 > w0
