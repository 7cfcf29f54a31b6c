"""Factors of one instrument as plain tables, worked out month by month without the engine.

What the peers are given: P(seen on a part | completion month, state) for each part, one joint
table for two marked parts of one lot, and P(signs | disturbed) for each assembly. Whole matrices
P(make month | completion month, timing class) are built for it, so it is slow, plain, and another
way to the same numbers. Covers what drawn instruments hold: one mark a part, lots of two.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from heelstamp.dating import (
    DatingModel,
    Evidence,
    Feature,
    FeatureSeen,
    Mark,
    Part,
    SerialNumber,
    Sign,
    SignSeen,
    Timing,
)

Table = npt.NDArray[np.float64]
FREEDOM = 3
"""Degrees of freedom of the serial kernel."""


@dataclass(frozen=True)
class PlainFactors:
    """Tables of one instrument.

    Attributes
    ----------
    parts
        (states, months) for each part.
    lots
        (months, states of the first, states of the second) for each lot with two marks.
    assemblies
        (2,) for each assembly.
    """

    parts: dict[str, Table]
    lots: dict[tuple[str, str], Table]
    assemblies: dict[str, Table]


class PlainTables:
    """The matrices of a model, made once."""

    def __init__(self, model: DatingModel) -> None:
        self.model = model
        self.months = np.arange(model.completion.first, model.completion.last + 1)
        self.grid = np.arange(model.marks.first, model.marks.last + 1)
        span = len(self.grid)
        made = self.grid[None, :]
        done = self.months[:, None]
        lag, gap = np.array(model.lag), np.array(model.gap)
        self.made = {
            Timing.BUILT: _shares(lag, done - made),
            Timing.PERIOD: _shares(gap, made - done - model.gap_first),
        }
        left = self.grid[-1] - self.months - model.later_from + 1
        late = (made >= done + model.later_from) / left[:, None]
        self.made[Timing.LATER] = model.later_anywhere / span + (1 - model.later_anywhere) * late

    def factors(self, evidence: Evidence) -> PlainFactors:
        """Work the factors of one instrument out."""
        model = self.model
        marks = {one.part: self._mark(one) for one in evidence if isinstance(one, Mark)}
        lots = [
            batch.parts for batch in model.batches if all(part in marks for part in batch.parts)
        ]
        together = {part for lot in lots for part in lot}
        parts = {}
        for part in model.parts:
            table = np.ones((len(part.states), len(self.months)))
            for one in evidence:
                table *= self._own(part, one)
            if part.name in marks and part.name not in together:
                for state, timing in enumerate(part.timing):
                    table[state] *= self.made[timing] @ marks[part.name]
            parts[part.name] = table * self._signs(evidence, part.name, None)[:, None]
        joint = {}
        for first, second in lots:
            ones, others = model.part(first), model.part(second)
            table = np.empty((len(self.months), len(ones.states), len(others.states)))
            both = self.made[Timing.BUILT] @ (marks[first] * marks[second])
            for i, timing in enumerate(ones.timing):
                for j, other in enumerate(others.timing):
                    apart = (self.made[timing] @ marks[first]) * (self.made[other] @ marks[second])
                    built = timing is Timing.BUILT and other is Timing.BUILT
                    table[:, i, j] = both if built else apart
            joint[first, second] = table
        signs = {one.name: self._signs(evidence, None, one.name) for one in model.assemblies}
        return PlainFactors(parts, joint, signs)

    def _mark(self, mark: Mark) -> Table:
        """P(mark | make month)."""
        reading = np.zeros(len(self.grid))
        for one in mark.readings:
            reading += one.weight * (
                (self.grid >= one.period.first) & (self.grid <= one.period.last)
            )
        seen = np.zeros(len(self.grid))
        for shift, share in mark.spread:
            moved = np.roll(reading, -shift)
            if shift > 0:
                moved[-shift:] = 0
            elif shift < 0:
                moved[:-shift] = 0
            seen += share * moved
        return (1 - mark.error) * seen + mark.error * reading.sum() / len(self.grid)

    def _own(self, part: Part, one: object) -> Table | float:
        """P(feature or serial | state, completion month), or 1."""
        if isinstance(one, FeatureSeen):
            feature = next(f for f in self.model.features if f.name == one.feature)
            return self._feature(feature, one.variant, part) if feature.part == part.name else 1.0
        scheme = self.model.serial
        if isinstance(one, SerialNumber) and scheme is not None and scheme.part == part.name:
            return sum(weight * self._serial(month, part) for month, weight in one.months)
        return 1.0

    def _feature(self, feature: Feature, variant: str, part: Part) -> Table:
        place = feature.variants.index(variant)
        gap = np.arange(len(self.model.gap)) + self.model.gap_first

        def curve(month: Table) -> Table:
            left = np.ones(month.shape)
            for i, change in enumerate(feature.transitions):
                done = 1 / (1 + np.exp(-np.clip((month - change.centre) / change.width, -500, 500)))
                if i == place:
                    return left * (1 - done)
                left = left * done
            return left if place == len(feature.transitions) else 0 * left

        rows = {
            Timing.BUILT: curve(self.months),
            Timing.PERIOD: curve(self.months[:, None] + gap) @ np.array(self.model.gap),
            Timing.LATER: np.full(len(self.months), feature.later[place]),
        }
        seen = np.stack([rows[timing] for timing in part.timing])
        return (1 - feature.error) * seen + feature.error / len(feature.variants)

    def _serial(self, month: int, part: Part) -> Table:
        scheme = self.model.serial
        assert scheme is not None
        first, last = int(self.months[0]), int(self.months[-1])
        nominal = min(max(month, first), last)
        gap = np.arange(len(self.model.gap)) + self.model.gap_first

        def kernel(centre: Table) -> Table:
            away = (self.months - scheme.bias - centre[..., None]) / scheme.scale
            shape = (1 + away**2 / FREEDOM) ** (-(FREEDOM + 1) / 2)
            seen = shape[..., nominal - first] / shape.sum(axis=-1)
            return (1 - scheme.error) * seen + scheme.error / len(self.months)

        prior = (1 - scheme.error) * self.model.prior + scheme.error / len(self.months)
        rows = {
            Timing.BUILT: kernel(self.months),
            Timing.PERIOD: np.array(
                [kernel(one + gap) @ np.array(self.model.gap) for one in self.months]
            ),
            Timing.LATER: np.full(len(self.months), prior[nominal - first]),
        }
        return np.stack([rows[timing] for timing in part.timing])

    def _signs(self, evidence: Evidence, part: str | None, assembly: str | None) -> Table:
        """P(signs of a part or assembly | state or disturbed)."""
        seen = {one.sign: one.outcome for one in evidence if isinstance(one, SignSeen)}
        ours = [
            sign
            for sign in self.model.signs
            if sign.name in seen and (sign.part, sign.assembly) == (part, assembly)
        ]
        states = 2 if part is None else len(self.model.part(part).states)
        result = np.ones(states)
        groups: dict[str, list[Sign]] = {}
        for sign in ours:
            groups.setdefault(sign.group or sign.name, []).append(sign)
        for name, signs in groups.items():
            failure = self.model.group_failure[name] if signs[0].group else 0.0
            held, failed = np.ones(states), 1.0
            for sign in signs:
                row = np.array(sign.table)[:, sign.outcomes.index(seen[sign.name])]
                held *= (1 - sign.error) * row + sign.error / len(sign.outcomes)
                failed /= len(sign.outcomes)
            result *= (1 - failure) * held + failure * failed
        return result


def _shares(pmf: Table, place: npt.NDArray[np.int64]) -> Table:
    inside = (place >= 0) & (place < len(pmf))
    return np.where(inside, pmf[np.clip(place, 0, len(pmf) - 1)], 0.0)
