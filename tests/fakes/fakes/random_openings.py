"""Small models of openings with random tables, and random observations on them, from a seed.

Every kind of factor may come up: needs of one and of two ways, along, roots, shared and own careful
hands, shares of 0 and 1, parts reached by two levels and by two paths, leaves, openings that serve
no part, sets that exclude each other, lots of two and three inside and outside a set, donors,
marks, features, serial numbers, papers, signs of parts and of openings that fail together, screws.
"""

from dataclasses import replace

import numpy as np

from fakes.random_dating import FIRST, Random, random_evidence, random_model, shares
from heelstamp.dating import (
    Batch,
    DatingModel,
    Evidence,
    Level,
    MixedSet,
    ModelError,
    Observation,
    Opening,
    Part,
    PartSet,
    Screws,
    ScrewsSeen,
    Sign,
    Timing,
)
from heelstamp.dating.structure import structure
from heelstamp.units import MonthGrid

STATES = ("original", "period", "later", "donor")
TIMING = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)


def random_openings_model(rng: Random, most_parts: int = 3, most_openings: int = 6) -> DatingModel:
    """Body and one to *most_parts* other parts, three to *most_openings* openings.

    Drawn again while an assembly would have too many combinations.
    """
    while True:
        model = _drawn(rng, most_parts, most_openings)
        try:
            structure(model)
        except ModelError:
            continue
        return model


def _drawn(rng: Random, most_parts: int, most_openings: int) -> DatingModel:
    base = random_model(rng)
    span = int(rng.integers(18, 30))
    completion = MonthGrid(FIRST, FIRST + span - 1)
    later_from = int(rng.integers(4, 12))
    ahead = later_from + int(rng.integers(6, 14))
    marks = MonthGrid(
        base.marks.first, completion.last + max(ahead, base.gap_first + len(base.gap))
    )
    classes = len(base.history)
    openings = _openings(rng, int(rng.integers(3, most_openings + 1)), classes)
    names = [f"part_{i}" for i in range(int(rng.integers(1, most_parts + 1)))]
    lot = tuple(names[: int(rng.integers(2, len(names) + 1))]) if len(names) > 1 else ()
    lot = lot if rng.random() < 0.75 else ()
    lag = shares(rng, 4)
    parts = [Part("body", ("first", "foreign"), (TIMING[0], TIMING[3]), (1.0, 0.0))]
    parts += [_part(rng, name, openings, lag if name in lot else None) for name in names]
    features = tuple(
        replace(one, part=parts[i % len(parts)].name) for i, one in enumerate(base.features)
    )
    return DatingModel(
        completion=completion,
        marks=marks,
        prior=np.array(shares(rng, span)),
        history=base.history,
        assemblies=(),
        parts=tuple(parts),
        lag=base.lag,
        gap_first=base.gap_first,
        gap=base.gap,
        later_from=later_from,
        later_anywhere=base.later_anywhere,
        features=features,
        serial=replace(base.serial, part=str(rng.choice([p.name for p in parts])))
        if base.serial
        else None,
        signs=_signs(rng, parts, openings),
        batches=(Batch(lot, float(rng.choice([0.0, 0.35, 0.8, 1.0]))),) if lot else (),
        group_failure={"look": float(rng.uniform(0, 1))},
        openings=openings,
        sets=_sets(rng, names, lot, openings, classes),
        careful={"a": float(rng.choice([0.0, 0.2, 0.6, 1.0])), "b": float(rng.uniform(0, 1))},
        careful_default=float(rng.choice([0.0, 0.08, 0.5])),
        screws=Screws(*rng.uniform(0.02, 0.9, 4).tolist()),
    )


def _openings(rng: Random, count: int, classes: int) -> tuple[Opening, ...]:
    found: list[Opening] = []
    for i in range(count):
        before = [one.name for one in found]
        root = i < 2 and rng.random() < 0.4
        if root:
            before = [one.name for one in found if one.root or rng.random() < 0.2]
        needs: tuple[tuple[str, ...], ...] = ()
        if before and rng.random() < 0.4:
            ways = int(rng.integers(1, 3))
            needs = tuple(
                tuple(
                    str(name)
                    for name in rng.choice(before, min(len(before), int(rng.integers(1, 3))), False)
                )
                for _ in range(ways)
            )
        along = {
            name: float(rng.choice([rng.uniform(0, 1), 1.0]))
            for name in before
            if rng.random() < 0.3
        }
        flat = rng.random() < 0.5
        p = rng.uniform(0, 1, classes).tolist()
        found.append(
            Opening(
                f"o{i}",
                (p[0],) * classes if flat else tuple(p),
                needs,
                along,
                None if rng.random() < 0.4 else str(rng.choice(["a", "b"])),
                root,
            )
        )
    return tuple(found[i] for i in rng.permutation(count))


def _part(
    rng: Random, name: str, openings: tuple[Opening, ...], lag: tuple[float, ...] | None
) -> Part:
    names = [one.name for one in openings]
    levels = []
    for _ in range(int(rng.choice([0, 1, 1, 1, 2]))):
        ways = int(rng.integers(1, 3))
        path = tuple(
            tuple(str(one) for one in rng.choice(names, int(rng.integers(1, 3)), False))
            for _ in range(ways)
        )
        levels.append(Level(path, shares(rng, 4, zeros=True)))
    return Part(name, STATES, TIMING, shares(rng, 4, zeros=True), lag=lag, levels=tuple(levels))


def _sets(
    rng: Random, names: list[str], lot: tuple[str, ...], openings: tuple[Opening, ...], classes: int
) -> tuple[PartSet, ...]:
    found = []
    for i in range(int(rng.integers(0, 3))):
        members = [name for name in names if name not in lot and rng.random() < 0.6]
        if lot and rng.random() < 0.7:
            members += lot
        if not members:
            continue
        needs = ((str(rng.choice([one.name for one in openings])),),) if rng.random() < 0.6 else ()
        states = [str(s) for s in rng.choice(STATES, int(rng.integers(1, 4)), False)]
        source = dict(zip(states, shares(rng, len(states)), strict=True))
        p = tuple(rng.uniform(0, 0.5, classes).tolist())
        found.append(PartSet(f"set {i}", tuple(members), p, source, needs))
    return tuple(found)


def _signs(rng: Random, parts: list[Part], openings: tuple[Opening, ...]) -> tuple[Sign, ...]:
    found = []
    for part in parts[1:]:
        for group in (None, "look", "look"):
            table = tuple(shares(rng, 2) for _ in part.states)
            error = float(rng.uniform(0.001, 0.2))
            found.append(
                Sign(f"sign {len(found)}", ("k", "l"), table, part.name, None, error, group)
            )
    for one in openings:
        for group in (None, "look"):
            rows = tuple(shares(rng, 3) for _ in range(3))
            name = f"sign {len(found)}"
            found.append(
                Sign(name, ("k", "l", "m"), rows, error=0.03, group=group, opening=one.name)
            )
    return tuple(found)


def random_openings_evidence(rng: Random, model: DatingModel) -> Evidence:
    """As ``random_evidence``, and screws and mixed sets."""
    found: list[Observation] = list(random_evidence(rng, model))
    for one in model.openings:
        if rng.random() < 0.4:
            count = int(rng.integers(1, 12))
            found.append(ScrewsSeen(one.name, count, int(rng.integers(0, count + 1))))
    found += [MixedSet(one.name, 0.03) for one in model.sets if rng.random() < 0.4]
    return tuple(found[i] for i in rng.permutation(len(found)))
