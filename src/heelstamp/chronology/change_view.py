"""A change-over laid out to be looked at: its curve by month, what was seen, the census beside it.

The curve is the share of instruments *as built* that have the new variant, by month of completion;
where a feature changed more than once each change-over stands by itself, among instruments that
had passed the one before (the sequential form of ``dating.changeover``). Points are instruments
with their dated ranges. How they were dated is the caller's to say: a range that was made with the
feature shows agreement, one made without it shows evidence. Months beyond ten years either side of
the half-way month are not laid out; instruments that lie there are counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from heelstamp.chronology.contents import Chronology
from heelstamp.chronology.records import Change, FeatureRow, LearnedChange, Passing
from heelstamp.chronology.tables import dating_model, feature_on
from heelstamp.dating.changeover import happened, variant_curves
from heelstamp.dating.model import Array, DatingModel
from heelstamp.errors import InputError
from heelstamp.units import Month, Period, parse_month

REACH = 120
"""Months either side of the half-way month that are laid out at most."""

LEAST_SPAN = 60
MARGIN = 12
NEARLY = 0.01
"""Share within which a curve counts as flat."""


@dataclass(frozen=True, slots=True)
class CensusPoint:
    """One instrument beside a change-over.

    Attributes
    ----------
    id
        Row of the census, or tag of a dossier.
    months, median
        Its dated range and the middle of it.
    variant
        What was seen of the feature.
    teaches
        Whether change-overs may be learned from it: not when its features alone dated it.
    here
        Whether it is no row of the census but the instrument that is being weighed.
    """

    id: str
    months: Period
    median: Month
    variant: str
    teaches: bool = True
    here: bool = False


@dataclass(frozen=True, slots=True)
class ChangeCurve:
    """One change-over, or one batch that came and went.

    Attributes
    ----------
    old, new
        Variants before and after; of a batch, usual and passing.
    first
        Month of the first value.
    values
        Share of instruments as built that have the new variant, one a month.
    before
        The same by another edition, to compare; empty without one.
    first_new, last_old
        First month in which the new was seen, last in which the old was; of a batch, its first
        and last month.
    passing
        Whether it is a batch that came and went.
    learned_from, centre_90
        Looks from which the curve was learned, with the 90 % range of its half-way month.
    olds, news
        Instruments that show the old and the new, by median.
    """

    old: str
    new: str
    first: Month
    values: tuple[float, ...]
    before: tuple[float, ...]
    first_new: Month
    last_old: Month
    source: str
    passing: bool
    learned_from: int | None
    centre_90: Period | None
    olds: tuple[CensusPoint, ...]
    news: tuple[CensusPoint, ...]

    @property
    def last(self) -> Month:
        """Month of the last value."""
        return self.first + len(self.values) - 1

    def reached(self, share: float) -> Month | None:
        """Return the first month laid out in which the new has at least *share*."""
        found = next((k for k, value in enumerate(self.values) if value >= share), None)
        return None if found is None else self.first + found


@dataclass(frozen=True, slots=True)
class ChangeView:
    """A feature's change-overs in their order, each laid out.

    Attributes
    ----------
    feature, name
        Id and name of the feature.
    invented
        Whether the maker is invented.
    """

    feature: str
    name: str
    edition: str
    invented: bool
    changes: tuple[ChangeCurve, ...]


def change_view(
    chronology: Chronology,
    feature: str,
    points: Iterable[CensusPoint] = (),
    *,
    before: Chronology | None = None,
) -> ChangeView:
    """Lay out one feature.

    Parameters
    ----------
    feature
        Its id, or one of its other ids.
    points
        Instruments on which it was seen; variants that the factory never fitted are passed over.
    before
        Another edition whose curves are laid out beside.

    Raises
    ------
    InputError
        There is no such feature.
    """
    row = chronology.feature(feature)
    if row is None:
        raise InputError(
            "no such feature",
            where=f"chronology {chronology.id}",
            received=feature,
            remedy="See the list of the chronology.",
        )
    return change_views(chronology, {row.id: tuple(points)}, before=before, only=(row.id,))[0]


def change_views(
    chronology: Chronology,
    points: Mapping[str, Sequence[CensusPoint]] | None = None,
    *,
    before: Chronology | None = None,
    only: Sequence[str] | None = None,
) -> tuple[ChangeView, ...]:
    """Lay out all features of a chronology, in its order; *points* by id of the feature."""
    model = dating_model(chronology)
    older = None if before is None else dating_model(before)
    return tuple(
        ChangeView(
            row.id,
            row.name,
            chronology.edition,
            chronology.invented,
            tuple(_changes(chronology, row, (points or {}).get(row.id, ()), model, older)),
        )
        for row in chronology.features
        if only is None or row.id in only
    )


@dataclass(frozen=True)
class _Curves:
    """A curve on all months of the grid, with that of another edition where it has one."""

    months: npt.NDArray[np.int64]
    values: Array
    before: Array | None


def _changes(
    chronology: Chronology,
    row: FeatureRow,
    points: Sequence[CensusPoint],
    model: DatingModel,
    older: DatingModel | None,
) -> Iterable[ChangeCurve]:
    grid = chronology.completion
    months = np.arange(grid.first, grid.last + 1, dtype=np.int64)
    changes: Sequence[Change | Passing] = row.change if row.passing is None else [row.passing]
    for place, change in enumerate(changes):
        values = _curve(model, row, place, months)
        assert values is not None
        curves = _Curves(months, values, _curve(older, row, place, months))
        yield _laid_out(row, place, change, points, curves)


def _curve(
    model: DatingModel | None, row: FeatureRow, place: int, months: npt.NDArray[np.int64]
) -> Array | None:
    """Return a curve of a model; None where that edition has no such change-over."""
    name = feature_on(row, row.parts[0])
    feature = next((one for one in model.features if one.name == name), None) if model else None
    if feature is None:
        return None
    if row.passing is not None:
        curves: Array = variant_curves(feature, months)
        return np.asarray(curves[1], dtype=np.float64)
    if feature.passing is not None or place >= len(feature.transitions):
        return None
    return happened(feature.transitions[place], months)


def _laid_out(
    row: FeatureRow,
    place: int,
    change: Change | Passing,
    points: Sequence[CensusPoint],
    curves: _Curves,
) -> ChangeCurve:
    months, values = curves.months, curves.values
    ends = (
        (change.first, change.last)
        if isinstance(change, Passing)
        else (change.first_new, change.last_old)
    )
    first_new, last_old = (parse_month(one) for one in ends)
    shown = _span(months, values, (first_new, last_old), passing=isinstance(change, Passing))
    learned = change.learned
    centre = None
    if isinstance(learned, LearnedChange):
        low, high = (parse_month(one) for one in learned.centre_90)
        centre = Period(min(low, high), max(low, high))
    order = {name: number for number, name in enumerate(row.variants)}
    olds = [one for one in points if order.get(one.variant) == place]
    news = [one for one in points if order.get(one.variant, -1) > place]
    inside = (months >= shown.first) & (months <= shown.last)
    return ChangeCurve(
        old=row.variants[place],
        new=row.variants[place + 1],
        first=shown.first,
        values=tuple(values[inside].tolist()),
        before=() if curves.before is None else tuple(curves.before[inside].tolist()),
        first_new=first_new,
        last_old=last_old,
        source=change.source or row.source,
        passing=isinstance(change, Passing),
        learned_from=None if learned is None else learned.from_,
        centre_90=centre,
        olds=tuple(sorted(olds, key=lambda one: (one.median, one.id))),
        news=tuple(sorted(news, key=lambda one: (one.median, one.id))),
    )


def _span(
    months: npt.NDArray[np.int64], values: Array, window: tuple[Month, Month], *, passing: bool
) -> Period:
    """Choose the months to lay out: where the curve moves, and what was seen."""
    top = float(values.max()) or 1.0
    moving = values >= NEARLY * top
    if not passing:
        moving &= values <= top - NEARLY
    lively = months[moving] if moving.any() else np.array(window)
    middle = int(months[int(values.argmax() if passing else np.abs(values - 0.5).argmin())])
    first = min(int(lively[0]), *window) - MARGIN
    last = max(int(lively[-1]), *window) + MARGIN
    short = max(0, LEAST_SPAN - (last - first + 1))
    first, last = first - short // 2, last + (short + 1) // 2
    first, last = max(first, middle - REACH), min(last, middle + REACH)
    return Period(max(first, int(months[0])), min(last, int(months[-1])))
