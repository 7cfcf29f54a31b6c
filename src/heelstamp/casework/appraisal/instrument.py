"""What an instrument may be, as rows of the price regression with their probabilities.

States of parts that bear heavily on the price (effects of a tenth or more) are enumerated together;
the probability of each combination, and of the year of making within it, is exact from the dating
posterior. Parts that bear lightly count, where somebody looked at them, with the chance that they
were changed so far as the looks raised it; those that nobody looked at have their part of the
average comparable, whose sellers too counted what they knew of. Alterations that were looked for
count as found. Whatever the record does not tell of the instrument counts as the average
comparable.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from heelstamp.casework.appraisal.comparables import GRADES
from heelstamp.casework.appraisal.design import Layout
from heelstamp.casework.appraisal.market import Market
from heelstamp.catalogue import CaseIncluded, ChangedParts, Colour, DossierState, Grade
from heelstamp.dating import CompiledModel, Evidence, Posterior, StateLikelihood, infer_many
from heelstamp.units.months import MONTHS_A_YEAR
from heelstamp.valuation.least_squares import Array

HEAVY = 0.1
"""Effect on the log price from which a part's states are enumerated."""

LEAST_STATE = 0.0005
"""States of less probability are left out of the combinations."""

LEAST_ROW = 1e-5
LOOKED = frozenset({"read", "absent", "illegible"})


@dataclass(frozen=True)
class Given:
    """What the record or the person says of an instrument besides its dating.

    Attributes
    ----------
    grade
        Steps below A, or None.
    colour
        ``standard``, ``rare`` or None.
    case
        Whether it has a case, or None.
    others
        Other changed parts that are known and have no state in the dating, or None.
    weight_g
        As weighed last, or None.
    altered
        Alterations that were looked for, by effect: how much of it was found, nought where none.
    """

    grade: float | None = None
    colour: str | None = None
    case: bool | None = None
    others: int | None = None
    weight_g: float | None = None
    altered: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Dated:
    """The dating of an instrument: model, evidence, and the posterior of it, one row.

    Attributes
    ----------
    before
        The posterior of one of which nothing was seen.
    looked
        Parts that somebody looked at.
    """

    compiled: CompiledModel
    evidence: Evidence
    posterior: Posterior
    before: Posterior
    looked: Collection[str]


@dataclass(frozen=True)
class Possible:
    """Everything an instrument may be.

    Attributes
    ----------
    rows, probabilities
        Columns of each possibility and its probability.
    states
        For each enumerated part the state of every row.
    unseen
        Effects of things nobody looked at, which are in all rows.
    light
        Effects of parts that bear lightly and were looked at.
    """

    rows: Array
    probabilities: Array
    states: Mapping[str, Sequence[str]]
    unseen: tuple[str, ...]
    light: Mapping[str, float]

    @property
    def mean_row(self) -> Array:
        """The expected columns."""
        return np.asarray(self.probabilities @ self.rows)


def altered_by(state: DossierState, market: Market) -> dict[str, float]:
    """Read alterations that were looked for: by effect how much was found, nought where none."""
    found: dict[str, float] = {}
    for seen in state.observations.values():
        if seen.kind != "sign" or seen.status not in LOOKED:
            continue
        for row in market.sign:
            if row.sign == seen.sign and {"*", seen.part} & set(row.parts):
                much = row.share if seen.is_read and seen.outcome == row.outcome else 0.0
                found[row.effect] = found.get(row.effect, 0.0) + much
    return found


def given_by(state: DossierState, market: Market) -> Given:
    """Read what was entered for the price: grade, colour, case, other parts changed, alterations.

    What was entered last counts. A grade of the whole goes before the grades of aspects.
    """
    steps = {one.aspect: _step(one) for one in state.of(Grade).values()}
    grade = steps.get("")
    if grade is None and steps:
        grade = sum(steps.values()) / len(steps)
    weights = [one.weight_g for one in state.custody.values() if one.weight_g is not None]
    colour, case = state.last(Colour), state.last(CaseIncluded)
    others = state.last(ChangedParts)
    return Given(
        grade=grade,
        colour=None if colour is None else colour.colour,
        case=None if case is None else case.included,
        others=None if others is None else others.count,
        weight_g=weights[-1] if weights else None,
        altered=altered_by(state, market),
    )


def _step(one: Grade) -> float:
    return float(GRADES.index(one.grade))


def unseen_of(state: DossierState, market: Market, parts: Collection[str]) -> tuple[str, ...]:
    """Return the effects of what nobody looked at in this dossier, of *parts* only."""
    found = []
    for row in market.unseen:
        looked = any(
            one.part == row.part and one.kind == row.kind and one.status in LOOKED
            for one in state.observations.values()
        )
        if not looked and row.part in parts:
            found.append(row.effect)
    return tuple(found)


def shares_of(market: Market, part: str, state: str) -> dict[str, float]:
    """Return how much of which effect a state of a part counts as."""
    found: dict[str, float] = {}
    for row in market.state:
        if part in row.parts and row.state == state:
            found[row.effect] = found.get(row.effect, 0.0) + row.share
    return found


def heavy_parts(compiled: CompiledModel, market: Market) -> tuple[list[str], list[str]]:
    """Part the priced parts into those that bear heavily on the price and the others."""
    priors = market.priors()
    heavy, light = [], []
    for part in compiled.model.parts:
        worst = 0.0
        for state in part.states:
            shares = shares_of(market, part.name, state)
            worst = max(worst, abs(sum(priors[key].mean * much for key, much in shares.items())))
        if worst >= HEAVY:
            heavy.append(part.name)
        elif worst > 0:
            light.append(part.name)
    return heavy, light


def possible_rows(
    dated: Dated, market: Market, layout: Layout, given: Given, unseen: Sequence[str]
) -> Possible:
    """Lay out everything the instrument may be; *unseen* are effects nobody looked at."""
    compiled, evidence, posterior = dated.compiled, dated.evidence, dated.posterior
    heavy, light_parts = heavy_parts(compiled, market)
    names = {part.name: part.states for part in compiled.model.parts}
    marginals = {part: posterior.states[part][0] for part in (*heavy, *light_parts)}
    light, rest = _light(dated, market, light_parts, layout.average)
    kept = [
        [s for s, p in zip(names[part], marginals[part], strict=True) if p >= LEAST_STATE]
        for part in heavy
    ]
    combinations = list(product(*kept))
    held = [
        (*evidence, *(_holds(part, names[part], s) for part, s in zip(heavy, one, strict=True)))
        for one in combinations
    ]
    found = infer_many(compiled, held)
    chance = np.exp(found.log_evidence - posterior.log_evidence[0])
    year_of = np.array([month // MONTHS_A_YEAR for month in compiled.model.completion])
    years = np.unique(year_of)
    by_year = np.stack([found.months[:, year_of == year].sum(axis=1) for year in years], axis=1)
    joint = chance[:, None] * by_year
    rows, p, states = [], [], []
    for place, one in enumerate(combinations):
        facts: dict[str, float | None] = {**_base(given, market, unseen, heavy)}
        for key, usual in rest.items():
            told = facts.get(key)
            facts[key] = (usual if told is None else told) + light.get(key, 0.0)
        for part, state in zip(heavy, one, strict=True):
            for key, share in shares_of(market, part, state).items():
                facts[key] = (facts.get(key) or 0.0) + share
        for column, year in enumerate(years):
            if joint[place, column] >= LEAST_ROW:
                rows.append(layout.row(facts, (int(year), int(year))))
                p.append(joint[place, column])
                states.append(one)
    total = np.array(p)
    return Possible(
        np.array(rows),
        total / total.sum(),
        {part: [one[place] for one in states] for place, part in enumerate(heavy)},
        tuple(unseen),
        light,
    )


def _light(
    dated: Dated, market: Market, parts: Sequence[str], average: Mapping[str, float]
) -> tuple[dict[str, float], dict[str, float]]:
    """Add up what parts that bear lightly count: those looked at, and the rest of the average."""
    states = {part.name: part.states for part in dated.compiled.model.parts}
    seen: dict[str, float] = {}
    most: dict[str, list[float]] = {}
    for part in parts:
        reach: dict[str, float] = {}
        known, before = (one.states[part][0] for one in (dated.posterior, dated.before))
        told: dict[str, list[float]] = {}
        for state, p, was in zip(states[part], known, before, strict=True):
            for key, share in shares_of(market, part, state).items():
                reach[key] = max(reach.get(key, 0.0), share)
                expected = told.setdefault(key, [0.0, 0.0])
                expected[0] += float(p) * share
                expected[1] += float(was) * share
        if part in dated.looked:
            for key, (now, was) in told.items():
                raised = max(0.0, now - was) / max(1e-9, reach[key] - was) * reach[key]
                seen[key] = seen.get(key, 0.0) + raised
        for key, much in reach.items():
            held = most.setdefault(key, [0.0, 0.0])
            held[part not in dated.looked] += much
    rest = {
        key: average.get(key, 0.0) * unlooked / (looked + unlooked)
        for key, (looked, unlooked) in most.items()
    }
    return seen, rest


def _holds(part: str, states: Sequence[str], state: str) -> StateLikelihood:
    return StateLikelihood(part, {one: 1.0 if one == state else 1e-12 for one in states})


def _base(
    given: Given, market: Market, unseen: Sequence[str], heavy: Collection[str]
) -> dict[str, float | None]:
    enumerated = {row.effect for row in market.state if set(row.parts) & set(heavy)}
    facts: dict[str, float | None] = dict.fromkeys(enumerated, 0.0)
    facts |= dict.fromkeys((row.effect for row in market.unseen), 0.0)
    facts |= dict.fromkeys(unseen, 1.0)
    facts |= {
        "grade": given.grade,
        "rare_colour": None if given.colour is None else float(given.colour == "rare"),
        "no_case": None if given.case is None else float(not given.case),
        "other_part": None if given.others is None else float(given.others),
        "weight": None if given.weight_g is None else given.weight_g / 100,
        "asking": 0.0,
        "unsold": 0.0,
        **given.altered,
    }
    return facts
