"""All that could be seen at one place: the outcomes of an inspection, or of one observation.

The probabilities of all outcomes add to one, so that hypothetical rows need no other bookkeeping.
Marks are enumerated by year (coarser than months, so a gain is a lower bound), serial numbers by
nominal year.
"""

from __future__ import annotations

from heelstamp.dating.evidence import (
    EvidenceError,
    FeatureSeen,
    Mark,
    Observation,
    Reading,
    SerialNumber,
    SignSeen,
)
from heelstamp.dating.model import DatingModel
from heelstamp.units import Period
from heelstamp.units.months import MONTHS_A_YEAR


def feature_outcomes(model: DatingModel, name: str) -> tuple[Observation, ...]:
    """Give one observation a variant of the feature."""
    for one in model.features:
        if one.name == name:
            return tuple(FeatureSeen(name, variant) for variant in one.variants)
    raise EvidenceError("no such feature", received=name)


def sign_outcomes(model: DatingModel, name: str) -> tuple[Observation, ...]:
    """Give one observation an outcome of the sign."""
    for one in model.signs:
        if one.name == name:
            return tuple(SignSeen(name, outcome) for outcome in one.outcomes)
    raise EvidenceError("no such sign", received=name)


def mark_outcomes(model: DatingModel, part: str, error: float) -> tuple[Observation, ...]:
    """Give one mark a year of the grid of make months."""
    model.part(part)
    grid = model.marks
    years = range(grid.first // MONTHS_A_YEAR, grid.last // MONTHS_A_YEAR + 1)
    found = []
    for year in years:
        whole = Period.of_year(year)
        period = Period(max(whole.first, grid.first), min(whole.last, grid.last))
        found.append(Mark(part, (Reading(period, 1.0),), error))
    return tuple(found)


def serial_outcomes(model: DatingModel) -> tuple[Observation, ...]:
    """Give one serial number a nominal year: its twelve months, each with weight one."""
    grid = model.completion
    years = range(grid.first // MONTHS_A_YEAR, grid.last // MONTHS_A_YEAR + 1)
    found = []
    for year in years:
        whole = Period.of_year(year)
        months = range(max(whole.first, grid.first), min(whole.last, grid.last) + 1)
        found.append(SerialNumber(tuple((month, 1.0) for month in months)))
    return tuple(found)
