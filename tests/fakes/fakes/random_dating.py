"""Small dating models with random tables, and random observations on them, from a seed.

Every kind of factor that the model has may come up: several assemblies, own lags, lots of two and
three parts, donor states, change-overs, passing variants, serial numbers with several months,
groups of signs, papers, ambiguous, ranged and spread readings, several marks on one part.
"""

from typing import Any

import numpy as np

from heelstamp.dating import (
    Assembly,
    Batch,
    DatingModel,
    Document,
    Evidence,
    Feature,
    FeatureSeen,
    Mark,
    MonthLikelihood,
    Observation,
    Part,
    Reading,
    SerialNumber,
    SerialScheme,
    Sign,
    SignSeen,
    StateLikelihood,
    Timing,
    Transition,
)
from heelstamp.units import MonthGrid, Period

FIRST = 12 * 1950
CLASSES = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)

Random = np.random.Generator


def shares(rng: Random, count: int, zeros: bool = False) -> tuple[float, ...]:
    """A random distribution, with some exact zeros when asked for."""
    row = rng.dirichlet(np.full(count, 0.8))
    if zeros and count > 2:
        row[rng.integers(1, count)] = 0
        row /= row.sum()
    return tuple(row.tolist())


def random_model(rng: Random) -> DatingModel:
    """Body, one to three other parts, 40 to 70 completion months."""
    span = int(rng.integers(40, 71))
    later_from = int(rng.choice([6, 20, 73]))
    longest = int(rng.integers(4, 20))
    gap_first, gap_count = -int(rng.integers(0, 13)), int(rng.integers(13, 30))
    completion = MonthGrid(FIRST, FIRST + span - 1)
    before = max(longest, -gap_first)
    after = max(later_from, gap_first + gap_count)
    marks = MonthGrid(FIRST - before - 2, completion.last + after + int(rng.integers(1, 12)))
    classes = int(rng.integers(1, 4))
    others = [f"part_{i}" for i in range(int(rng.integers(1, 4)))]
    together = len(others) > 1 and rng.random() < 0.7
    assemblies = [Assembly("body", ("body",), (0.0,) * classes)]
    for names in [tuple(others)] if together else [(name,) for name in others]:
        disturbed = tuple(rng.uniform(0, 1, classes).tolist())
        assemblies.append(Assembly(names[0] + "_group", names, disturbed))
    lot: tuple[Batch, ...] = ()
    if together and rng.random() < 0.8:
        members = tuple(others[: int(rng.integers(2, len(others) + 1))])
        lot = (Batch(members, float(rng.choice([0.0, 0.35, 0.8, 1.0]))),)
    common = shares(rng, longest)
    own = [
        shares(rng, int(rng.integers(1, longest + 1))) if rng.random() < 0.5 else None
        for _ in others
    ]
    parts = [_anchor(rng)]
    for name, lag in zip(others, own, strict=True):
        inside = bool(lot) and name in lot[0].parts
        parts.append(_part(rng, name, own[0] if inside else lag))
    return DatingModel(
        completion=completion,
        marks=marks,
        prior=np.array(shares(rng, span)),
        history=tuple((f"life {i}", p) for i, p in enumerate(shares(rng, classes))),
        assemblies=tuple(assemblies),
        parts=tuple(parts),
        lag=common,
        gap_first=gap_first,
        gap=shares(rng, gap_count),
        later_from=later_from,
        later_anywhere=float(rng.uniform(0, 1)),
        features=tuple(_feature(rng, i, part.name) for i, part in enumerate(parts * 2)),
        serial=SerialScheme(
            str(rng.choice([part.name for part in parts])),
            float(rng.uniform(0.5, 8)),
            float(rng.integers(-3, 4)),
            float(rng.uniform(0.001, 0.3)),
        ),
        signs=_signs(rng, parts, assemblies),
        batches=lot,
        group_failure={"look": float(rng.uniform(0, 1))},
    )


def _anchor(rng: Random) -> Part:
    if rng.random() < 0.5:
        certain = (1.0, 0.0)
        return Part("body", ("first", "foreign"), (Timing.BUILT, Timing.DONOR), certain, certain)
    return Part("body", ("first",), (Timing.BUILT,), (1.0,), (1.0,), shares(rng, 3))


def _part(rng: Random, name: str, lag: tuple[float, ...] | None) -> Part:
    count = int(rng.integers(2, 5))
    timing = (Timing.BUILT, *(CLASSES[i] for i in rng.integers(0, 4, count - 1)))
    states = tuple(f"state {i}" for i in range(count))
    return Part(name, states, timing, shares(rng, count, zeros=True), shares(rng, count), lag)


def _feature(rng: Random, number: int, part: str) -> Feature:
    error = float(rng.uniform(0.001, 0.2))
    if rng.random() < 0.3:
        first = FIRST + float(rng.uniform(0, 40))
        passing = (first, first + float(rng.uniform(2, 20)), float(rng.uniform(0.1, 1)), 1.5)
        later = shares(rng, 3)
        return Feature(f"f{number}", part, ("usual", "passing", "x"), (), later, error, passing)
    changes = tuple(
        Transition(FIRST + float(rng.uniform(-5, 70)), float(rng.uniform(0.3, 12)))
        for _ in range(int(rng.integers(1, 4)))
    )
    variants = tuple("abcd"[: len(changes) + 1]) + ("x",) * int(rng.integers(0, 2))
    return Feature(f"f{number}", part, variants, changes, shares(rng, len(variants)), error)


def _signs(rng: Random, parts: list[Part], assemblies: list[Assembly]) -> tuple[Sign, ...]:
    found = []
    for part in parts[1:]:
        for group in (None, "look", "look"):
            count = int(rng.integers(2, 4))
            table = tuple(shares(rng, count) for _ in part.states)
            name = f"sign {len(found)}"
            error = float(rng.uniform(0.001, 0.2))
            found.append(Sign(name, tuple("klm"[:count]), table, part.name, None, error, group))
    for one in assemblies[1:]:
        for group in (None, "look"):
            rows = (shares(rng, 2), shares(rng, 2))
            name = f"sign {len(found)}"
            found.append(Sign(name, ("k", "l"), rows, None, one.name, 0.02, group))
    return tuple(found)


def random_evidence(rng: Random, model: DatingModel) -> Evidence:
    """Between nothing and everything that could be seen."""
    dense = float(rng.choice([0.3, 0.7, 1.0]))
    found: list[Observation] = []
    found += [
        FeatureSeen(feature.name, str(rng.choice(feature.variants)))
        for feature in model.features
        if rng.random() < dense
    ]
    found += [
        SignSeen(sign.name, str(rng.choice(sign.outcomes)))
        for sign in model.signs
        if rng.random() < dense
    ]
    for part in model.parts:
        if rng.random() < dense:
            count = int(rng.choice([1, 1, 2, 3]))
            found += [random_mark(rng, model, part.name) for _ in range(count)]
        if rng.random() < dense / 3:
            some = rng.permutation(part.states)[: int(rng.integers(1, len(part.states) + 1))]
            values = {str(name): float(rng.uniform(0.01, 1)) for name in some}
            found.append(StateLikelihood(part.name, values))
    if rng.random() < dense:
        months = rng.integers(FIRST - 20, FIRST + 90, int(rng.integers(1, 5)))
        found.append(
            SerialNumber(tuple((int(m), float(rng.uniform(0.05, 1))) for m in set(months.tolist())))
        )
    for _ in range(int(rng.integers(0, 3))):
        begin = FIRST + int(rng.integers(-10, 60))
        period = Period(begin, begin + int(rng.integers(0, 30)))
        found.append(Document(period, float(rng.uniform(0.05, 0.95))))
    if rng.random() < 0.2:
        values = rng.uniform(0.1, 1, len(model.completion))
        found.append(MonthLikelihood(tuple(values.tolist())))
    return tuple(found[i] for i in rng.permutation(len(found)))


def random_mark(rng: Random, model: DatingModel, part: str, edge: int = 2) -> Mark:
    """One to three readings, single months or ranges, perhaps overlapping, perhaps spread."""
    grid: Any = model.marks
    readings = []
    for _ in range(int(rng.integers(1, 4))):
        first = int(rng.integers(grid.first + edge, grid.last + 1 - edge))
        length = int(rng.choice([1, 1, 5, 40]))
        last = min(first + length - 1, grid.last - edge)
        readings.append(Reading(Period(first, last), float(rng.uniform(0.02, 1))))
    error = float(rng.uniform(0.002, 0.3))
    together = float(rng.choice([0.0, 0.5, 1.0]))
    if rng.random() < 0.5:
        return Mark(part, tuple(readings), error, together=together)
    p = shares(rng, 3)
    return Mark(part, tuple(readings), error, ((-1, p[0]), (0, p[1]), (2, p[2])), together)
