"""From a chronology to the tables of a dating model.

Choices made here, all ours: a change-over has its centre in the middle of first-new and last-old
and a width of a quarter of their distance, at least one month, unless the row gives one; a
serial's scatter of one standard deviation is the central 68.3 % of Student's t with 3 degrees of
freedom (1.197 scales); a part fitted later shows a non-factory variant with probability 0.55, and
the factory variants evenly otherwise. Make and completion are both calendar months, so a gamma lag
x falls on the two whole months around it: P(k) is the integral of its density times
max(0, 1 - |x - k|) (Simpson's rule), which keeps its mean. The tail of old stock is spread evenly
over 1 to its maximum.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec
import numpy as np
import numpy.typing as npt

from heelstamp.chronology.contents import Chronology
from heelstamp.chronology.cross_checks import NON_FACTORY
from heelstamp.chronology.records import (
    ByHistory,
    Change,
    FeatureRow,
    LagTable,
    LearnedCurve,
    LevelTable,
    PartRow,
    SignRow,
)
from heelstamp.chronology.serials import SerialCurve
from heelstamp.dating import (
    Assembly,
    Batch,
    DatingModel,
    Feature,
    Level,
    ModelError,
    Opening,
    Part,
    PartSet,
    Screws,
    SerialScheme,
    Sign,
    Timing,
    Transition,
)
from heelstamp.dating.elements import Paths
from heelstamp.dating.model import LearnedTransition
from heelstamp.dating.openings import CAREFUL
from heelstamp.dating.structure import structure
from heelstamp.errors import HeelstampError
from heelstamp.units import parse_month
from heelstamp.units.months import MONTHS_A_YEAR

PART_STATES = ("original", "period_replacement", "later_replacement", "from_another_instrument")
PART_TIMING = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)
FINISH_STATES = ("original", "touched_up", "old_refinish", "recent_refinish")
FINISH_TIMING = (Timing.BUILT, Timing.BUILT, Timing.PERIOD, Timing.LATER)
ANCHOR_STATES = ("original", "from_another_instrument")
ANCHOR_TIMING = (Timing.BUILT, Timing.DONOR)

NON_FACTORY_SHARE = 0.55
STATES_OF = {"part": PART_STATES, "finish": FINISH_STATES, "anchor": ANCHOR_STATES}
"""Names of the states of a part by its form."""

EVERY_ACCESS = "default"
"""Name under which a chronology states the share of careful hands at accesses it does not name."""

LEAST_WIDTH = 1.0
WIDTH_SHARE = 0.25
T3_ONE_SIGMA = 1.1969  # central 68.27 % of Student's t, 3 degrees of freedom


def dating_model(chronology: Chronology) -> DatingModel:
    """Build the model.

    Raises
    ------
    ModelError
        A table is inconsistent: probabilities that do not add to one, grids that are too short,
        openings in a ring; names the document.
    """
    try:
        model = _dating_model(chronology)
        structure(model)
    except HeelstampError as error:
        raise error.at(chronology.document) from None
    return model


def _dating_model(chronology: Chronology) -> DatingModel:
    curve = SerialCurve.of(chronology)
    anchor = next((row.key for row in chronology.parts if row.form == "anchor"), "")
    history = tuple((row.name, row.probability) for row in chronology.history)
    timing = chronology.timing
    return DatingModel(
        completion=chronology.completion,
        marks=chronology.marks,
        prior=completion_prior(chronology, curve),
        history=history,
        assemblies=tuple(
            Assembly(
                row.name,
                tuple(row.parts),
                tuple(row.disturbed.get(name, 0.0) for name, _ in history),
            )
            for row in chronology.assemblies
        ),
        parts=tuple(
            _part(row, timing.lag_doubt, short=not chronology.openings) for row in chronology.parts
        ),
        lag=doubted(lag_distribution(timing.lag), timing.lag_doubt),
        gap_first=timing.gap.first,
        gap=gap_distribution(timing.gap.first, timing.gap.last, timing.gap.half_life),
        later_from=timing.later_from,
        later_anywhere=timing.later_anywhere,
        features=tuple(_feature(row, part) for row in chronology.features for part in row.parts),
        serial=None
        if chronology.serial is None
        else SerialScheme(
            chronology.serial.part,
            chronology.serial.spread_months / T3_ONE_SIGMA,
            error=chronology.serial.error,
        ),
        signs=tuple(sign for row in chronology.signs for sign in _signs(row)),
        batches=tuple(Batch(tuple(row.parts), row.share) for row in chronology.batches),
        group_failure=chronology.group_failure,
        anchor=anchor,
        openings=tuple(
            Opening(
                row.name,
                _by_class(row.p, history),
                _ways(row.needs),
                dict(row.along),
                row.careful,
                row.root,
            )
            for row in chronology.openings
        ),
        sets=tuple(
            PartSet(
                row.name,
                tuple(row.parts),
                _by_class(row.p, history),
                dict(row.source),
                _ways(row.needs),
            )
            for row in chronology.sets
        ),
        careful={k: p for k, p in chronology.careful.items() if k != EVERY_ACCESS},
        careful_default=chronology.careful.get(EVERY_ACCESS, CAREFUL),
        screws=Screws(**msgspec.structs.asdict(chronology.screws)),
        foreign_opens=tuple(chronology.prior.foreign_opens),
        assembled=tuple(row.name for row in chronology.history if row.assembled),
    )


def _by_class(p: ByHistory, history: Sequence[tuple[str, float]]) -> tuple[float, ...]:
    return tuple(p[name] if isinstance(p, Mapping) else p for name, _ in history)


def _ways(lists: Sequence[Sequence[str]]) -> Paths:
    return tuple(tuple(way) for way in lists)


def feature_on(row: FeatureRow, part: str) -> str:
    """Return the model's name of a feature on one part."""
    return row.id if len(row.parts) == 1 else f"{row.id}@{part}"


def sign_on(row: SignRow, part: str) -> str:
    """Return the model's name of a sign on one part, or of the opening it speaks of there."""
    if part in row.openings:
        return f"{row.id}@{row.openings[part]}"
    return row.id if len(row.parts) <= 1 else f"{row.id}@{part}"


def completion_prior(chronology: Chronology, curve: SerialCurve | None) -> npt.NDArray[np.float64]:
    """Return P(T): production by month, with a share spread evenly over the whole grid."""
    grid = chronology.completion
    first, last = parse_month(chronology.production.first), parse_month(chronology.production.last)
    volume = np.zeros(len(grid))
    by_year = chronology.prior.volume
    for place, month in enumerate(grid):
        if not first <= month <= last:
            continue
        if isinstance(by_year, Mapping):
            volume[place] = by_year.get(str(month // MONTHS_A_YEAR), 0.0)
        else:
            volume[place] = 1.0 if curve is None else curve.rate(month)
    even = chronology.prior.uniform_share
    prior = (1 - even) * volume / volume.sum() + even / len(grid)
    return np.asarray(prior, dtype=np.float64)


def lag_distribution(table: LagTable) -> tuple[float, ...]:
    """Return P(lag = 0, 1, … months): gamma by mean and sd, plus a flat tail up to its maximum."""
    shape = (table.mean / table.sd) ** 2
    scale = table.sd**2 / table.mean
    months = np.arange(table.tail_max + 1)
    points = np.linspace(-1, 1, 401)
    x = months[:, None] + points
    positive = np.maximum(x, 1e-9)
    log_density = (shape - 1) * np.log(positive / scale) - positive / scale
    if shape > 1:  # measured from the mode: a narrow lag would overflow
        log_density -= (shape - 1) * (np.log(shape - 1) - 1)
    density = np.exp(log_density) * (x > 0)
    weights = np.ones(len(points))
    weights[1:-1:2], weights[2:-1:2] = 4, 2
    mass = density @ (weights * (1 - np.abs(points)))
    if not mass.sum() > 0:
        raise ModelError(
            "a lag lies beyond its longest month",
            received=f"mean {table.mean:g}, tail_max {table.tail_max}",
            remedy="Raise tail_max, or correct the mean.",
        )
    tail = np.where(months > 0, table.tail_weight / table.tail_max, 0.0)
    whole = (1 - table.tail_weight) * mass / mass.sum() + tail
    return tuple(whole / whole.sum())


def doubted(lag: tuple[float, ...], doubt: float) -> tuple[float, ...]:
    """Smear P(lag) by a Gaussian of *doubt* months, within the months it has."""
    if doubt == 0:
        return lag
    months = np.arange(len(lag))
    kernel = np.exp(-0.5 * ((months[:, None] - months) / doubt) ** 2)
    return tuple((kernel / kernel.sum(axis=0) @ np.asarray(lag)).tolist())


def gap_distribution(first: int, last: int, half_life: float) -> tuple[float, ...]:
    """Return P(gap) of period replacements, halving every *half_life* months either way from 0."""
    weight = 0.5 ** (np.abs(np.arange(first, last + 1)) / half_life)
    return tuple(weight / weight.sum())


def _part(row: PartRow, lag_doubt: float, *, short: bool) -> Part:
    lag = None if row.lag is None else doubted(lag_distribution(row.lag), lag_doubt)
    if row.form == "anchor":
        certain = (1.0, 0.0)
        return Part(row.key, ANCHOR_STATES, ANCHOR_TIMING, certain, certain if short else None, lag)
    states, timing = (PART_STATES, PART_TIMING)
    if row.form == "finish":
        states, timing = (FINISH_STATES, FINISH_TIMING)
    if short:
        return Part(row.key, states, timing, row.undisturbed or (), row.disturbed or (), lag)
    levels = tuple(_level(one) for one in row.levels)
    return Part(row.key, states, timing, row.unreached, lag=lag, levels=levels)


def _level(one: LevelTable) -> Level:
    return Level(_ways(one.path), one.p)


def transition(change: Change) -> Transition:
    """Return centre and width of a change-over from what was seen of it."""
    new, old = parse_month(change.first_new), parse_month(change.last_old)
    width = change.width or max(LEAST_WIDTH, WIDTH_SHARE * abs(old - new))
    return Transition((new + old) / 2, width)


def curve_of(change: Change) -> Transition | LearnedTransition:
    """Return a change-over as it was learned, else as its two months have it."""
    return transition(change) if change.learned is None else _tabulated(change.learned)


def _tabulated(curve: LearnedCurve) -> LearnedTransition:
    return LearnedTransition(parse_month(curve.first), tuple(curve.values))


def _feature(row: FeatureRow, part: str) -> Feature:
    variants = (*row.variants, NON_FACTORY)
    factory = (1 - NON_FACTORY_SHARE) / len(row.variants)
    later = (factory,) * len(row.variants) + (NON_FACTORY_SHARE,)
    passing = None
    changes = tuple(curve_of(one) for one in row.change)
    if row.passing is not None and row.passing.learned is not None:
        changes = (_tabulated(row.passing.learned),)
    elif row.passing is not None:
        first, last = parse_month(row.passing.first), parse_month(row.passing.last)
        passing = (first - 0.5, last + 0.5, row.passing.share, row.passing.edge)
    return Feature(feature_on(row, part), part, variants, changes, later, row.error, passing)


def _signs(row: SignRow) -> list[Sign]:
    table = tuple(tuple(cells) for cells in row.table)
    outcomes = tuple(row.outcomes)
    if row.assembly is not None:
        return [Sign(row.id, outcomes, table, None, row.assembly, row.error, row.group)]
    of_parts = [
        Sign(sign_on(row, part), outcomes, table, part, None, row.error, row.group)
        for part in row.parts
    ]
    of_openings = [
        Sign(f"{row.id}@{name}", outcomes, table, None, None, row.error, row.group, name)
        for name in dict.fromkeys(row.openings.values())
    ]
    return of_parts + of_openings
