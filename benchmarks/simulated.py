"""Instruments drawn from a dating model: what the speed figures are taken on.

A completion month, history class, disturbance of each assembly, state and make month of each part
are drawn from the model's own tables, then what an examiner would see of them. Part of the
observations is missing, as on a real bench: about 20 to 26 remain of an instrument of 12 parts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heelstamp.dating import (
    DatingModel,
    Evidence,
    Feature,
    FeatureSeen,
    Mark,
    Observation,
    Reading,
    SerialNumber,
    SignSeen,
    Timing,
)
from heelstamp.dating.changeover import variant_curves
from heelstamp.units import Month, Period

LOOKED_AT = 0.93
"""Share of features and signs that were looked at and could be judged."""

STAMP_SPREAD = ((-1, 0.2), (0, 0.6), (1, 0.2))
"""A stamped week may name the month before or after the one the part was made in."""

GARBAGE = 0.01
"""Share of mistaken readings."""

YEAR_WRITTEN_WITH_ONE_DIGIT = 0.6
"""Share of stamped codes whose year repeats every ten years."""


@dataclass(frozen=True)
class MarkedPart:
    """How often a part's mark can be read, and whether it is a stamped code."""

    part: str
    readable: float
    stamped: bool


MARKED = (
    MarkedPart("neck", 0.6, False),
    MarkedPart("body", 0.4, False),
    MarkedPart("pickups", 0.4, False),
    MarkedPart("pot_a", 0.95, True),
    MarkedPart("pot_b", 0.95, True),
)


def draw_instruments(model: DatingModel, count: int, seed: int) -> list[Evidence]:
    """Draw *count* instruments and what was seen of them."""
    random = np.random.default_rng(seed)
    curves = {
        one.name: variant_curves(one, np.arange(model.marks.first, model.marks.last + 1))
        for one in model.features
    }
    return [_Instrument(model, random, curves).seen() for _ in range(count)]


class _Instrument:
    """One drawn instrument."""

    def __init__(
        self, model: DatingModel, random: np.random.Generator, curves: dict[str, np.ndarray]
    ) -> None:
        self.model, self.random, self.curves = model, random, curves
        self.completed = model.completion.first + self._choose(model.prior)
        history = self._choose([p for _, p in model.history])
        self.disturbed = {
            one.name: int(random.random() < one.disturbed[history]) for one in model.assemblies
        }
        self.state: dict[str, int] = {}
        self.timing: dict[str, Timing] = {}
        self.made: dict[str, Month] = {}
        for assembly in model.assemblies:
            for name in assembly.parts:
                self._fit(name, self.disturbed[assembly.name])

    def _choose(self, shares: object) -> int:
        shares = np.asarray(shares, dtype=float)
        return int(self.random.choice(len(shares), p=shares / shares.sum()))

    def _fit(self, name: str, disturbed: int) -> None:
        part = self.model.part(name)
        state = self._choose(part.disturbed if disturbed else part.undisturbed)
        timing = part.timing[state]
        self.state[name], self.timing[name] = state, timing
        if timing is Timing.PERIOD:
            gap = self.model.gap_first + self._choose(self.model.gap)
            self.made[name] = self.completed + gap
        elif timing is Timing.BUILT:
            self.made[name] = self.completed - self._choose(part.lag or self.model.lag)
            for batch in self.model.batches:
                for other in batch.parts:
                    if name in batch.parts and self.timing.get(other) is Timing.BUILT:
                        self.made[name] = self.made[other]
        else:
            begin = self.completed + self.model.later_from
            if self.random.random() < self.model.later_anywhere:
                begin = self.model.marks.first
            self.made[name] = int(self.random.integers(begin, self.model.marks.last + 1))

    def seen(self) -> Evidence:
        """The observations that an examiner made."""
        found: list[Observation] = [
            self._mark(marked) for marked in MARKED if self.random.random() < marked.readable
        ]
        found += [
            FeatureSeen(feature.name, self._variant(feature))
            for feature in self.model.features
            if self.random.random() < LOOKED_AT
        ]
        serial = self.model.serial
        if serial is not None and self.random.random() < LOOKED_AT:
            away = round(serial.scale * self.random.standard_t(3))
            found.append(SerialNumber(((self.completed + away, 1.0),)))
        for sign in self.model.signs:
            if self.random.random() < LOOKED_AT:
                row = (
                    self.disturbed[sign.assembly]
                    if sign.part is None and sign.assembly is not None
                    else self.state[sign.part or ""]
                )
                found.append(SignSeen(sign.name, sign.outcomes[self._choose(sign.table[row])]))
        return tuple(found)

    def _mark(self, marked: MarkedPart) -> Mark:
        grid, month = self.model.marks, self.made[marked.part]
        if self.random.random() < GARBAGE:
            month = int(self.random.integers(grid.first, grid.last + 1))
        if not marked.stamped:
            return Mark(marked.part, (Reading(Period(month, month), 1.0),), GARBAGE)
        month += self._choose([share for _, share in STAMP_SPREAD]) - 1
        month = min(max(month, grid.first), grid.last)
        years = [month]
        if self.random.random() < YEAR_WRITTEN_WITH_ONE_DIGIT:
            # a code of this form was in use for five decades
            first = grid.first + (month - grid.first) % 120
            years = list(range(first, first + 600, 120))
        readings = tuple(Reading(Period(one, one), 1.0) for one in years)
        return Mark(marked.part, readings, GARBAGE, STAMP_SPREAD)

    def _variant(self, feature: Feature) -> str:
        timing = self.timing[feature.part]
        if timing in (Timing.LATER, Timing.DONOR):
            return feature.variants[self._choose(feature.later)]
        month = self.completed
        if timing is Timing.PERIOD:
            month = self.made[feature.part]
        place = min(max(month - self.model.marks.first, 0), len(self.model.marks) - 1)
        return feature.variants[self._choose(self.curves[feature.name][:, place])]
