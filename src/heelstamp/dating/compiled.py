"""Tables of a model that do not depend on any observation; kernels are made when first used."""

from __future__ import annotations

from collections import defaultdict

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


class CompiledModel:
    """A ``DatingModel`` made ready for inference; worth keeping between calls.

    Attributes
    ----------
    features, serial
        Likelihood tables by timing class.
    disturbed
        P(undisturbed or disturbed | history class), (assemblies, classes, 2).
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
            (one.name, outcome): _likelihood(one, place)
            for one in model.signs
            for place, outcome in enumerate(one.outcomes)
        }
        self.part_index = {one.name: i for i, one in enumerate(model.parts)}
        self.batch_of_part = {part: one for one in model.batches for part in one.parts}
        self.even_later, self.scaled_later = later_scale(model)
        self.history = np.array([p for _, p in model.history])
        disturbed = np.array([one.disturbed for one in model.assemblies])
        self.disturbed = np.stack([1 - disturbed, disturbed], axis=2)
        self.state_prior = [_by_class(one) for one in model.parts]
        self.has_donor = [Timing.DONOR in one.timing for one in model.parts]
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
