"""Tables of a model that do not depend on any observation; kernels are made when first used."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from heelstamp.dating.changeover import FeatureTables, SerialTables
from heelstamp.dating.model import Array, DatingModel, Part, Sign, Timing
from heelstamp.dating.timing import (
    Lag,
    MarkKernels,
    Spread,
    difference_kernel,
    later_scale,
    windows,
)

TIMINGS = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)


def _by_class(part: Part) -> Array:
    table = np.zeros((len(part.states), 2, len(TIMINGS)))
    for i, timing in enumerate(part.timing):
        table[i, :, TIMINGS.index(timing)] = part.undisturbed[i], part.disturbed[i]
    return table


def _likelihood(sign: Sign, outcome: int) -> Array:
    """P(outcome | state or disturbance): (1 - e) table + e / outcomes."""
    column = np.array([row[outcome] for row in sign.table])
    return (1 - sign.error) * column + sign.error / len(sign.outcomes)


def _ones(sign: Sign) -> Array:
    return np.ones(len(sign.table))


@dataclass(frozen=True)
class SignGroup:
    """Signs that speak of one part or assembly and fail together; one sign alone never fails.

    Attributes
    ----------
    part, assembly
        Positions; one of them is None.
    columns
        Positions of the signs.
    failure
        k: the group counts as (1 - k) prod P(outcome) + k prod 1 / outcomes.
    """

    part: int | None
    assembly: int | None
    columns: tuple[int, ...]
    failure: float


def _sign_groups(model: DatingModel) -> tuple[SignGroup, ...]:
    parts = {one.name: i for i, one in enumerate(model.parts)}
    assemblies = {one.name: i for i, one in enumerate(model.assemblies)}
    columns: dict[tuple[str | int, int | None, int | None], list[int]] = defaultdict(list)
    for column, one in enumerate(model.signs):
        part = None if one.part is None else parts[one.part]
        assembly = None if one.part is not None else assemblies[one.assembly or ""]
        columns[column if one.group is None else one.group, part, assembly].append(column)
    return tuple(
        SignGroup(
            part, assembly, tuple(ones), model.group_failure[group] if type(group) is str else 0.0
        )
        for (group, part, assembly), ones in columns.items()
    )


class CompiledModel:
    """A ``DatingModel`` made ready for inference; worth keeping between calls.

    Attributes
    ----------
    features, serial
        Likelihood tables by timing class.
    variants, outcomes
        (column, number) of each (feature, variant) and each (sign, outcome).
    sign_tables
        For each sign P(outcome | state or disturbance), (outcomes + 1, states or 2); the last
        row, ones, stands for *not observed*.
    sign_groups
        Signs by what they speak of and with which they fail.
    disturbed
        P(undisturbed or disturbed | history class), (assemblies, classes, 2).
    settled
        For each assembly whether nothing about it is open: never disturbed, and each part has
        one possible state.
    state_prior
        For each part P(state | undisturbed or disturbed) in the column of the state's timing
        class, (states, 2, 4), and zero in the other columns.
    has_donor
        For each part whether it has a state *from another instrument*.
    """

    def __init__(self, model: DatingModel, like: CompiledModel | None = None) -> None:
        """Tabulate *model*; tables are shared with *like*, which differs in states only."""
        self.model = model
        self.prior = np.asarray(model.prior, dtype=float)
        self.features: list[FeatureTables] = (
            [FeatureTables.make(model, one) for one in model.features]
            if like is None
            else like.features
        )
        self.feature_index = {one.name: i for i, one in enumerate(model.features)}
        self.feature_of_part: dict[str, list[int]] = defaultdict(list)
        for i, one in enumerate(model.features):
            self.feature_of_part[one.part].append(i)
        self.serial: SerialTables | None = None
        if model.serial is not None:
            self.serial = SerialTables.make(model, model.serial) if like is None else like.serial
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
        self.sign_tables = [
            np.stack([*(_likelihood(one, i) for i in range(len(one.outcomes))), _ones(one)])
            for one in model.signs
        ]
        self.sign_groups = _sign_groups(model)
        self.part_index = {one.name: i for i, one in enumerate(model.parts)}
        self.batch_of_part = {part: one for one in model.batches for part in one.parts}
        self.even_later, self.scaled_later = later_scale(model)
        self.history = np.array([p for _, p in model.history])
        disturbed = np.array([one.disturbed for one in model.assemblies])
        self.disturbed = np.stack([1 - disturbed, disturbed], axis=2)
        self.state_prior = [_by_class(one) for one in model.parts]
        self.has_donor = [Timing.DONOR in one.timing for one in model.parts]
        self.settled = [
            not self.disturbed[place, :, 1].any()
            and all(
                np.count_nonzero(self.state_prior[self.part_index[part]][:, 0]) == 1
                for part in one.parts
            )
            for place, one in enumerate(model.assemblies)
        ]
        self._kernels: dict[tuple[Lag, Spread], MarkKernels] = {}
        self._plain: dict[Lag, Array] = {}

    def lag_of(self, part: str) -> Lag:
        """Give P(lag) of a part as built."""
        return self.model.part(part).lag or self.model.lag

    def kernels(self, part: str, spread: Spread) -> MarkKernels:
        """Give the kernels for marks with *spread* on *part*."""
        key = (self.lag_of(part), spread)
        if key not in self._kernels:
            self._kernels[key] = MarkKernels.make(self.model, *key)
        return self._kernels[key]

    def plain_lag(self, part: str) -> Array:
        """Give the lag windows of *part* without spread, for products of make-month functions."""
        lag = self.lag_of(part)
        if lag not in self._plain:
            kernel = difference_kernel(
                self.model, tuple(reversed(lag)), -(len(lag) - 1), ((0, 1.0),)
            )
            self._plain[lag] = windows(kernel, len(self.model.completion))
        return self._plain[lag]
