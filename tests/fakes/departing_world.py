"""Many instruments at once, drawn from a dating model or from a world that departs from it.

Without departures this is the model itself (as ``simulated_world``, but in columns, for tens of
thousands of instruments). The departures break it on purpose: rectangular lags, skewed serial
numbers, abrupt change-overs that lie anywhere in their windows, and records that are wrong.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from heelstamp.dating import (
    DatingModel,
    Evidence,
    FeatureSeen,
    Mark,
    Observation,
    Reading,
    SerialNumber,
    SignSeen,
    Timing,
)
from heelstamp.dating.changeover import SerialTables, happened, logistic
from heelstamp.units import Period

CLASSES = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)
BUILT, PERIOD, LATER, DONOR = range(4)
SIGMA_OF_T3 = 1.1969
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

MISREAD_MONTHS = 60
"""A wrong record names a month within five years of the right one."""


@dataclass(frozen=True)
class Habits:
    """What examiners look at: share of features, signs and numbers; P(readable) of each mark."""

    looked_at: float = 0.93
    marked: dict[str, float] = field(
        default_factory=lambda: {"body": 0.4, "neck": 0.6, "pot_volume": 0.9, "pot_tone": 0.9}
    )
    one_digit: float = 0.2


@dataclass(frozen=True)
class Departures:
    """How a world departs from the model; none by default."""

    rectangular_lags: bool = False
    skewed_serials: bool = False
    abrupt: bool = False
    wrong_records: float = 0.0


FAITHFUL = Departures()
ANOTHER_MECHANISM = Departures(True, True, True, 0.10)


@dataclass(frozen=True)
class Instrument:
    """What was seen of one instrument, and what is true of it."""

    seen: Evidence
    completed: int
    states: dict[str, int]


def draw_world(
    model: DatingModel,
    seed: int,
    count: int,
    departures: Departures = FAITHFUL,
    habits: Habits | None = None,
) -> list[Instrument]:
    """Draw *count* instruments."""
    return _Drawing(model, seed, count, departures, habits or Habits()).instruments()


class _Drawing:
    def __init__(
        self, model: DatingModel, seed: int, count: int, departures: Departures, habits: Habits
    ) -> None:
        self.model, self.count = model, count
        self.rng = np.random.default_rng(seed)
        self.departures, self.habits = departures, habits
        self.seen: list[list[Observation]] = [[] for _ in range(count)]
        self.time = self._completed()
        history = self.rng.choice(len(model.history), count, p=[p for _, p in model.history])
        self.disturbed: dict[str, Ints] = {}
        self.state: dict[str, Ints] = {}
        self.timing: dict[str, Ints] = {}
        self.donor: dict[str, Ints] = {}  # completion of the instrument a donor part comes from
        for assembly in model.assemblies:
            disturbed = (self.rng.random(count) < np.asarray(assembly.disturbed)[history]) * 1
            self.disturbed[assembly.name] = disturbed
            for name in assembly.parts:
                part = model.part(name)
                self.state[name] = self._pick(
                    np.array([part.undisturbed, part.disturbed])[disturbed]
                )
                classes = np.array([CLASSES.index(one) for one in part.timing])
                self.timing[name] = classes[self.state[name]]
                self.donor[name] = self._completed()
        self.centres = {
            one.name: [
                change.centre + self.rng.uniform(-2, 2) * change.width  # type: ignore[union-attr]
                for change in one.transitions
                if departures.abrupt
            ]
            for one in model.features
        }

    def _completed(self) -> Ints:
        prior = self.model.prior
        return self.model.completion.first + self.rng.choice(len(prior), self.count, p=prior)

    def _pick(self, shares: npt.NDArray[np.float64]) -> Ints:
        """Draw one column of each row."""
        reached = np.cumsum(shares, axis=1)
        draws = self.rng.random(len(shares))[:, None] * reached[:, -1:]
        return np.asarray((draws > reached).sum(axis=1), dtype=np.int64)

    def _chance(self, share: float) -> Flags:
        return self.rng.random(self.count) < share

    def _gaps(self) -> Ints:
        gap = self.model.gap
        return self.model.gap_first + self.rng.choice(len(gap), self.count, p=gap)

    def instruments(self) -> list[Instrument]:
        self._see_marks()
        self._see_features()
        self._see_serial()
        self._see_signs()
        states = {name: one.tolist() for name, one in self.state.items()}
        return [
            Instrument(
                tuple(seen), int(self.time[row]), {name: one[row] for name, one in states.items()}
            )
            for row, seen in enumerate(self.seen)
        ]

    def _lags(self, part: str) -> Ints:
        lag = np.asarray(self.model.part(part).lag or self.model.lag)
        if self.departures.rectangular_lags:
            mean = float(np.arange(len(lag)) @ lag)
            return self.rng.integers(0, round(2 * mean) + 1, self.count)
        return self.rng.choice(len(lag), self.count, p=lag / lag.sum())

    def _made(self, part: str) -> Ints:
        model = self.model
        anywhere = self.rng.integers(model.marks.first, model.marks.last + 1, self.count)
        begin = self.time + model.later_from
        room = model.marks.last + 1 - begin
        after = begin + np.floor(self.rng.random(self.count) * room).astype(np.int64)
        later = np.where(self._chance(model.later_anywhere), anywhere, after)
        built, donor = self.time - self._lags(part), self.donor[part] - self._lags(part)
        period = self.time + self._gaps()
        return np.choose(self.timing[part], [built, period, later, donor])

    def _see_marks(self) -> None:
        grid = self.model.marks
        made = {part: self._made(part) for part in self.habits.marked}
        for batch in self.model.batches:
            first, *rest = (part for part in batch.parts if part in made)
            together = self._chance(batch.share) & (self.timing[first] == BUILT)
            for part in rest:
                same = together & (self.timing[part] == BUILT)
                made[part] = np.where(same, made[first], made[part])
        for part, readable in self.habits.marked.items():
            garbage = self.rng.integers(grid.first, grid.last + 1, self.count)
            months = np.where(self._chance(0.01), garbage, made[part])
            months = np.clip(self._misread(months), grid.first, grid.last).tolist()
            short = self._chance(self.habits.one_digit).tolist()
            for row in np.nonzero(self._chance(readable))[0].tolist():
                every = [months[row]]
                if short[row]:
                    start = grid.first + (months[row] - grid.first) % 120
                    every = list(range(start, grid.last + 1, 120))
                readings = tuple(Reading(Period(one, one), 1.0) for one in every)
                self.seen[row].append(Mark(part, readings))

    def _misread(self, months: Ints) -> Ints:
        away = self.rng.integers(-MISREAD_MONTHS, MISREAD_MONTHS + 1, self.count)
        return np.where(self._chance(self.departures.wrong_records), months + away, months)

    def _curves(self, place: int, months: Ints) -> npt.NDArray[np.float64]:
        """P(variant | month) of parts as built, (instruments, variants)."""
        feature = self.model.features[place]
        curves = np.zeros((len(months), len(feature.variants)))
        if feature.passing is not None:
            first, last, share, width = feature.passing
            if self.departures.abrupt:
                inside = ((months > first) & (months < last)).astype(float)
            else:
                rise, fall = (months - first) / width, (months - last) / width
                inside = logistic(rise) * (1 - logistic(fall))
            curves[:, 1] = share * inside
            curves[:, 0] = 1 - curves[:, 1]
            return curves
        left = np.ones(len(months))
        for index, change in enumerate(feature.transitions):
            done = happened(change, months)
            if self.departures.abrupt:
                done = (months >= self.centres[feature.name][index]).astype(float)
            curves[:, index] = left * (1 - done)
            left = left * done
        curves[:, len(feature.transitions)] = left
        return curves

    def _see_features(self) -> None:
        for place, feature in enumerate(self.model.features):
            if "@" in feature.name and feature.part not in {"pot_volume", "tuners"}:
                continue  # of one lot with the part it is seen on first
            part = feature.part
            months = [self.time, self.time + self._gaps(), self.time, self.donor[part]]
            table = self._curves(place, np.choose(self.timing[part], months))
            table[self.timing[part] == LATER] = feature.later
            anything = self.rng.integers(0, len(feature.variants), self.count)
            wrong = self._chance(feature.error) | self._chance(self.departures.wrong_records)
            variant = np.where(wrong, anything, self._pick(table)).tolist()
            for row in np.nonzero(self._chance(self.habits.looked_at))[0].tolist():
                self.seen[row].append(FeatureSeen(feature.name, feature.variants[variant[row]]))

    def _see_serial(self) -> None:
        scheme, grid = self.model.serial, self.model.completion
        if scheme is None:
            return
        timing = self.timing[scheme.part]
        month = np.where(timing == DONOR, self.donor[scheme.part], self.time)
        if self.departures.skewed_serials:
            sd = scheme.scale * SIGMA_OF_T3
            away = self.rng.gamma(2.0, sd / np.sqrt(2), self.count) - sd * np.sqrt(2)
            nominal = np.where(timing == LATER, self._completed(), month + np.round(away))
        else:
            tables = SerialTables(self.model, scheme)
            every = tables.timed(np.arange(len(grid)))
            rows = every[:, np.where(timing == PERIOD, 1, 0), month - grid.first].T
            rows = np.where((timing == LATER)[:, None], tables.later[None], rows)
            nominal = self._pick(np.ascontiguousarray(rows)) + grid.first
        nominal = np.clip(self._misread(nominal.astype(np.int64)), grid.first, grid.last).tolist()
        for row in np.nonzero(self._chance(self.habits.looked_at))[0].tolist():
            self.seen[row].append(SerialNumber(((nominal[row], 1.0),)))

    def _see_signs(self) -> None:
        homes = {(one.group, one.part or one.assembly) for one in self.model.signs if one.group}
        failed = {home: self._chance(self.model.group_failure[home[0] or ""]) for home in homes}
        for sign in self.model.signs:
            told = self.state[sign.part] if sign.part else self.disturbed[sign.assembly or ""]
            wrong = self._chance(sign.error) | self._chance(self.departures.wrong_records)
            if sign.group:
                wrong = wrong | failed[sign.group, sign.part or sign.assembly]
            anything = self.rng.integers(0, len(sign.outcomes), self.count)
            outcome = np.where(wrong, anything, self._pick(np.asarray(sign.table)[told])).tolist()
            for row in np.nonzero(self._chance(self.habits.looked_at))[0].tolist():
                self.seen[row].append(SignSeen(sign.name, sign.outcomes[outcome[row]]))
