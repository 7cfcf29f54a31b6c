"""What a shop could have got wrong: the same model with one table changed at a time.

The changes are those of the method's section 3 (``docs/methods/doubts.md``): every error times
0.3 and 3, every reading of a mark as good as its rivals, P(disturbed) times 0.5 and 2, with
openings and whole swaps in the same way, the odds of a life in which little was touched (the
first history class) and of an instrument put together from several, openings that go along with
others, careful hands and tightened screws times 0.5 and 2, mean lag times 0.5 and 2, left-over
share times 0 and 2, serial scale times 0.5 and 2, no knowledge of how many were made when, a flat
prior; and the share of period replacements among replacements at 0, 0.25, 0.5 and 0.75, because
whoever replaces a part chooses one whose date fits. A change that would change nothing is left
out. The factors are choices: they span what a shop could have got wrong, they are not a
distribution over it, and rows change one table at a time. A lag is split into its left-over
share, the largest even share that lies under all its months, and the rest; the rest is stretched
by spreading each month evenly over the months it comes to lie on. The common failure of a group
of signs is not an error of one observation and stays.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from heelstamp.dating.elements import ModelError
from heelstamp.dating.evidence import Document, Evidence, Mark, MixedSet, Observation, ScrewsSeen
from heelstamp.dating.model import Array, DatingModel, Part, Timing
from heelstamp.dating.structure import exclusive_sets

ERRORS = (0.3, 3.0)
DISTURBED = (0.5, 2.0)
CAREFUL = (0.5, 2.0)
ALONG = (0.5, 2.0)
HISTORY = (0.5, 2.0)
TIGHTENED = (0.5, 2.0)
LAGS = (0.5, 2.0)
LEFT_OVER = (0.0, 2.0)
SERIAL_SCALES = (0.5, 2.0)
MATCHED = (0.0, 0.25, 0.5, 0.75)

LARGEST = 0.95
"""No error, and no left-over share, is raised above this."""

UNCHANGED = 1e-12
"""A prior that moves by no more than this in any month is the same."""


@dataclass(frozen=True)
class Assumption:
    """One changed table: what was changed, by how much, and what inference takes instead."""

    name: str
    factor: float
    model: DatingModel
    evidence: Evidence


def assumptions(
    model: DatingModel, evidence: Evidence, matched: Sequence[str] | None = None
) -> tuple[Assumption, ...]:
    """Change one table after the other; see `sensitivity`."""
    found = [
        Assumption("errors", factor, *_with_errors(model, evidence, factor)) for factor in ERRORS
    ]
    even_readings = tuple(_with_even_readings(one) for one in evidence)
    if even_readings != tuple(evidence):
        found.append(Assumption("readings", 1.0, model, even_readings))
    found += [
        Assumption("disturbed", factor, _with_disturbed(model, factor), evidence)
        for factor in DISTURBED
    ]
    if model.openings:
        found += [
            Assumption("careful", factor, _with_careful(model, factor), evidence)
            for factor in CAREFUL
        ]
    for name, classes in (("kept", [model.history[0][0]]), ("assembled", model.assembled)):
        if 0 < sum(p for one, p in model.history if one in classes) < 1:
            found += [
                Assumption(name, factor, with_history(model, classes, factor), evidence)
                for factor in HISTORY
            ]
    if any(one.along for one in model.openings):
        found += [
            Assumption("along", factor, _with_along(model, factor), evidence) for factor in ALONG
        ]
    if any(isinstance(one, ScrewsSeen) for one in evidence):
        found += [
            Assumption("tightened", factor, _with_tightened(model, factor), evidence)
            for factor in TIGHTENED
        ]
    found += [
        Assumption("lag", factor, _with_lags(model, factor, 1.0), evidence) for factor in LAGS
    ]
    found += [
        Assumption("left over", factor, _with_lags(model, 1.0, factor), evidence)
        for factor in LEFT_OVER
    ]
    if model.serial is not None:
        found += [
            Assumption(
                "serial scale",
                factor,
                replace(model, serial=replace(model.serial, scale=factor * model.serial.scale)),
                evidence,
            )
            for factor in SERIAL_SCALES
        ]
    volume = without_volume(model.prior)
    if np.abs(volume - model.prior).max() > UNCHANGED:
        found.append(Assumption("volume", 1.0, replace(model, prior=volume), evidence))
    even = np.full(len(model.completion), 1 / len(model.completion))
    found.append(Assumption("flat prior", 1.0, replace(model, prior=even), evidence))
    names = [part.name for part in model.parts] if matched is None else matched
    found += [
        Assumption("matched", share, with_matched_share(model, share, names), evidence)
        for share in MATCHED
    ]
    return tuple(found)


def with_matched_share(model: DatingModel, share: float, parts: Sequence[str]) -> DatingModel:
    """Set the share of period replacements among all replacements, which keep their total.

    A part that can be replaced in that one way only, or not at all, stays as it is.
    """

    def moved(part: Part, row: tuple[float, ...]) -> tuple[float, ...]:
        p = np.array(row)
        period = np.array([timing is Timing.PERIOD for timing in part.timing])
        other = np.array([timing in (Timing.LATER, Timing.DONOR) for timing in part.timing])
        total = p[period].sum() + p[other].sum()
        if not (period.any() and p[other].sum() > 0):
            return row
        weight = p[period] if p[period].sum() > 0 else np.ones(period.sum())
        p[period] = share * total * weight / weight.sum()
        p[other] *= (1 - share) * total / p[other].sum()
        return tuple(p.tolist())

    return replace(
        model,
        parts=tuple(
            part.with_tables([moved(part, row) for row in part.tables])
            if part.name in parts
            else part
            for part in model.parts
        ),
    )


def changed_lag(
    lag: Sequence[float], mean: float, left_over: float, longest: int
) -> tuple[float, ...]:
    """Stretch a lag and scale its left-over share.

    Parameters
    ----------
    lag
        P(lag = 0, 1, … months).
    mean, left_over
        Factors on the mean of the rest and on the left-over share.
    longest
        Months the result may have at most; what would lie beyond is left out, and the rest
        normalised.
    """
    p = np.asarray(lag, dtype=float)
    share = len(p) * float(p.min())
    rest = p - p.min()
    edges = mean * np.arange(len(p) + 1)
    count = min(longest, max(len(p), int(np.ceil(edges[-1]))))
    below = np.interp(np.arange(count + 1), edges, np.concatenate([[0.0], np.cumsum(rest)]))
    stretched = np.diff(below)
    tail = min(max(LARGEST, share), left_over * share)
    if not stretched.sum() > 0:
        return tuple(p.tolist())  # all of it is left-over stock: nothing to stretch
    result = (1 - tail) * stretched / stretched.sum()
    result[: len(p)] += tail / min(len(p), count)
    return tuple((result / result.sum()).tolist())


def _with_lags(model: DatingModel, mean: float, left_over: float) -> DatingModel:
    room = model.completion.first - model.marks.first + 1

    def changed(lag: tuple[float, ...]) -> tuple[float, ...]:
        return changed_lag(lag, mean, left_over, max(room, len(lag)))

    return replace(
        model,
        lag=changed(model.lag),
        parts=tuple(
            part if part.lag is None else replace(part, lag=changed(part.lag))
            for part in model.parts
        ),
    )


def without_volume(prior: Array) -> Array:
    """P(T) with as many made in each month of production; the share spread evenly stays.

    Months of production are those likelier than the least likely month of the grid.
    """
    p = np.asarray(prior, dtype=float)
    even = float(p.min())
    made = p > even * (1 + 1e-9)
    if not made.any():
        return p
    return np.where(made, (1 - even * len(p)) / made.sum(), 0.0) + even


def _with_even_readings(one: Observation) -> Observation:
    """Give every reading of a mark the same weight; together they keep theirs."""
    if not isinstance(one, Mark) or len({r.weight for r in one.readings}) < 2:
        return one
    weight = sum(r.weight for r in one.readings) / len(one.readings)
    return replace(one, readings=tuple(replace(r, weight=weight) for r in one.readings))


def _with_along(model: DatingModel, factor: float) -> DatingModel:
    return replace(
        model,
        openings=tuple(
            replace(
                one, along={name: min(1.0, factor * share) for name, share in one.along.items()}
            )
            for one in model.openings
        ),
    )


def _with_tightened(model: DatingModel, factor: float) -> DatingModel:
    share = min(max(LARGEST, model.screws.tightened), factor * model.screws.tightened)
    return replace(model, screws=replace(model.screws, tightened=share))


def _with_disturbed(model: DatingModel, factor: float) -> DatingModel:
    def scaled(row: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(min(1.0, factor * p) for p in row)

    sets = list(model.sets)
    for places in exclusive_sets(model):  # those that exclude each other stay possible together
        rows = zip(*(model.sets[place].p for place in places), strict=True)
        most = [max(1.0, factor * sum(row)) for row in rows]
        for place in places:
            p = zip(model.sets[place].p, most, strict=True)
            sets[place] = replace(sets[place], p=tuple(factor * one / top for one, top in p))
    return replace(
        model,
        assemblies=tuple(replace(one, disturbed=scaled(one.disturbed)) for one in model.assemblies),
        openings=tuple(replace(one, p=scaled(one.p)) for one in model.openings),
        sets=tuple(sets),
    )


def with_history(model: DatingModel, classes: Collection[str], factor: float) -> DatingModel:
    """Multiply the odds of some history classes together, which keep their shares of the whole.

    Raises
    ------
    ModelError
        The classes have no probability between them, or all of it.
    """
    chosen = sum(p for name, p in model.history if name in classes)
    if not 0 < chosen < 1:
        raise ModelError(
            "the odds of these history classes cannot be moved",
            received=", ".join(classes),
            remedy="Name classes with a probability above 0 and below 1 together.",
        )
    moved = factor * chosen / (1 - chosen + factor * chosen)
    return replace(
        model,
        history=tuple(
            (name, p * (moved / chosen if name in classes else (1 - moved) / (1 - chosen)))
            for name, p in model.history
        ),
    )


def _with_careful(model: DatingModel, factor: float) -> DatingModel:
    return replace(
        model,
        careful={name: min(LARGEST, factor * share) for name, share in model.careful.items()},
        careful_default=min(LARGEST, factor * model.careful_default),
    )


def _with_errors(
    model: DatingModel, evidence: Evidence, factor: float
) -> tuple[DatingModel, Evidence]:
    def scaled(error: float) -> float:
        return min(max(LARGEST, error), factor * error)

    def changed(one: Observation) -> Observation:
        if isinstance(one, Mark):
            return replace(one, error=scaled(one.error))
        if isinstance(one, MixedSet):
            return replace(one, error=scaled(one.error))
        if isinstance(one, Document):
            return replace(one, reliability=1 - scaled(1 - one.reliability))
        return one

    serial = model.serial
    return (
        replace(
            model,
            features=tuple(replace(one, error=scaled(one.error)) for one in model.features),
            signs=tuple(replace(one, error=scaled(one.error)) for one in model.signs),
            screws=replace(model.screws, error=scaled(model.screws.error)),
            serial=None if serial is None else replace(serial, error=scaled(serial.error)),
        ),
        tuple(changed(one) for one in evidence),
    )
