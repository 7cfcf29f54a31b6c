"""How a model falls into assemblies, and the combinations each of them has.

*Roots* (openings that several assemblies depend on) stand beside the history class H: a global
configuration g is one of H x roots. What then still hangs together, by needs, along, paths, sets,
lots and careful hands, is one assembly. Within it a *leaf*, an opening that nothing depends on and
that serves one part at most, is summed inside that part; the others and the whole swap W, with its
source, are gone through one by one. All of this depends on the model only, not on what was seen.
Exact elimination: Pearl 1988; Lauritzen and Spiegelhalter 1988; Koller and Friedman 2009
(from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from heelstamp.dating.model import Array, DatingModel, ModelError, Opening, Part, PartSet
from heelstamp.dating.openings import holds

MOST_COMBINATIONS = 64
"""Combinations of inner openings and whole swaps above which an assembly is refused."""

MOST_WITH_LEAVES = 4096
"""The same with leaves that cannot be summed inside their part."""


@dataclass(frozen=True)
class Swap:
    """A whole swap: position of the set in the model, and the state its members then have."""

    place: int
    state: str


@dataclass(frozen=True)
class Combination:
    """One way an assembly can be: what is open, the swaps made, and P(it | g), (g,).

    Open are inner openings, and roots that lie on a path to one of its parts; where these differ
    from those of g, P(it | g) is zero.
    """

    opened: frozenset[str]
    swaps: tuple[Swap, ...]
    prior: Array


@dataclass(frozen=True)
class Cut:
    """One assembly of a model.

    Attributes
    ----------
    inner
        Openings gone through one by one, each behind those it depends on.
    leaves
        Openings summed inside a part; under the empty name those that serve none.
    classes
        Global configurations that its combinations tell apart: 1, those of H, or all.
    """

    parts: tuple[str, ...]
    inner: tuple[str, ...]
    leaves: Mapping[str, tuple[str, ...]]
    sets: tuple[int, ...]
    combinations: tuple[Combination, ...]
    classes: int

    @property
    def openings(self) -> tuple[str, ...]:
        """Inner openings and leaves."""
        return (*self.inner, *(name for names in self.leaves.values() for name in names))


@dataclass(frozen=True)
class Structure:
    """A model cut into assemblies.

    Attributes
    ----------
    roots
        Root openings, each behind those it depends on.
    opened
        Open roots of each root configuration.
    roots_prior
        P(root configuration | history class), (configurations, classes).
    """

    roots: tuple[str, ...]
    opened: tuple[frozenset[str], ...]
    roots_prior: Array
    cuts: tuple[Cut, ...]


def structure(model: DatingModel) -> Structure:
    """Cut *model* into assemblies.

    Raises
    ------
    ModelError
        Openings depend on each other in a ring; an assembly has too many combinations; sets of one
        assembly have shares of more than one together.
    """
    ordered = _in_order(model.every_opening)
    roots = _roots(ordered)
    names = [one.name for one in roots]
    opened, rows = [], []
    for flags in product((False, True), repeat=len(roots)):
        done = frozenset(name for name, flag in zip(names, flags, strict=True) if flag)
        row = np.ones(len(model.history))
        for h in range(len(row)):
            for one, flag in zip(roots, flags, strict=True):
                p = one.probability(done, h)
                row[h] *= p if flag else 1 - p
        opened.append(done)
        rows.append(row)
    inner = [one for one in ordered if one.name not in names]
    found = Structure(tuple(names), tuple(opened), np.array(rows), ())
    cuts = tuple(_cut(model, found, inner, group) for group in _groups(model, inner))
    return Structure(found.roots, found.opened, found.roots_prior, cuts)


def _in_order(openings: Sequence[Opening]) -> list[Opening]:
    """Put each opening behind those it depends on, else in the order given."""
    left, done, found = list(openings), set[str](), list[Opening]()
    while left:
        ready = [one for one in left if done.issuperset(one.parents)]
        if not ready:
            raise ModelError(
                "openings depend on each other in a ring",
                received=", ".join(one.name for one in left),
                remedy="Take one of their needs or alongs away.",
            )
        found += ready
        done |= {one.name for one in ready}
        left = [one for one in left if one.name not in done]
    return found


def _roots(ordered: Sequence[Opening]) -> list[Opening]:
    """The roots that can stand beside H: on roots alone, and with a careful hand alone."""
    accesses = [one.access for one in ordered]
    found: list[Opening] = []
    for one in ordered:
        known = {other.name for other in found}
        if one.root and known.issuperset(one.parents) and accesses.count(one.access) == 1:
            found.append(one)
    return found


class _Bonds:
    """What hangs together, as classes of names."""

    def __init__(self) -> None:
        self.of: dict[str, str] = {}

    def find(self, name: str) -> str:
        self.of.setdefault(name, name)
        while self.of[name] != name:
            name = self.of[name]
        return name

    def tie(self, names: Iterable[str]) -> None:
        first, *others = [self.find(name) for name in names] or [""]
        for one in others:
            self.of[one] = first


def _ties(model: DatingModel, inner: Sequence[Opening]) -> Iterator[list[str]]:
    """Groups of names that hang together: openings, parts (/) and sets (#)."""
    here = {one.name for one in inner}
    for one in inner:
        yield [one.name, *(name for name in one.parents if name in here)]
    for part in model.parts:
        named = {n for level in model.levels_of(part) for way in level.path for n in way}
        yield ["/" + part.name, *(one.name for one in inner if one.name in named)]
    for place, group in enumerate(model.sets):
        needed = {name for way in group.needs for name in way}
        yield [f"#{place}", *("/" + part for part in group.parts), *(needed & here)]
    for batch in model.batches:
        yield ["/" + part for part in batch.parts]


@dataclass(frozen=True)
class _Group:
    """Names of one assembly; sets by what they exclude each other within."""

    parts: tuple[str, ...]
    openings: frozenset[str]
    exclusive: tuple[tuple[int, ...], ...]


def exclusive_sets(model: DatingModel) -> tuple[tuple[int, ...], ...]:
    """Positions of the sets of each assembly: at most one of them is swapped."""
    bonds = _Bonds()
    for names in _ties(model, [one for one in model.every_opening if not one.root]):
        bonds.tie(names)
    return _exclusive(model, bonds)


def _exclusive(model: DatingModel, bonds: _Bonds) -> tuple[tuple[int, ...], ...]:
    found: dict[str, list[int]] = {}
    for place in range(len(model.sets)):
        found.setdefault(bonds.find(f"#{place}"), []).append(place)
    return tuple(tuple(places) for places in found.values())


def _groups(model: DatingModel, inner: Sequence[Opening]) -> list[_Group]:
    bonds = _Bonds()
    for names in _ties(model, [one for one in inner if not one.root]):
        bonds.tie(names)
    # roots that cannot stand beside H, and shared careful hands, tie assemblies for the passes
    # only: sets exclude each other within what hangs together without them
    sets = _exclusive(model, bonds)
    for names in _ties(model, inner):
        bonds.tie(names)
    accesses: dict[str, list[str]] = {}
    for one in inner:
        accesses.setdefault(one.access, []).append(one.name)
    for names in accesses.values():
        bonds.tie(names)
    found: dict[str, _Group] = {}
    keys = ["/" + part.name for part in model.parts] + [one.name for one in inner]
    for key in keys:
        home = bonds.find(key)
        if home not in found:
            found[home] = _Group(
                tuple(p.name for p in model.parts if bonds.find("/" + p.name) == home),
                frozenset(one.name for one in inner if bonds.find(one.name) == home),
                tuple(places for places in sets if bonds.find(f"#{places[0]}") == home),
            )
    return list(found.values())


def _cut(model: DatingModel, whole: Structure, ordered: list[Opening], group: _Group) -> Cut:
    openings = [one for one in ordered if one.name in group.openings]
    serves = _served(model, group)
    needed = {name for one in model.every_opening for name in one.parents}
    needed |= {name for one in model.sets for way in one.needs for name in way}
    hanging = [o for o in openings if o.name not in needed and len(serves.get(o.name, ())) <= 1]
    # a leaf that hears of H or a root would need its part's rows once for each of them
    leaves = [o for o in hanging if len(set(o.p)) == 1 and not set(whole.roots) & set(o.parents)]
    inner = [one for one in openings if one not in leaves]
    by_part: dict[str, tuple[str, ...]] = {}
    for one in leaves:
        part = next(iter(serves.get(one.name, ())), "")
        by_part[part] = (*by_part.get(part, ()), one.name)
    _refuse_many(model, [o for o in openings if o not in hanging], group, MOST_COMBINATIONS)
    _refuse_many(model, inner, group, MOST_WITH_LEAVES)
    combinations = tuple(_combinations(model, whole, inner, group))
    table = np.array([one.prior for one in combinations])
    by_history = table.reshape(len(table), len(whole.opened), -1)
    classes = table.shape[1]
    if (by_history == by_history[:, :1]).all():
        classes = by_history.shape[2]
        if (by_history == by_history[:, :1, :1]).all():
            classes = 1
    return Cut(
        group.parts,
        tuple(one.name for one in inner),
        by_part,
        tuple(place for places in group.exclusive for place in places),
        combinations,
        classes,
    )


def _served(model: DatingModel, group: _Group) -> dict[str, set[str]]:
    """The parts that each opening is on a path to."""
    found: dict[str, set[str]] = {}
    for part in model.parts:
        if part.name in group.parts:
            for level in model.levels_of(part):
                for name in (name for way in level.path for name in way):
                    found.setdefault(name, set()).add(part.name)
    return found


def _on_paths(model: DatingModel, group: _Group) -> set[str]:
    levels = [lv for p in model.parts if p.name in group.parts for lv in model.levels_of(p)]
    return {name for level in levels for way in level.path for name in way}


def _refuse_many(model: DatingModel, inner: Sequence[Opening], group: _Group, most: int) -> None:
    """Count combinations that can be at all, roots taken as they come, and refuse too many."""
    here = {one.name for one in inner}
    open_ways: list[frozenset[str]] = [frozenset()]
    free = {one.name for one in model.every_opening} - group.openings
    for one in inner:
        grown = []
        for done in open_ways:
            grown.append(done)
            if holds(one.needs, done | free | (group.openings - here)):
                grown.append(done | {one.name})
        open_ways = grown
        if len(open_ways) > most:
            break
    count = 0
    for done in open_ways:
        ways = 1
        for places in group.exclusive:
            sets = [model.sets[p] for p in places]
            ways *= 1 + sum(len(one.source) for one in sets if holds(one.needs, done | free))
        count += ways
    if count > most:
        raise ModelError(
            "an assembly has too many combinations of openings and whole swaps",
            where=", ".join(group.parts) or ", ".join(sorted(group.openings)),
            received=f"more than {most}",
            remedy="Cut it in two: take away a need, an along, a path, a set or a shared access, "
            "or make an opening a root.",
        )


def _combinations(
    model: DatingModel, whole: Structure, inner: Sequence[Opening], group: _Group
) -> Iterator[Combination]:
    configurations = [(q, h) for q in whole.opened for h in range(len(model.history))]
    on_paths = frozenset(whole.roots) & _on_paths(model, group)
    states: list[tuple[frozenset[str], Array]] = []
    for roots in dict.fromkeys(q & on_paths for q in whole.opened):
        agree = np.array([float(q & on_paths == roots) for q, _ in configurations])
        states.append((roots, agree))
    for one in inner:
        grown = []
        for done, prior in states:
            p = np.array([one.probability(done | roots, h) for roots, h in configurations])
            for name, weight in ((done, prior * (1 - p)), (done | {one.name}, prior * p)):
                if weight.any():
                    grown.append((name, weight))
        states = grown
    choices = [_choices([model.sets[p] for p in places]) for places in group.exclusive]
    for done, prior in states:
        for some in product(*choices):
            weight = prior.copy()
            for g, (roots, h) in enumerate(configurations):
                for pick in some:
                    weight[g] *= pick.probability(done | roots, h)
            if weight.any():
                swaps = tuple(
                    Swap(model.sets.index(pick.chosen), pick.state) for pick in some if pick.chosen
                )
                yield Combination(done, swaps, weight)


@dataclass(frozen=True)
class _Choice:
    """One of the sets of an assembly with a source, or none of them."""

    sets: tuple[PartSet, ...]
    chosen: PartSet | None = None
    state: str = ""

    def probability(self, done: frozenset[str], history: int) -> float:
        """P(this choice | what is open, history class)."""
        ready = [one for one in self.sets if holds(one.needs, done)]
        if self.chosen is not None:
            if self.chosen not in ready:
                return 0.0
            return self.chosen.p[history] * self.chosen.source[self.state]
        left = 1 - sum(one.p[history] for one in ready)
        if left < -1e-12:
            raise ModelError(
                "sets that could be swapped add to more than one",
                received=", ".join(one.name for one in ready),
                remedy="Of the sets of one assembly at most one is swapped: lower their shares.",
            )
        return max(0.0, left)


def _choices(sets: Sequence[PartSet]) -> list[_Choice]:
    every = tuple(sets)
    return [
        _Choice(every),
        *(_Choice(every, one, state) for one in every for state, p in one.source.items() if p > 0),
    ]


def level_of(model: DatingModel, part: Part, opened: frozenset[str]) -> int:
    """The table of *part* that holds: 0 while unreached, else one more than the level."""
    for place, level in enumerate(model.levels_of(part)):
        if holds(level.path, opened):
            return place + 1
    return 0
