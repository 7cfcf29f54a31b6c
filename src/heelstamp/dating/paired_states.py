"""Two neighbouring parts whose marks name different months: which of them was changed, if any.

Both states are held in turn, so that what is told of one is told together with the other; nothing
is approximated (``docs/methods/doubts.md``, section 6).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from heelstamp.dating.checks import reading_posteriors
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence, Mark, StateLikelihood
from heelstamp.dating.identity import comes_with
from heelstamp.dating.model import Array, Timing
from heelstamp.dating.posterior import infer_many
from heelstamp.units import Period

APART = 4
"""Months between the marks of two neighbours from which on both accounts are told (our choice)."""

HELD = 1e-300
"""Likelihood of the states that a part is held away from."""


@dataclass(frozen=True)
class Neighbours:
    """Two parts reached by one access, whose marks lie apart.

    Attributes
    ----------
    older, younger
        Parts by the likelier reading of their marks.
    months
        From the end of the older mark's months to the beginning of the younger one's.
    """

    older: str
    younger: str
    months: int


@dataclass(frozen=True)
class Paired:
    """What becomes of both parts, by which of them is as built.

    Attributes
    ----------
    built
        Whether the older and the younger part is as built.
    probability
        After all evidence.
    months
        Completion posterior under it, (months,).
    """

    built: tuple[bool, bool]
    probability: float
    months: Array


def neighbours_apart(compiled: CompiledModel, evidence: Evidence) -> tuple[Neighbours, ...]:
    """Find the neighbours whose marks lie ``APART`` months or more from each other.

    Of a part with several marks the youngest counts, of a mark the reading that all evidence bears
    out best. The widest apart first.
    """
    named: dict[str, Period] = {}
    marks = {
        place: one
        for place, one in enumerate(evidence)
        if isinstance(one, Mark) and one.part != compiled.model.anchor
    }
    shares = reading_posteriors(compiled, evidence, marks)
    for place, one in marks.items():
        period = one.readings[int(shares[place].argmax())].period
        if one.part not in named or period.last > named[one.part].last:
            named[one.part] = period
    ways = {part: comes_with(compiled.model, part) for part in named}
    found = []
    for pair in combinations(named, 2):
        older, younger = sorted(pair, key=lambda part: named[part])
        months = named[younger].first - named[older].last
        if ways[older] & ways[younger] and months >= APART:
            found.append(Neighbours(older, younger, months))
    return tuple(sorted(found, key=lambda one: (-one.months, one.older, one.younger)))


def paired_states(
    compiled: CompiledModel, evidence: Evidence, pair: Neighbours
) -> tuple[Paired, ...]:
    """P(each of the two is as built or not, together), the likeliest first; they add to one."""
    parts = [compiled.model.part(name) for name in (pair.older, pair.younger)]
    choices = list(product(*(range(len(part.states)) for part in parts)))
    rows: list[Evidence] = []
    for choice in choices:
        held = tuple(
            StateLikelihood(part.name, _only(part.states, state))
            for part, state in zip(parts, choice, strict=True)
        )
        rows.append((*evidence, *held))
    posterior = infer_many(compiled, rows)
    weight = np.exp(posterior.log_evidence - posterior.log_evidence.max())
    weight /= weight.sum()
    masses: dict[tuple[bool, ...], Array] = {}
    for choice, share, months in zip(choices, weight, posterior.months, strict=True):
        built = tuple(
            part.timing[state] is Timing.BUILT for part, state in zip(parts, choice, strict=True)
        )
        masses[built] = masses.get(built, 0.0) + share * months
    found = [
        Paired((built[0], built[1]), float(mass.sum()), mass / mass.sum())
        for built, mass in masses.items()
        if mass.sum() > 0
    ]
    return tuple(sorted(found, key=lambda one: -one.probability))


def _only(states: tuple[str, ...], held: int) -> Mapping[str, float]:
    return {name: 1.0 if place == held else HELD for place, name in enumerate(states)}
