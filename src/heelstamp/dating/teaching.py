"""What a census says of one feature when it is dated without that feature.

Each instrument gives P(completion month | everything but the feature), and the chance that the
part which shows it is as built. The feature itself is taken out first: otherwise a change-over
would be learned from dates that assumed it. P(month) already holds the production volume, so no
prior is multiplied in again. Holds where the instruments were gathered without regard to the
variant; a census that only collects the rare variant moves every change-over towards it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence, FeatureSeen, SerialNumber
from heelstamp.dating.model import Array, Index, Part, Timing
from heelstamp.dating.posterior import Posterior, infer_many


@dataclass(frozen=True)
class FeatureGroup:
    """Features of a model that share their change-overs (one kind of part in several places).

    Attributes
    ----------
    names
        Features of the model.
    read_from_serial
        Whether the serial number shows the variant; the number then is left out of the dating.
    """

    names: tuple[str, ...]
    read_from_serial: bool = False


@dataclass(frozen=True)
class Teaching:
    """Looks at one feature, each dated without it.

    Attributes
    ----------
    months
        P(completion month | everything else), (looks, months).
    built, period
        P(the part is as built, or a replacement of the period | everything else), (looks,).
    variants
        Position of the variant seen, (looks,).
    instruments
        Position in the census, (looks,).
    """

    months: Array
    built: Array
    period: Array
    variants: Index
    instruments: Index

    @property
    def count(self) -> int:
        """How many looks there are."""
        return len(self.variants)


def dated_without(
    compiled: CompiledModel,
    census: Sequence[Evidence],
    group: FeatureGroup,
    without: Collection[str] = (),
) -> Teaching:
    """Date every instrument that shows a feature of *group* without it.

    Parameters
    ----------
    census
        Everything seen on each instrument.
    without
        Further features that are left out of the dating.
    """
    looks = _looks(census, group)
    places = np.unique(np.array([place for place, _ in looks], dtype=np.intp))
    posterior = _infer_without(
        compiled, [census[place] for place in places], {*group.names, *without}, group
    )
    rows = {int(place): row for row, place in enumerate(places)}
    return _teaching(posterior, looks, [rows[place] for place, _ in looks])


def dated_without_any(
    compiled: CompiledModel,
    census: Sequence[Evidence],
    groups: Sequence[FeatureGroup],
    without: Collection[str],
) -> dict[FeatureGroup, Teaching]:
    """Date the census without all of *without*, features of the groups among them, once for all.

    As ``dated_without`` for each group, but that instruments are dated once, and once more without
    their numbers where a group is read from these.
    """
    dated: dict[bool, Posterior] = {}
    found = {}
    for group in groups:
        if group.read_from_serial not in dated:
            dated[group.read_from_serial] = _infer_without(compiled, census, set(without), group)
        looks = _looks(census, group)
        posterior = dated[group.read_from_serial]
        found[group] = _teaching(posterior, looks, [place for place, _ in looks])
    return found


def _looks(census: Sequence[Evidence], group: FeatureGroup) -> list[tuple[int, FeatureSeen]]:
    """Every look at a feature of *group*, with its instrument's position."""
    return [
        (place, one)
        for place, evidence in enumerate(census)
        for one in evidence
        if isinstance(one, FeatureSeen) and one.feature in group.names
    ]


def _infer_without(
    compiled: CompiledModel, census: Sequence[Evidence], out: set[str], group: FeatureGroup
) -> Posterior:
    return infer_many(
        compiled, [tuple(one for one in seen if not _left_out(one, out, group)) for seen in census]
    )


def _teaching(
    posterior: Posterior, looks: Sequence[tuple[int, FeatureSeen]], rows: Sequence[int]
) -> Teaching:
    features = {one.name: one for one in posterior.model.features}
    built, period = np.empty(len(looks)), np.empty(len(looks))
    variants = np.empty(len(looks), dtype=np.intp)
    for look, ((_, seen), row) in enumerate(zip(looks, rows, strict=True)):
        feature = features[seen.feature]
        part = posterior.model.part(feature.part)
        states = posterior.states[part.name][row]
        built[look] = states @ _of_class(part, Timing.BUILT)
        period[look] = states @ _of_class(part, Timing.PERIOD)
        variants[look] = feature.variant(seen.variant)
    places = np.array([place for place, _ in looks], dtype=np.intp)
    months = posterior.months[np.array(rows, dtype=np.intp)]
    return Teaching(months, built, period, variants, places)


def dated_without_serial(
    compiled: CompiledModel, census: Sequence[Evidence], read_from_serial: Collection[str]
) -> tuple[Array, Array]:
    """Date instruments without number and prefix: (n, months), and P(plate is as built), (n,)."""
    group = FeatureGroup(tuple(read_from_serial), read_from_serial=True)
    out = set(group.names)
    rows = [tuple(one for one in seen if not _left_out(one, out, group)) for seen in census]
    posterior = infer_many(compiled, rows)
    scheme = compiled.model.serial
    assert scheme is not None
    part = compiled.model.part(scheme.part)
    return posterior.months, posterior.states[part.name] @ _of_class(part, Timing.BUILT)


def _left_out(one: object, out: Collection[str], group: FeatureGroup) -> bool:
    if isinstance(one, FeatureSeen):
        return one.feature in out
    return group.read_from_serial and isinstance(one, SerialNumber)


def _of_class(part: Part, timing: Timing) -> Array:
    return np.array([float(one is timing) for one in part.timing])


def beside_the_point(compiled: CompiledModel, name: str, teaching: Teaching) -> Array:
    """The part of each look's likelihood that no change-over of built parts can move.

    P(period) sum_t p(t) P(variant | period, t) at the model's present curves, P(later or from
    another instrument) P(variant | later), and the share of mistaken looks; (looks,).
    """
    place = compiled.feature_index[name]
    feature, tables = compiled.model.features[place], compiled.features[place]
    period = np.einsum("nm,nm->n", teaching.months, tables.timed[teaching.variants, 1])
    rest = np.clip(1 - teaching.built - teaching.period, 0, 1)
    mistaken = teaching.built * feature.error / len(feature.variants)
    return np.asarray(
        teaching.period * period + rest * tables.later[teaching.variants] + mistaken,
        dtype=np.float64,
    )
