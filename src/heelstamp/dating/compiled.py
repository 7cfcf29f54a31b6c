"""Tables of a model that do not depend on any observation; kernels are made when first used."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace

import numpy as np

from heelstamp.dating.changeover import FeatureTables, SerialTables
from heelstamp.dating.contexts import Contexts, Pattern, Told, modes_of
from heelstamp.dating.evidence import Evidence
from heelstamp.dating.model import Array, DatingModel, Part, Sign, Timing
from heelstamp.dating.shape import Shapes
from heelstamp.dating.timing import Lag, MarkKernels, Spread, later_scale, windows

_MONTHS = ("completion", "gap_first", "gap")
_MADE = (*_MONTHS, "marks", "later_from")
"""What kernels of marks hang on beside lag and spread."""

TIMINGS = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)


def _by_class(model: DatingModel, part: Part) -> Array:
    tables = modes_of(model, part.name)
    found = np.zeros((len(part.states), len(tables), len(TIMINGS)))
    for i, timing in enumerate(part.timing):
        found[i, :, TIMINGS.index(timing)] = tables[:, i]
    return found


def _likelihood(sign: Sign, outcome: int) -> Array:
    """P(outcome | state or opening): (1 - e) table + e / outcomes; openings have three rows."""
    table = sign.table if sign.assembly is None else (*sign.table, sign.table[1])
    column = np.array([row[outcome] for row in table])
    return (1 - sign.error) * column + sign.error / len(sign.outcomes)


def _ones(sign: Sign) -> Array:
    return np.ones(len(sign.table) + (sign.assembly is not None))


def _same(one: DatingModel, other: DatingModel, *fields: str) -> bool:
    """Whether fields are the very same in both, as they are where one was made from the other."""
    return all(getattr(one, field) is getattr(other, field) for field in fields)


def _feature_tables(model: DatingModel, like: CompiledModel | None) -> list[FeatureTables]:
    """The tables of all features; from *like* what differs in its share of mistakes at most."""
    if like is None or not _same(model, like.model, *_MONTHS):
        return [FeatureTables.make(model, one) for one in model.features]
    known = {
        one.name: (one, table)
        for one, table in zip(like.model.features, like.features, strict=True)
    }
    found = []
    for one in model.features:
        if one.name not in known:
            found.append(FeatureTables.make(model, one))
            continue
        other, table = known[one.name]
        if other is one:
            found.append(table)
        elif other == replace(one, error=other.error):
            found.append(table.with_error_of(one))
        else:
            found.append(FeatureTables.make(model, one))
    return found


def _state_priors(model: DatingModel, like: CompiledModel | None) -> list[Array]:
    """P(state | table) of all parts; from *like* those of parts that are the very same."""
    if (
        like is None
        or not _same(model, like.model, "assemblies")
        or _swaps(model) != _swaps(like.model)
    ):
        return [_by_class(model, one) for one in model.parts]
    known = {id(one): table for one, table in zip(like.model.parts, like.state_prior, strict=True)}
    return [known[id(one)] if id(one) in known else _by_class(model, one) for one in model.parts]


def _swaps(model: DatingModel) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """The parts of each set, and the states they then may have."""
    return [(one.parts, tuple(one.source)) for one in model.sets]


@dataclass(frozen=True)
class SignGroup:
    """Signs that speak of one part or opening and fail together; one sign alone never fails.

    Attributes
    ----------
    part, opening
        Positions; one of them is None.
    columns
        Positions of the signs.
    failure
        k: the group counts as (1 - k) prod P(outcome) + k prod 1 / outcomes.
    """

    part: int | None
    opening: int | None
    columns: tuple[int, ...]
    failure: float


def _sign_groups(model: DatingModel) -> tuple[SignGroup, ...]:
    parts = {one.name: i for i, one in enumerate(model.parts)}
    openings = {one.name: i for i, one in enumerate(model.every_opening)}
    columns: dict[tuple[str | int, int | None, int | None], list[int]] = defaultdict(list)
    for column, one in enumerate(model.signs):
        part = None if one.part is None else parts[one.part]
        opening = None if one.part is not None else openings[one.opening or one.assembly or ""]
        columns[column if one.group is None else one.group, part, opening].append(column)
    return tuple(
        SignGroup(
            part, opening, tuple(ones), model.group_failure[group] if type(group) is str else 0.0
        )
        for (group, part, opening), ones in columns.items()
    )


@dataclass(frozen=True)
class MadeKernels:
    """Kernels of marks by lag and spread, made when first used; without spread by lag and class."""

    kernels: dict[tuple[Lag, Spread], MarkKernels] = field(default_factory=dict)
    plain: dict[tuple[Lag, int], Array] = field(default_factory=dict)


class CompiledModel:
    """A ``DatingModel`` made ready for inference; worth keeping between calls.

    Attributes
    ----------
    features, serial
        Likelihood tables by timing class.
    variants, outcomes
        (column, number) of each (feature, variant) and each (sign, outcome).
    sign_tables
        For each sign P(outcome | state; or closed, opened, opened by a careful hand),
        (outcomes + 1, states or 3); the last row, ones, stands for *not observed*.
    sign_groups
        Signs by what they speak of and with which they fail.
    shapes, whole
        Shapes of the models made from one another, and this one's: the model cut into assemblies.
    columns
        Where each marginal stands in a posterior.
    careful
        P(a careful hand left no trace) of each opening's access.
    state_prior
        For each part P(state | table that holds) in the column of the state's timing class,
        (states, tables, 4), and zero in the other columns; tables as ``modes_of`` gives them.
    has_donor
        For each part whether it has a state *from another instrument*.
    made
        Kernels of marks, shared by models made from one another whose months are the same.
    rival
        The model with a foreign anchor, once ``identity`` has made it.
    surprises
        The evidence that ``checks`` was last asked about, and how surprising each piece of it is.
    """

    def __init__(self, model: DatingModel, like: CompiledModel | None = None) -> None:
        """Tabulate *model*; what it has in common with *like* is taken from there."""
        self.model = model
        self.prior = np.asarray(model.prior, dtype=float)
        self.features = _feature_tables(model, like)
        self.feature_index = {one.name: i for i, one in enumerate(model.features)}
        self.feature_of_part: dict[str, list[int]] = defaultdict(list)
        for i, one in enumerate(model.features):
            self.feature_of_part[one.part].append(i)
        self.serial: SerialTables | None = None
        if model.serial is not None:
            if like is not None and _same(model, like.model, *_MONTHS, "prior", "serial"):
                self.serial = like.serial
            else:
                self.serial = SerialTables(model, model.serial)
        self.variants = {
            (one.name, variant): (column, place)
            for column, one in enumerate(model.features)
            for place, variant in enumerate(one.variants)
        }
        self.signs = {one.name: one for one in model.signs}
        self.outcomes = {
            (one.name, outcome): (column, place)
            for column, one in enumerate(model.signs)
            for place, outcome in enumerate(one.outcomes)
        }
        signs_alike = like is not None and _same(model, like.model, "signs")
        self.sign_tables: list[Array] = (
            like.sign_tables
            if like is not None and signs_alike
            else [
                np.stack([*(_likelihood(one, i) for i in range(len(one.outcomes))), _ones(one)])
                for one in model.signs
            ]
        )
        self.sign_groups = _sign_groups(model)
        self.part_index = {one.name: i for i, one in enumerate(model.parts)}
        self.set_index = {one.name: i for i, one in enumerate(model.sets)}
        self.batch_of_part = {part: one for one in model.batches for part in one.parts}
        self.even_later, self.scaled_later = later_scale(model)
        self.history = np.array([p for _, p in model.history])
        self.shapes: Shapes = Shapes() if like is None else like.shapes
        self._shape = self.shapes.of(model)
        self.whole, self.columns = self._shape.whole, self._shape.columns
        self.careful = [model.careful_share(one.access) for one in model.every_opening]
        self.state_prior = _state_priors(model, like)
        self.has_donor = [Timing.DONOR in one.timing for one in model.parts]
        self.rival: CompiledModel | None = None
        self.surprises: tuple[Evidence, tuple[float | None, ...]] | None = None
        self._told: dict[tuple[int, Pattern], tuple[Contexts, Told]] = {}
        alike = like if like is not None and _same(model, like.model, *_MADE) else None
        self.made: MadeKernels = alike.made if alike else MadeKernels()

    def contexts(self, cut: int, pattern: Pattern) -> tuple[Contexts, Told]:
        """The contexts of the assembly at *cut* for what was looked at, and what they say."""
        key = (cut, pattern)
        if key not in self._told:
            found = self._shape.contexts(cut, pattern)
            self._told[key] = found, Told.of(found, self.model, self.columns)
        return self._told[key]

    def lag_of(self, part: str) -> Lag:
        """P(lag) of a part as built."""
        return self.model.part(part).lag or self.model.lag

    def kernels(self, part: str, spread: Spread) -> MarkKernels:
        """The kernels for marks with *spread* on *part*."""
        key = (self.lag_of(part), spread)
        if key not in self.made.kernels:
            self.made.kernels[key] = MarkKernels.make(self.model, *key)
        return self.made.kernels[key]

    def plain_kernel(self, part: str, place: int) -> Array:
        """The windows of *part* without spread, for products of make-month functions.

        *place* is that of the timing class in ``TIMINGS``; later windows are still to be scaled.
        """
        key = (self.lag_of(part), place)
        if key not in self.made.plain:
            exact = ((0, 1.0),)
            base = MarkKernels.make(self.model, key[0], exact).base[place]
            count = len(self.model.marks) + len(self.model.completion) - 1
            self.made.plain[key] = windows(base[:count], len(self.model.completion))
        return self.made.plain[key]
