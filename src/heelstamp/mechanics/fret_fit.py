"""Which rule a fretboard follows, its scale length, and which frets are out of place by how much.

Places are read along the board from any zero. For each rule a straight line (zero and scale) is put
through readings against shares; first the line through that pair of readings which leaves the least
median distance to all others (least median of squares, Rousseeuw, *J. Amer. Statist. Assoc.* 79
(1984) 871), then ordinary least squares through the readings that agree with it. Each fret is then
tested against the line through the others: its distance over √(reading² + line²), both standard
uncertainties. The limit is set so that a sound board is called faulty once in a hundred. Stops
holding when near half of the frets are out of place, or when the reading error is understated: a
line that its own frets do not fit is *not decided*.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from statistics import NormalDist, median

import numpy as np

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Estimate
from heelstamp.mechanics.frets import FretRule, fret_share, pitch_error_cents

FALSE_ALARM = 0.01
"""How often a sound board may be called faulty."""
LEAST_FRETS = 5
MISFIT = 0.001
"""A line is refused when its own frets would be so far off it in fewer cases than this."""


@dataclass(frozen=True, slots=True)
class FretReading:
    """Distance of a fret (0 is the nut) from the zero of the rule, mm, with its uncertainty."""

    fret: int
    place_mm: float
    uncertainty_mm: float


@dataclass(frozen=True, slots=True)
class MisplacedFret:
    """A fret that lies elsewhere than the others say.

    Attributes
    ----------
    off_mm
        Reading minus expectation; positive is toward the bridge.
    sharp_cents
        What that does to its notes.
    deviations
        Distance in standard uncertainties.
    """

    fret: int
    off_mm: Estimate
    sharp_cents: float
    deviations: float


@dataclass(frozen=True, slots=True)
class FretFit:
    """One rule put to a board.

    Attributes
    ----------
    scale_mm, zero_mm
        Scale length, and where the line puts the nut.
    misplaced
        Frets out of place, the worst first.
    fits
        Whether the remaining frets agree within their reading error.
    spread
        Their root mean square distance over the reading error; about 1 when it is honest.
    residuals_mm
        Reading minus line, by fret.
    """

    rule: FretRule
    scale_mm: Estimate
    zero_mm: Estimate
    misplaced: tuple[MisplacedFret, ...]
    fits: bool
    spread: float
    residuals_mm: dict[int, float]


def fit_board(readings: tuple[FretReading, ...]) -> tuple[FretFit, ...]:
    """Put every rule to a board; those that fit come first, fewest misplaced frets first.

    Equal temperament stands for the rule of 17.817, which no rule or caliper tells from it.

    Raises
    ------
    InputError
        Fewer than five frets, one fret twice, or a reading without uncertainty.
    """
    if len(readings) < LEAST_FRETS or len({one.fret for one in readings}) < len(readings):
        raise InputError(
            f"at least {LEAST_FRETS} different frets are needed",
            received=", ".join(str(one.fret) for one in readings),
            remedy="Read the place of every fret along one edge, from one zero.",
        )
    for one in readings:
        if not (one.uncertainty_mm > 0 and math.isfinite(one.place_mm)):
            raise InputError(
                "a place needs a reading error above nought",
                where=f"fret {one.fret}",
                received=f"{one.place_mm} ± {one.uncertainty_mm}",
                remedy="Give one standard deviation: 0.1 mm for a steel rule, 0.03 for a caliper.",
            )
    fits = [_fit(readings, rule) for rule in FretRule]
    return tuple(
        sorted(fits, key=lambda one: (not one.fits, len(one.misplaced), round(one.spread, 1)))
    )


def _fit(readings: tuple[FretReading, ...], rule: FretRule) -> FretFit:
    share = np.array([fret_share(one.fret, rule) for one in readings])
    place = np.array([one.place_mm for one in readings])
    error = np.array([one.uncertainty_mm for one in readings])
    limit = NormalDist().inv_cdf(1.0 - FALSE_ALARM / (2.0 * len(readings)))
    good = _agreeing(share, place, error, limit)
    for _ in range(len(readings)):
        off, sigma = _left_out(share, place, error, good)
        again = np.abs(off) <= limit * sigma
        if (again == good).all() or again.sum() < LEAST_FRETS - 1:
            break
        good = again
    line, cover = _line(share[good], place[good], error[good])
    off, sigma = _left_out(share, place, error, good)
    residual = place - line[0] - line[1] * share
    scaled = residual[good] / error[good]
    freedom = max(1, int(good.sum()) - 2)
    scale = Estimate.of(float(line[1]), math.sqrt(cover[1, 1]), "fret places")
    misplaced = [
        MisplacedFret(
            readings[i].fret,
            Estimate.of(float(off[i]), float(sigma[i]), f"place of fret {readings[i].fret}"),
            pitch_error_cents(
                float(line[1]), float(line[1] * share[i]), float(line[1] * share[i] + off[i])
            ),
            float(abs(off[i]) / sigma[i]),
        )
        for i in np.flatnonzero(~good)
    ]
    enough = 2 * int(good.sum()) > len(readings)
    return FretFit(
        rule=rule,
        scale_mm=scale,
        zero_mm=Estimate.of(float(line[0]), math.sqrt(cover[0, 0]), "fret places"),
        misplaced=tuple(sorted(misplaced, key=lambda one: -one.deviations)),
        fits=bool(enough and float(scaled @ scaled) <= _chi_squared_limit(freedom)),
        spread=math.sqrt(float(scaled @ scaled) / freedom),
        residuals_mm={one.fret: float(residual[i]) for i, one in enumerate(readings)},
    )


def _agreeing(share: np.ndarray, place: np.ndarray, error: np.ndarray, limit: float) -> np.ndarray:
    """Tell which readings agree with the line of least median distance."""
    best, chosen = math.inf, (0.0, 1.0)
    for i, j in combinations(range(len(share)), 2):
        slope = (place[j] - place[i]) / (share[j] - share[i])
        zero = place[i] - slope * share[i]
        middle = median(np.abs(place - zero - slope * share) / error)
        if middle < best:
            best, chosen = middle, (zero, slope)
    # the line through two readings is itself off by about one reading error
    distance = np.abs(place - chosen[0] - chosen[1] * share) / error
    good: np.ndarray = distance <= limit * math.sqrt(2.0)
    return good


def _line(share: np.ndarray, place: np.ndarray, error: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Zero and scale by weighted least squares, with their covariance."""
    design = np.column_stack([np.ones_like(share), share]) / error[:, None]
    cover = np.linalg.inv(design.T @ design)
    return cover @ (design.T @ (place / error)), cover


def _left_out(
    share: np.ndarray, place: np.ndarray, error: np.ndarray, good: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Each reading minus the line through the other good ones, and its uncertainty."""
    off, sigma = np.empty_like(place), np.empty_like(place)
    for i in range(len(place)):
        rest = good.copy()
        rest[i] = False
        line, cover = _line(share[rest], place[rest], error[rest])
        at = np.array([1.0, share[i]])
        off[i] = place[i] - at @ line
        sigma[i] = math.sqrt(error[i] ** 2 + at @ cover @ at)
    return off, sigma


def _chi_squared_limit(freedom: int) -> float:
    """The point that chi squared passes in a share `MISFIT` of cases.

    Wilson and Hilferty, *Proc. Natl. Acad. Sci.* 17 (1931) 684: within 1 % of the exact point from
    three degrees of freedom on.
    """
    z = NormalDist().inv_cdf(1.0 - MISFIT)
    width = 2.0 / (9.0 * freedom)
    return freedom * (1.0 - width + z * math.sqrt(width)) ** 3
