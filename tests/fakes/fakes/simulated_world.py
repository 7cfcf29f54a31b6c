"""Instruments drawn from a dating model, with what an examiner would write down of them.

Month, history, disturbance, states, make months, the other instrument's month of a foreign part,
the make month of a lot, garbage readings, mistaken variants and common failures of signs are all
drawn as the model says they come about. Takes the model's tables only; the draws, change-over
curves and serial scatter are worked out here, not by the engine.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heelstamp.dating import (
    Batch,
    DatingModel,
    Evidence,
    Feature,
    FeatureSeen,
    Mark,
    Observation,
    Part,
    Reading,
    SerialNumber,
    Sign,
    SignSeen,
    Timing,
)
from heelstamp.units import Period

MARK_ERROR = 0.01
TEN_YEARS = 120


@dataclass(frozen=True)
class Drawn:
    """One instrument: what it is, and what was seen of it."""

    completed: int
    history: int
    disturbed: dict[str, int]
    states: dict[str, int]
    evidence: Evidence


@dataclass(frozen=True)
class Examiner:
    """How much is looked at: shares of marks, features, signs and serial numbers.

    Marks on ``one_digit`` parts give the year's last digit only.
    """

    marked: Sequence[str]
    marks: float
    features: float
    signs: float
    serial: float
    one_digit: Sequence[str] = ()


class World:
    """Draws instruments of one maker."""

    def __init__(self, model: DatingModel, examiner: Examiner, seed: int) -> None:
        self.model, self.examiner = model, examiner
        self.random = np.random.default_rng(seed)
        self.homes = {part: one.name for one in model.assemblies for part in one.parts}

    def draw(self) -> Drawn:
        model = self.model
        completed = model.completion.first + self.choose(model.prior)
        history = self.choose([p for _, p in model.history])
        disturbed = {
            one.name: int(self.random.random() < one.disturbed[history]) for one in model.assemblies
        }
        states = {
            part.name: self.choose(
                part.disturbed if disturbed[self.homes[part.name]] else part.undisturbed
            )
            for part in model.parts
        }
        fitted = {
            part.name: _Fitted(self, part, part.timing[states[part.name]], completed)
            for part in model.parts
        }
        for batch in model.batches:
            self._join(batch, fitted)
        seen: list[Observation] = [
            fitted[name].mark(name in self.examiner.one_digit)
            for name in self.examiner.marked
            if self.random.random() < self.examiner.marks
        ]
        seen += [
            FeatureSeen(one.name, fitted[one.part].variant(one))
            for one in model.features
            if self.random.random() < self.examiner.features
        ]
        if model.serial is not None and self.random.random() < self.examiner.serial:
            nominal = fitted[model.serial.part].nominal_month()
            seen.append(SerialNumber(((nominal, 1.0),)))
        seen += self._signs(states, disturbed)
        return Drawn(completed, history, disturbed, states, tuple(seen))

    def choose(self, shares: Sequence[float] | np.ndarray) -> int:
        """Draw a position with the given probabilities."""
        steps = np.cumsum(shares)
        return int(np.searchsorted(steps, self.random.random() * steps[-1], side="right"))

    def _join(self, batch: Batch, fitted: dict[str, "_Fitted"]) -> None:
        """The original members of one lot one make month."""
        if self.random.random() >= batch.share:
            return
        original = [fitted[name] for name in batch.parts if fitted[name].timing is Timing.BUILT]
        for one in original:
            one.made = original[0].made

    def _signs(self, states: dict[str, int], disturbed: dict[str, int]) -> list[Observation]:
        failed = {
            (group, place): self.random.random() < p
            for group, p in self.model.group_failure.items()
            for place in {sign.part or sign.assembly for sign in self.model.signs}
        }
        found: list[Observation] = []
        for sign in self.model.signs:
            if self.random.random() >= self.examiner.signs:
                continue
            row = disturbed[sign.assembly] if sign.assembly else states[sign.part or ""]
            blank = sign.group is not None and failed[sign.group, sign.part or sign.assembly]
            found.append(SignSeen(sign.name, sign.outcomes[self._outcome(sign, row, blank)]))
        return found

    def _outcome(self, sign: Sign, row: int, blank: bool) -> int:
        if blank or self.random.random() < sign.error:
            return int(self.random.integers(len(sign.outcomes)))
        return self.choose(sign.table[row])


class _Fitted:
    """A part as it sits on the instrument."""

    def __init__(self, world: World, part: Part, timing: Timing, completed: int) -> None:
        self.world, self.model, self.part = world, world.model, part
        self.timing, self.completed = timing, completed
        if timing is Timing.DONOR:  # built for another instrument
            self.completed = self.model.completion.first + world.choose(self.model.prior)
        self.made = self._made()

    def _gap(self) -> int:
        return self.model.gap_first + self.world.choose(self.model.gap)

    def _made(self) -> int:
        grid, random = self.model.marks, self.world.random
        if self.timing in (Timing.BUILT, Timing.DONOR):
            return self.completed - self.world.choose(self.part.lag or self.model.lag)
        if self.timing is Timing.PERIOD:
            return self.completed + self._gap()
        if random.random() < self.model.later_anywhere:
            return int(random.integers(grid.first, grid.last + 1))
        return int(random.integers(self.completed + self.model.later_from, grid.last + 1))

    def mark(self, one_digit: bool) -> Mark:
        """What is read on it: its month, or garbage; every ten years when one digit is written."""
        grid, random = self.model.marks, self.world.random
        month = self.made
        if random.random() < MARK_ERROR:
            month = int(random.integers(grid.first, grid.last + 1))
        months = [month]
        if one_digit:
            first = grid.first + (month - grid.first) % TEN_YEARS
            months = list(range(first, grid.last + 1, TEN_YEARS))
        readings = tuple(Reading(Period(one, one), 1.0) for one in months)
        return Mark(self.part.name, readings, MARK_ERROR)

    def variant(self, feature: Feature) -> str:
        """Which variant is seen, or taken to be seen."""
        random = self.world.random
        if random.random() < feature.error:
            return feature.variants[int(random.integers(len(feature.variants)))]
        if self.timing is Timing.LATER:
            return feature.variants[self.world.choose(feature.later)]
        month = self.completed + (self._gap() if self.timing is Timing.PERIOD else 0)
        if feature.passing is not None:
            first, last, share, width = feature.passing
            inside = share * done(month, first, width) * (1 - done(month, last, width))
            return feature.variants[int(random.random() < inside)]
        for place, change in enumerate(feature.transitions):
            if random.random() >= done(month, change.centre, change.width):
                return feature.variants[place]
        return feature.variants[len(feature.transitions)]

    def nominal_month(self) -> int:
        """The month its serial number stands for."""
        grid, scheme, random = self.model.completion, self.model.serial, self.world.random
        assert scheme is not None
        if random.random() < scheme.error:
            return int(random.integers(grid.first, grid.last + 1))
        if self.timing is Timing.LATER:
            return grid.first + self.world.choose(self.model.prior)
        month = self.completed + (self._gap() if self.timing is Timing.PERIOD else 0)
        away = (np.arange(len(grid)) + grid.first - scheme.bias - month) / scheme.scale
        return grid.first + self.world.choose((1 + away**2 / 3) ** -2)


def done(month: float, centre: float, width: float) -> float:
    """Share of a change-over that is over in a month."""
    return 0.5 * (1 + math.tanh((month - centre) / width / 2))
