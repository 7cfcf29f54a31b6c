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
from heelstamp.dating.posterior import infer_many


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
    out = {*group.names, *without}
    rows: list[Evidence] = []
    looks: list[tuple[int, str, str]] = []  # row, feature, variant
    places: list[int] = []
    for place, evidence in enumerate(census):
        seen = [
            one for one in evidence if isinstance(one, FeatureSeen) and one.feature in group.names
        ]
        if not seen:
            continue
        looks += [(len(rows), one.feature, one.variant) for one in seen]
        places += [place] * len(seen)
        rows.append(tuple(one for one in evidence if not _left_out(one, out, group)))
    posterior = infer_many(compiled, rows)
    by_part = {name: compiled.model.features[compiled.feature_index[name]] for name in group.names}
    built, period = np.empty(len(looks)), np.empty(len(looks))
    variants = np.empty(len(looks), dtype=np.intp)
    for look, (row, name, variant) in enumerate(looks):
        part = compiled.model.part(by_part[name].part)
        states = posterior.states[part.name][row]
        built[look] = states @ _of_class(part, Timing.BUILT)
        period[look] = states @ _of_class(part, Timing.PERIOD)
        variants[look] = by_part[name].variant(variant)
    order = np.array([row for row, _, _ in looks], dtype=np.intp)
    return Teaching(posterior.months[order], built, period, variants, np.array(places, np.intp))


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
    """Give the part of each look's likelihood that no change-over of built parts can move.

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
