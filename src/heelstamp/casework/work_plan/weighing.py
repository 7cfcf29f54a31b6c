"""Each act weighed: cost, evidence that it spends, and the change of the market value it may bring.

The change is that of the middle price when the columns of the price regression move: a state that a
part is in with the probability the dating gives, a grade that becomes better, an effect that is
added, each with the chance the document of acts gives. Log prices are linear in the columns, so a
change is their difference times the coefficients; it is drawn from the posterior of the regression,
the states and the chances together, and its middle 90 % is told. Doing nothing costs nothing,
spends nothing and changes nothing; it is always there. Limits: the model knows no buyer who wants
to play it today; parts are taken as independent given the record.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heelstamp.casework.appraisal.comparables import GRADES
from heelstamp.casework.appraisal.instrument import shares_of
from heelstamp.casework.appraisal.market import EFFECTS
from heelstamp.casework.appraisal.procedure import Fitted
from heelstamp.casework.condition.grading import grades
from heelstamp.casework.condition.vocabulary import SCALE
from heelstamp.casework.dating.own_acts import openings_done, own_acts
from heelstamp.casework.inspections.stop_rules import Stopped, StopTable, stopped_acts
from heelstamp.casework.work_plan.document import ANY, Move, WorkAct, WorkActs
from heelstamp.catalogue import DossierState, PartsTree, Treatment
from heelstamp.chronology import Chronology
from heelstamp.valuation.least_squares import Array

Flags = NDArray[np.bool_]
DRAWS = 4000
LIKELY = 0.8
"""Chance that the gain covers the cost from which an act may pay; judgement."""
BEST = GRADES.index("A")


@dataclass(frozen=True, slots=True)
class Gain:
    """Change of the market value, in money.

    Attributes
    ----------
    mean, low, high
        Expected, and the middle 90 % of what may come.
    covers
        Chance that it is at least the usual cost.
    """

    mean: float
    low: float
    high: float
    covers: float


@dataclass(frozen=True, slots=True)
class Weighed:
    """One act, weighed.

    Attributes
    ----------
    act
        None for doing nothing.
    cost
        Least, usual and most, in money.
    spends
        Openings it makes that this shop has not made: label, and whether somebody looked at them.
    gain
        None where the record does not tell enough, and ``wanting`` says what; or where the model
        knows no effect of the act.
    stopped
        A recorded sign that forbids it.
    consent
        Where the owner stands on each of its acts.
    days_earlier
        Days that half of such pieces sell earlier at the same asking price: expected, and at the
        ends of the gain; None where it is not known. Filled in where a shop's offers are at hand.
    """

    act: WorkAct | None
    cost: tuple[float, float, float]
    spends: tuple[tuple[str, bool], ...]
    gain: Gain | None
    wanting: tuple[str, ...]
    stopped: Stopped | None
    consent: Mapping[str, str]
    days_earlier: tuple[float, float, float] | None = None

    @property
    def key(self) -> str:
        """Its key; ``nothing`` for doing nothing."""
        return "nothing" if self.act is None else self.act.key

    @property
    def unlooked(self) -> tuple[str, ...]:
        """Evidence it spends that nobody has looked at."""
        return tuple(label for label, seen in self.spends if not seen)

    @property
    def pays(self) -> bool:
        """Whether the gain likely covers the cost and nothing unseen is spent."""
        return (
            self.gain is not None
            and self.gain.covers >= LIKELY
            and self.stopped is None
            and not self.unlooked
        )

    def data(self) -> dict[str, Any]:
        """Write it as plain values."""
        return {
            "act": self.key,
            "does": [] if self.act is None else [one.act for one in self.act.does],
            "minutes": [0, 0, 0] if self.act is None else list(self.act.minutes),
            "cost": [round(one, 2) for one in self.cost],
            "spends": [{"opening": label, "looked_at": seen} for label, seen in self.spends],
            "reversible": "yes" if self.act is None else self.act.reversible,
            "gain": None
            if self.gain is None
            else {
                "expected": round(self.gain.mean, 2),
                "interval_90": [round(self.gain.low, 2), round(self.gain.high, 2)],
                "covers_cost": round(self.gain.covers, 3),
            },
            "days_earlier": None
            if self.days_earlier is None
            else [round(one, 1) for one in self.days_earlier],
            "wanting": list(self.wanting),
            "stopped_by": None if self.stopped is None else self.stopped.observation,
            "consent": dict(self.consent),
            "pays": self.pays,
        }


@dataclass(frozen=True, slots=True)
class Standing:
    """What the acts are weighed on.

    Attributes
    ----------
    fitted
        The instrument on its market; None where there is no price.
    states
        Of each part the probability of each state.
    """

    state: DossierState
    tree: PartsTree
    chronology: Chronology
    table: StopTable
    fitted: Fitted | None
    states: Mapping[str, Mapping[str, float]]


def weigh_acts(standing: Standing, acts: WorkActs, seed: int) -> tuple[Weighed, ...]:
    """Weigh doing nothing, and each act of the document that this instrument has parts for.

    Parameters
    ----------
    seed
        Of the draws, so that the same dossier gives the same figures.
    """
    nothing = Weighed(None, (0.0, 0.0, 0.0), (), Gain(0.0, 0.0, 0.0, 1.0), (), None, {})
    stops = stopped_acts(standing.state, standing.table)
    found = [nothing]
    for number, act in enumerate(acts.acts):
        if any(one.part not in standing.tree for one in act.does):
            continue
        cost = _cost(act, acts.per_hour)
        gain, wanting = _gain(standing, act, cost[1], np.random.default_rng([seed, number]))
        found.append(
            Weighed(
                act,
                cost,
                _spends(standing, act),
                gain,
                wanting,
                next((stops[one.act] for one in act.does if one.act in stops), None),
                {one.act: standing.state.leave(one.act).standing for one in act.does},
            )
        )
    return tuple(found)


def _cost(act: WorkAct, per_hour: float) -> tuple[float, float, float]:
    low, usual, high = (act.materials + per_hour * one / 60.0 for one in act.minutes)
    return low, usual, high


def _spends(standing: Standing, act: WorkAct) -> tuple[tuple[str, bool], ...]:
    """Openings that the act makes and the shop has not, each with whether it was looked at."""
    state, chronology = standing.state, standing.chronology
    made = own_acts(state, chronology)
    looked = {
        opening
        for seen in state.observations.values()
        if seen.status in ("read", "absent", "illegible")
        and (row := chronology.sign(seen.sign or "")) is not None
        and (opening := row.openings.get(seen.part)) is not None
    }
    found: dict[str, bool] = {}
    for one in act.does:
        done = Treatment(
            id="planned", act=one.act, part=one.part, reason="planned", reversible=False
        )
        for name in openings_done(done, chronology):
            if name not in made:
                label = next(one.label for one in chronology.openings if one.name == name)
                found[label] = name in looked
    return tuple(sorted(found.items()))


def _gain(
    standing: Standing, act: WorkAct, cost: float, rng: np.random.Generator
) -> tuple[Gain | None, tuple[str, ...]]:
    fitted = standing.fitted
    if not act.moves:
        return None, ()
    if fitted is None:
        return None, ("a price: too few comparables",)
    wanting = tuple(
        f"a grade of the {move.grade}"
        for move in act.moves
        if move.grade and _letter(standing.state, move.grade) is None
    )
    if wanting:
        return None, wanting
    mean, covariance = fitted.priced.fit.coefficients()
    places = [1 + EFFECTS.index(key) for key in EFFECTS]
    root = _root(covariance[np.ix_(places, places)])
    drawn = mean[places] + rng.standard_normal((DRAWS, len(EFFECTS))) @ root.T
    shift = np.zeros((DRAWS, len(EFFECTS)))
    for move in act.moves:
        shift += _moved(standing, fitted, move, rng)
    change = fitted.middle * np.expm1((shift * drawn).sum(axis=1))
    low, high = np.quantile(change, [0.05, 0.95])
    covers = float((change >= cost).mean())
    return Gain(float(change.mean()), float(low), float(high), covers), ()


def _root(covariance: Array) -> Array:
    """A root of a covariance that may have lost rank."""
    values, vectors = np.linalg.eigh((covariance + covariance.T) / 2.0)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))


def _moved(standing: Standing, fitted: Fitted, move: Move, rng: np.random.Generator) -> Array:
    """How much of each effect a move adds, (draws, effects)."""
    shift = np.zeros((DRAWS, len(EFFECTS)))
    comes: Flags = rng.random(DRAWS) < move.chance
    if move.effect:
        shift[comes, EFFECTS.index(move.effect)] = 1.0
    elif move.grade:
        letter = _letter(standing.state, move.grade)
        assert letter is not None
        better = max(BEST, GRADES.index(letter) - move.steps) - GRADES.index(letter)
        shift[comes, EFFECTS.index("grade")] = better / _aspects(standing.state)
    else:
        for part in move.of:
            states = standing.states.get(part, {"original": 1.0})
            shift += _state_moved(fitted, states, move, part, (rng.random(DRAWS), comes))
    return shift


def _state_moved(
    fitted: Fitted, states: Mapping[str, float], move: Move, part: str, drawn: tuple[Array, Flags]
) -> Array:
    market, (turn, comes) = fitted.priced.market, drawn
    shift = np.zeros((DRAWS, len(EFFECTS)))
    after = shares_of(market, part, move.to)
    below = 0.0
    for state, chance in states.items():
        here = comes & (turn >= below) & (turn < below + chance)
        below += chance
        if state == move.to or move.from_ not in (ANY, state):
            continue
        before = shares_of(market, part, state)
        for key in {*before, *after}:
            shift[here, EFFECTS.index(key)] += after.get(key, 0.0) - before.get(key, 0.0)
    return shift


def _letter(state: DossierState, aspect: str) -> str | None:
    """The letter that stands of an aspect."""
    return next((one.letter or None for one in grades(state) if one.aspect == aspect), None)


def _aspects(state: DossierState) -> int:
    """How many aspects share the grade by which it is priced."""
    graded: Sequence[str] = [one.aspect for one in grades(state) if one.by and one.aspect]
    whole = any(one.by and not one.aspect for one in grades(state))
    return len(SCALE) if whole else max(1, len(graded))
