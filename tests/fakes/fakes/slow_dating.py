"""The dating model worked out by going through every joint configuration, in plain Python.

For each completion month, history class, disturbance of each assembly and state of each part the
probability of the configuration is multiplied with that of everything seen; marks are summed over
every make month, parts of one lot over one make month in common. Written from the statement of
the model (``docs/methods/dating.md``, sections 1 and 2); it takes the model's tables and the
observations as the engine does and shares no computation with it. Good for some four parts and a
hundred months; nothing guards against underflow.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from heelstamp.dating import (
    Document,
    Evidence,
    Feature,
    FeatureSeen,
    Mark,
    MonthLikelihood,
    SerialNumber,
    SignSeen,
    StateLikelihood,
)

Row = list[float]


@dataclass
class SlowAnswer:
    """Marginals in the order of the model's tables; months from the first completion month."""

    log_evidence: float
    months: Row
    states: dict[str, Row]
    disturbed: Row
    history: Row


def slow_posterior(model: Any, evidence: Evidence) -> SlowAnswer:
    """Sum over every configuration."""
    months = [0.0] * len(model.completion)
    states = {part.name: [0.0] * len(part.states) for part in model.parts}
    disturbed = [0.0] * len(model.assemblies)
    history = [0.0] * len(model.history)
    for t, h, d, s, weight in configurations(model, evidence):
        months[t] += weight
        history[h] += weight
        for k, flag in enumerate(d):
            disturbed[k] += weight * flag
        for part, state in zip(model.parts, s, strict=True):
            states[part.name][state] += weight
    total = math.fsum(months)
    return SlowAnswer(
        math.log(total),
        [p / total for p in months],
        {part: [p / total for p in row] for part, row in states.items()},
        [p / total for p in disturbed],
        [p / total for p in history],
    )


def slow_moments(
    model: Any, evidence: Evidence, by_month: Sequence[float], by_state: dict[str, Sequence[float]]
) -> tuple[float, float]:
    """Mean and variance of b(T) + sum of e(S_p), from every configuration."""
    total = first = second = 0.0
    for t, _, _, s, weight in configurations(model, evidence):
        value = by_month[t]
        for part, state in zip(model.parts, s, strict=True):
            value += by_state.get(part.name, [0.0] * len(part.states))[state]
        total += weight
        first += weight * value
        second += weight * value**2
    return first / total, second / total - (first / total) ** 2


Configuration = tuple[int, int, tuple[int, ...], tuple[int, ...], float]


def configurations(model: Any, evidence: Evidence) -> Iterator[Configuration]:
    """Every (month, history, disturbance, states) that can be, with P(it and all seen)."""
    world = _World(model, evidence)
    home = {p: k for k, one in enumerate(model.assemblies) for p in one.parts}
    flags = list(product((0, 1), repeat=len(model.assemblies)))
    all_states = list(product(*(range(len(part.states)) for part in model.parts)))
    for t, month in enumerate(model.completion):
        seen = {s: world.seen_on_parts(month, s) for s in all_states}
        for h, (_, p_history) in enumerate(model.history):
            for d in flags:
                before = model.prior[t] * world.on_month(month) * p_history
                for k, one in enumerate(model.assemblies):
                    p = one.disturbed[h]
                    before *= (p if d[k] else 1 - p) * world.on_assembly(k, d[k])
                if before == 0:
                    continue
                for s in all_states:
                    weight = before * seen[s]
                    for part, state in zip(model.parts, s, strict=True):
                        row = part.disturbed if d[home[part.name]] else part.undisturbed
                        weight *= row[state]
                    if weight > 0:
                        yield t, h, d, s, weight


class _World:
    """Likelihoods of what was seen, given month, states and disturbance."""

    def __init__(self, model: Any, evidence: Evidence) -> None:
        self.model = model
        self.lag = {part.name: part.lag or model.lag for part in model.parts}
        self.marks = {
            part.name: [one for one in evidence if isinstance(one, Mark) and one.part == part.name]
            for part in model.parts
        }
        self.features = [one for one in evidence if isinstance(one, FeatureSeen)]
        self.serials = [one for one in evidence if isinstance(one, SerialNumber)]
        self.signs = [one for one in evidence if isinstance(one, SignSeen)]
        self.likelihoods = [one for one in evidence if isinstance(one, StateLikelihood)]
        self.dates = [one for one in evidence if isinstance(one, (Document, MonthLikelihood))]
        self.readable = {
            part: [self._marks_made_in(part, m) for m in model.marks]
            for part, ones in self.marks.items()
            if ones
        }
        self.marked: dict[tuple[str, int, str], float] = {}
        self.dated: dict[tuple[str, int, str], float] = {}
        self.lots: dict[tuple[tuple[str, ...], int], float] = {}
        self.kernels: dict[int, dict[int, float]] = {}

    def on_month(self, month: int) -> float:
        """P(papers | completion month)."""
        result = 1.0
        span = len(self.model.completion)
        for one in self.dates:
            if isinstance(one, MonthLikelihood):
                result *= one.values[month - self.model.completion.first]
                continue
            named = [m for m in self.model.completion if one.period.first <= m <= one.period.last]
            wrong = 1 - one.reliability
            result *= (one.reliability if month in named else 0) + wrong * max(len(named), 1) / span
        return result

    def on_assembly(self, k: int, flag: int) -> float:
        """P(signs on the assembly | disturbed or not)."""
        return self._signs(None, self.model.assemblies[k].name, flag)

    def seen_on_parts(self, month: int, states: tuple[int, ...]) -> float:
        """P(all seen on parts | completion month, state of each part)."""
        result = 1.0
        originals: dict[tuple[str, ...], list[str]] = {}
        for part, state in zip(self.model.parts, states, strict=True):
            kind = str(part.timing[state])
            result *= self._signs(part.name, None, state)
            for one in self.likelihoods:
                if one.part == part.name:
                    name = part.states[state]
                    result *= one.likelihoods.get(name, min(one.likelihoods.values()))
            if kind == "donor":
                result *= self._donor(part.name)
                continue
            result *= self._dated(part.name, month, kind)
            lot = next((b.parts for b in self.model.batches if part.name in b.parts), None)
            if kind == "built" and lot is not None and self.marks[part.name]:
                originals.setdefault(lot, []).append(part.name)
            else:
                result *= self._marked(part.name, month, kind)
        for lot, names in originals.items():
            result *= self._lot(lot, tuple(names), month)
        return result

    def _lot(self, lot: tuple[str, ...], names: tuple[str, ...], month: int) -> float:
        """P(marks on original members), from one lot with a share, else made independently."""
        if (names, month) not in self.lots:
            share = next(b.share for b in self.model.batches if b.parts == lot)
            together = 0.0
            for lag, p in enumerate(self.lag[names[0]]):
                made = month - lag - self.model.marks.first
                term = p
                for name in names:
                    term *= self.readable[name][made]
                together += term
            apart = 1.0
            for name in names:
                apart *= self._marked(name, month, "built")
            self.lots[names, month] = share * together + (1 - share) * apart
        return self.lots[names, month]

    def _donor(self, part: str) -> float:
        """Everything on the part averaged over the other instrument's completion month."""
        key = (part, -1, "donor")
        if key not in self.dated:
            self.dated[key] = sum(
                p * self._dated(part, month, "built") * self._marked(part, month, "built")
                for month, p in zip(self.model.completion, self.model.prior, strict=True)
            )
        return self.dated[key]

    def _made(self, part: str, month: int, kind: str) -> dict[int, float]:
        """P(make month | completion month, timing class)."""
        model = self.model
        if kind == "built":
            return {month - lag: p for lag, p in enumerate(self.lag[part])}
        if kind == "period":
            return {month + model.gap_first + i: p for i, p in enumerate(model.gap)}
        made = dict.fromkeys(model.marks, model.later_anywhere / len(model.marks))
        after = [m for m in model.marks if m >= month + model.later_from]
        for m in after:
            made[m] += (1 - model.later_anywhere) / len(after)
        return made

    def _marked(self, part: str, month: int, kind: str) -> float:
        """P(all marks on the part | completion month, timing class)."""
        if not self.marks[part]:
            return 1.0
        key = (part, month, kind)
        if key not in self.marked:
            first = self.model.marks.first
            self.marked[key] = sum(
                p * self.readable[part][m - first] for m, p in self._made(part, month, kind).items()
            )
        return self.marked[key]

    def _marks_made_in(self, part: str, made: int) -> float:
        """P(all marks on the part | make month)."""
        grid = self.model.marks
        several = len(self.marks[part]) > 1
        shared = [mark.error * mark.together for mark in self.marks[part]]
        failing = min(shared) if several else 0.0
        result, all_garbage = 1.0, 1.0
        for mark in self.marks[part]:
            weights = dict.fromkeys(grid, 0.0)
            for reading in mark.readings:
                for month in grid:
                    if reading.period.first <= month <= reading.period.last:
                        weights[month] += reading.weight
            named = sum(p * weights.get(made + shift, 0.0) for shift, p in mark.spread)
            garbage = sum(weights.values()) / len(grid)
            right = (1 - mark.error) / (1 - failing)
            result *= right * named + (1 - right) * garbage
            all_garbage *= garbage
        return (1 - failing) * result + failing * all_garbage

    def _dated(self, part: str, month: int, kind: str) -> float:
        """P(variants and serial on the part | completion month, timing class)."""
        key = (part, month, kind)
        if key not in self.dated:
            result = 1.0
            for feature in self.model.features:
                for one in self.features:
                    if feature.part == part and one.feature == feature.name:
                        result *= self._variant(feature, one.variant, month, kind)
            if self.model.serial is not None and self.model.serial.part == part:
                for number in self.serials:
                    result *= self._serial(number, month, kind)
            self.dated[key] = result
        return self.dated[key]

    def _over_gap(self, month: int) -> list[tuple[int, float]]:
        return [(month + self.model.gap_first + i, p) for i, p in enumerate(self.model.gap)]

    def _variant(self, feature: Feature, variant: str, month: int, kind: str) -> float:
        seen = feature.variants.index(variant)
        if kind == "built":
            true = variant_probability(feature, seen, month)
        elif kind == "period":
            true = sum(p * variant_probability(feature, seen, m) for m, p in self._over_gap(month))
        else:
            true = feature.later[seen]
        return (1 - feature.error) * true + feature.error / len(feature.variants)

    def _serial(self, number: SerialNumber, month: int, kind: str) -> float:
        grid, scheme = self.model.completion, self.model.serial
        result = 0.0
        for nominal, weight in number.months:
            held = min(max(nominal, grid.first), grid.last)
            if kind == "built":
                true = self._kernel(held, month)
            elif kind == "period":
                true = sum(p * self._kernel(held, m) for m, p in self._over_gap(month))
            else:
                true = self.model.prior[held - grid.first]
            result += weight * ((1 - scheme.error) * true + scheme.error / len(grid))
        return result

    def _kernel(self, nominal: int, month: int) -> float:
        """Student's t with 3 degrees of freedom, made to sum to one over nominal months."""
        if month not in self.kernels:
            scheme = self.model.serial
            tails = {
                u: (1 + ((u - scheme.bias - month) / scheme.scale) ** 2 / 3) ** -2
                for u in self.model.completion
            }
            whole = sum(tails.values())
            self.kernels[month] = {u: tail / whole for u, tail in tails.items()}
        return self.kernels[month][nominal]

    def _signs(self, part: str | None, assembly: str | None, row: int) -> float:
        """P(signs | one state, or disturbed or not); groups fail as one."""
        result = 1.0
        groups: dict[str, list[tuple[float, float]]] = {}
        for one in self.signs:
            sign = next(s for s in self.model.signs if s.name == one.sign)
            if (sign.part, sign.assembly) != (part, assembly):
                continue
            true = sign.table[row][sign.outcomes.index(one.outcome)]
            p = (1 - sign.error) * true + sign.error / len(sign.outcomes)
            if sign.group is None:
                result *= p
            else:
                groups.setdefault(sign.group, []).append((p, 1 / len(sign.outcomes)))
        for group, members in groups.items():
            failure = self.model.group_failure[group]
            result *= (1 - failure) * math.prod(p for p, _ in members) + failure * math.prod(
                blank for _, blank in members
            )
        return result


def variant_probability(feature: Feature, seen: int, month: float) -> float:
    """P(variant | completed in month): the change-overs before it are done, the next is not."""
    if feature.passing is not None:
        first, last, share, width = feature.passing
        inside = share * _done(month, first, width) * (1 - _done(month, last, width))
        return [1 - inside, inside, *([0.0] * (len(feature.variants) - 2))][seen]
    if seen > len(feature.transitions):
        return 0.0
    result = 1.0
    for change in feature.transitions[:seen]:
        result *= _done(month, change.centre, change.width)
    if seen < len(feature.transitions):
        change = feature.transitions[seen]
        result *= 1 - _done(month, change.centre, change.width)
    return result


def _done(month: float, centre: float, width: float) -> float:
    x = (month - centre) / width
    if x < 0:
        return math.exp(x) / (1 + math.exp(x))
    return 1 / (1 + math.exp(-x))
