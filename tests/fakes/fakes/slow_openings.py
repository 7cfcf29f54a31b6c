"""The openings model worked out by going through every joint configuration, in plain Python.

For each history class, state of every opening, careful hand, whole swap and state of every part
the probability of the configuration is multiplied with that of everything seen, month by month.
Written from the statement of the model (``docs/methods/dating.md``); it takes the model's tables
and the observations as the engine does and shares no computation with it: noisy or, screws, the
cut into assemblies, lots and donors are written out here once more. Good for some six openings,
three parts besides the body and fifty months.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Any

from fakes.slow_dating import Row, variant_probability
from heelstamp.dating import (
    Document,
    Evidence,
    FeatureSeen,
    Mark,
    MixedSet,
    MonthLikelihood,
    ScrewsSeen,
    SerialNumber,
    SignSeen,
    StateLikelihood,
)


@dataclass
class SlowOpenings:
    """Marginals by name; months from the first completion month."""

    log_evidence: float
    months: Row
    history: Row
    openings: dict[str, float]
    swapped: dict[str, float]
    careful: dict[str, float]
    states: dict[str, Row]


Swaps = tuple[tuple[str, str], ...]
"""Sets swapped whole, each with the state of its members."""


def slow_openings(model: Any, evidence: Evidence) -> SlowOpenings:
    """Sum over every configuration."""
    seen = _Seen(model, evidence)
    grid = list(model.completion)
    prior = [model.prior[t] * seen.papers(month) for t, month in enumerate(grid)]
    totals: dict[tuple[tuple[str, ...], Swaps], Row] = {}
    weight_of: dict[tuple[tuple[str, ...], Swaps], float] = {}
    history = [0.0] * len(model.history)
    openings = dict.fromkeys((one.name for one in model.openings), 0.0)
    swapped = dict.fromkeys((one.name for one in model.sets), 0.0)
    careful = dict.fromkeys(hands_of(model), 0.0)
    states = {part.name: [0.0] * len(part.states) for part in model.parts}
    for h, done, hands, swaps, chosen, weight in configurations(model, seen):
        key = (chosen, swaps)
        if key not in totals:
            totals[key] = [
                p * seen.parts(month, chosen, swaps) for p, month in zip(prior, grid, strict=True)
            ]
        whole = weight * math.fsum(totals[key])
        weight_of[key] = weight_of.get(key, 0.0) + weight
        history[h] += whole
        for name in done:
            openings[name] += whole
        for name, _ in swaps:
            swapped[name] += whole
        for name in hands:
            careful[name] += whole
        for part, state in zip(model.parts, chosen, strict=True):
            states[part.name][part.states.index(state)] += whole
    months = [math.fsum(w * totals[k][t] for k, w in weight_of.items()) for t in range(len(grid))]
    total = math.fsum(months)
    return SlowOpenings(
        math.log(total),
        [p / total for p in months],
        [p / total for p in history],
        {name: p / total for name, p in openings.items()},
        {name: p / total for name, p in swapped.items()},
        {name: p / total for name, p in careful.items()},
        {name: [p / total for p in row] for name, row in states.items()},
    )


def hands_of(model: Any) -> list[str]:
    """The accesses that have a careful hand."""
    return sorted({one.careful or one.name for one in model.openings})


def configurations(
    model: Any, seen: "_Seen"
) -> Iterator[tuple[int, frozenset[str], frozenset[str], Swaps, tuple[str, ...], float]]:
    """Every way it can be, with P(it) times that of all looks at openings and sets."""
    hands = hands_of(model)
    assemblies = sets_by_assembly(model)
    for h, (_, p_history) in enumerate(model.history):
        for flags in product((False, True), repeat=len(model.openings)):
            done = frozenset(o.name for o, flag in zip(model.openings, flags, strict=True) if flag)
            p_done = p_history
            for one in model.openings:
                p = chance(one, done, h)
                p_done *= p if one.name in done else 1 - p
            if p_done == 0:
                continue
            picks = [list(choices(model, sets, done, h)) for sets in assemblies]
            for some in product(*picks):
                swaps = tuple((name, state) for name, state, _ in some if name)
                p_swap = p_done * math.prod(p for _, _, p in some) * seen.sets(swaps)
                p_looks = 0.0
                by_hand = []
                for careful in product((False, True), repeat=len(hands)):
                    by = frozenset(name for name, c in zip(hands, careful, strict=True) if c)
                    p = seen.openings(done, by)
                    for name in hands:
                        share = model.careful.get(name, model.careful_default)
                        p *= share if name in by else 1 - share
                    p_looks += p
                    by_hand.append((by, p))
                if p_swap == 0:
                    continue
                for chosen, p_states in all_states(model, done, swaps):
                    for by, p in by_hand:
                        if p > 0:
                            yield h, done, by, swaps, chosen, p_swap * p * p_states


def chance(opening: Any, done: frozenset[str], h: int) -> float:
    """Noisy or, where the needs hold."""
    if opening.needs and not any(set(way) <= done for way in opening.needs):
        return 0.0
    closed = 1 - opening.p[h]
    for other in opening.along:
        if other in done:
            closed *= 1 - opening.along[other]
    return 1 - closed


def choices(
    model: Any, names: list[str], done: frozenset[str], h: int
) -> Iterator[tuple[str, str, float]]:
    """No set of an assembly swapped, or one of them from one of its sources."""
    none = 1.0
    for one in model.sets:
        if one.name in names and (not one.needs or any(set(way) <= done for way in one.needs)):
            none -= one.p[h]
            for state, share in one.source.items():
                yield one.name, state, one.p[h] * share
    yield "", "", none


def sets_by_assembly(model: Any) -> list[list[str]]:
    """Sets that hang together by anything but roots: spread a colour until nothing moves."""
    roots = {one.name for one in model.openings if one.root}
    bonds: list[set[str]] = []
    for one in model.openings:
        if one.name not in roots:
            named = {name for way in one.needs for name in way} | set(one.along) | {one.name}
            bonds.append(named - roots)
    for part in model.parts:
        named = {name for level in part.levels for way in level.path for name in way}
        bonds.append((named - roots) | {"part " + part.name})
    for one in model.sets:
        named = {name for way in one.needs for name in way} - roots
        bonds.append(named | {"part " + name for name in one.parts} | {"set " + one.name})
    bonds += [{"part " + name for name in lot.parts} for lot in model.batches]
    found: list[list[str]] = []
    left = [one.name for one in model.sets]
    while left:
        colour = {"set " + left[0]}
        while True:
            grown = colour.union(*(bond for bond in bonds if bond & colour))
            if grown == colour:
                break
            colour = grown
        found.append([name for name in left if "set " + name in colour])
        left = [name for name in left if name not in found[-1]]
    return found


def all_states(
    model: Any, done: frozenset[str], swaps: Swaps
) -> Iterator[tuple[tuple[str, ...], float]]:
    """States of all parts with their probability."""
    tables = []
    for part in model.parts:
        swap = [
            s for name, s in swaps for g in model.sets if g.name == name and part.name in g.parts
        ]
        if swap:
            tables.append([(swap[0], 1.0)])
            continue
        row = part.undisturbed
        for level in part.levels:
            if any(set(way) <= done for way in level.path):
                row = level.p
                break
        tables.append([(s, p) for s, p in zip(part.states, row, strict=True) if p > 0])
    for some in product(*tables):
        yield tuple(state for state, _ in some), math.prod(p for _, p in some)


class _Seen:
    """Likelihoods of everything seen."""

    def __init__(self, model: Any, evidence: Evidence) -> None:
        self.model, self.evidence = model, evidence
        self.part = {part.name: part for part in model.parts}
        self.marked = {one.part for one in evidence if isinstance(one, Mark)}
        self.made_here = cache(self._made_here)
        self.class_of = cache(self._class_of)
        self.parts = cache(self._parts)
        self.elsewhere = cache(self._elsewhere)
        self.look_row = cache(self._look_row)

    def papers(self, month: int) -> float:
        """P(papers | completion month)."""
        result, grid = 1.0, self.model.completion
        for one in self.evidence:
            if isinstance(one, MonthLikelihood):
                result *= one.values[month - grid.first]
            elif isinstance(one, Document):
                named = sum(1 for m in grid if one.period.first <= m <= one.period.last) or 1
                inside = one.period.first <= month <= one.period.last
                wrong = 1 - one.reliability
                result *= one.reliability * inside + wrong * named / len(grid)
        return result

    def sets(self, swaps: Swaps) -> float:
        """P(looks at mixed sets | what was swapped whole)."""
        names = [name for name, _ in swaps]
        return math.prod(
            one.error for one in self.evidence if isinstance(one, MixedSet) and one.set in names
        )

    def openings(self, done: frozenset[str], careful: frozenset[str]) -> float:
        """P(looks at openings | what was done, careful hands)."""
        result = 1.0
        for one in self.model.openings:
            row = 0
            if one.name in done:
                row = 2 if (one.careful or one.name) in careful else 1
            result *= self.look_row(one.name, row)
        return result

    def _look_row(self, opening: str, row: int) -> float:
        result = 1.0
        for one in self.evidence:
            if isinstance(one, ScrewsSeen) and one.opening == opening:
                result *= self._screws(one.count, one.turned, row)
        return result * self._signs("opening", opening, row)

    def _screws(self, n: int, k: int, row: int) -> float:
        given = self.model.screws
        ways = math.factorial(n) // (math.factorial(k) * math.factorial(n - k))
        if row == 1:
            p = ways * given.shown**k * (1 - given.shown) ** (n - k)
        else:
            p = ways * given.false**k * (1 - given.false) ** (n - k) * (1 - given.tightened)
            p += given.tightened / (n + 1)
        return p - given.error * p + given.error / (n + 1)

    def _signs(self, what: str, name: str, row: int) -> float:
        groups: dict[str, list[tuple[float, float]]] = {}
        result = 1.0
        for one in self.evidence:
            if not isinstance(one, SignSeen):
                continue
            sign = next(s for s in self.model.signs if s.name == one.sign)
            if getattr(sign, what) != name:
                continue
            blank = 1 / len(sign.outcomes)
            p = sign.table[row][sign.outcomes.index(one.outcome)]
            p = (1 - sign.error) * p + sign.error * blank
            if sign.group is None:
                result *= p
            else:
                groups.setdefault(sign.group, []).append((p, blank))
        for group, members in groups.items():
            k = self.model.group_failure[group]
            sound, failed = (math.prod(row) for row in zip(*members, strict=True))
            result *= (1 - k) * sound + k * failed
        return result

    def _parts(self, month: int, chosen: tuple[str, ...], swaps: Swaps) -> float:
        """P(all seen on parts | completion month, states, what was swapped whole)."""
        state = dict(zip(self.part, chosen, strict=True))
        result = 1.0
        for name, one in state.items():
            place = self.part[name].states.index(one)
            result *= self._signs("part", name, place)
            for seen in self.evidence:
                if isinstance(seen, StateLikelihood) and seen.part == name:
                    result *= seen.likelihoods.get(one, min(seen.likelihoods.values()))
        whole = {
            part: name
            for name, _ in swaps
            for g in self.model.sets
            if g.name == name
            for part in g.parts
        }
        left = dict(state)
        for name, _ in swaps:
            members = tuple(part for part in state if whole.get(part) == name)
            kind = self._kind(members[0], state[members[0]])
            if kind == "donor":
                result *= self.elsewhere(members)
            else:
                result *= self._together(month, members, kind)
            for part in members:
                del left[part]
        built = tuple(p for p, s in left.items() if self._kind(p, s) == "built")
        result *= self._together(month, built, "built")
        for part, one in left.items():
            kind = self._kind(part, one)
            if kind == "donor":
                result *= self.elsewhere((part,))
            elif kind != "built":
                result *= self.class_of(month, part, kind) * self._alone(month, part, kind)
        return result

    def _kind(self, part: str, state: str) -> str:
        return str(self.part[part].timing[self.part[part].states.index(state)])

    def _elsewhere(self, members: tuple[str, ...]) -> float:
        """All members as built, of one other instrument."""
        grid = self.model.completion
        return sum(
            p * self._together(month, members, "built")
            for month, p in zip(grid, self.model.prior, strict=True)
        )

    def _together(self, month: int, members: tuple[str, ...], kind: str) -> float:
        """Members of one timing class, lots among them with their shared make month."""
        result = 1.0
        left = list(members)
        for part in members:
            result *= self.class_of(month, part, kind)
        for lot in self.model.batches:
            some = [part for part in lot.parts if part in left and part in self.marked]
            if len(some) < 2:
                continue
            for part in some:
                left.remove(part)
            one_month = sum(
                p * math.prod(self.made_here(part, m) for part in some)
                for m, p in self._made(month, some[0], kind)
            )
            apart = math.prod(self._alone(month, part, kind) for part in some)
            result *= lot.share * one_month + (1 - lot.share) * apart
        for part in left:
            result *= self._alone(month, part, kind)
        return result

    def _made(self, month: int, part: str, kind: str) -> list[tuple[int, float]]:
        model = self.model
        if kind == "built":
            return [(month - i, p) for i, p in enumerate(self.part[part].lag or model.lag)]
        if kind == "period":
            return [(month + model.gap_first + i, p) for i, p in enumerate(model.gap)]
        late = [m for m in model.marks if m >= month + model.later_from]
        any_month = model.later_anywhere / len(model.marks)
        return [
            (m, any_month + (m in late) * (1 - model.later_anywhere) / len(late))
            for m in model.marks
        ]

    def _alone(self, month: int, part: str, kind: str) -> float:
        if part not in self.marked:
            return 1.0
        return sum(p * self.made_here(part, m) for m, p in self._made(month, part, kind))

    def _made_here(self, part: str, made: int) -> float:
        """P(all marks on the part | it was made in that month)."""
        grid, result, nonsense = self.model.marks, 1.0, 1.0
        here = [one for one in self.evidence if isinstance(one, Mark) and one.part == part]
        common = 0.0
        if len(here) >= 2:
            common = min(one.together * one.error for one in here)
        for one in here:
            weight = dict.fromkeys(grid, 0.0)
            for reading in one.readings:
                for m in grid:
                    weight[m] += reading.weight * (reading.period.first <= m <= reading.period.last)
            named = sum(p * weight.get(made + shift, 0.0) for shift, p in one.spread)
            chance = sum(weight.values()) / len(grid)
            own = (one.error - common) / (1 - common)
            result *= (1 - own) * named + own * chance
            nonsense *= chance
        return (1 - common) * result + common * nonsense

    def _class_of(self, month: int, part: str, kind: str) -> float:
        """P(variants and serial of the part | completion month, timing class)."""
        model, result = self.model, 1.0
        about = [(month, 1.0)]
        if kind == "period":
            about = [(month + model.gap_first + i, p) for i, p in enumerate(model.gap)]
        for one in self.evidence:
            if isinstance(one, FeatureSeen):
                feature = next(f for f in model.features if f.name == one.feature)
                if feature.part != part:
                    continue
                seen = feature.variants.index(one.variant)
                true = feature.later[seen]
                if kind != "later":
                    true = sum(p * variant_probability(feature, seen, m) for m, p in about)
                result *= (1 - feature.error) * true + feature.error / len(feature.variants)
            elif isinstance(one, SerialNumber) and model.serial.part == part:
                grid, e = model.completion, model.serial.error
                likelihood = 0.0
                for nominal, w in one.months:
                    u = min(max(nominal, grid.first), grid.last)
                    true = model.prior[u - grid.first]
                    if kind != "later":
                        true = sum(p * self._tail(u, m) for m, p in about)
                    likelihood += w * ((1 - e) * true + e / len(grid))
                result *= likelihood
        return result

    def _tail(self, nominal: int, month: int) -> float:
        scheme, grid = self.model.serial, self.model.completion

        def t3(u: int) -> float:
            return 1 / (1 + ((u - scheme.bias - month) / scheme.scale) ** 2 / 3) ** 2

        return t3(nominal) / sum(t3(u) for u in grid)
