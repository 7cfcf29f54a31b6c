"""Two stories for a conflict: what must be true for all that was seen, and which is likelier.

A story gives each part in question one of its states and says of each observation in question
whether it is a mistake. The likelihood of an observation is (1 - e) content + e floor, where the
floor depends on nothing (``docs/methods/dating.md``, section 2), so what was seen splits without
approximation: Z(mistake) = e floor Z(without it), Z(content) = Z - Z(mistake); with several
observations in question by inclusion and exclusion. A part is held to a state by a likelihood of
1e-300 for all others. Shares of all stories add to one.

Of the stories two are kept: the most probable, and the most probable that does without what the
first asks for. That a neck came from elsewhere *and* its mark was misread is no rival of its having
come from elsewhere. Where it stops: a content that is below 1e-13 of the whole is lost in rounding
and counts as nought; the common failure of a group of signs stays with the content; a mistake of
several observations together (one careless look) is not described, and marks on one part are taken
to fail each by itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import Protocol

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import (
    Document,
    Evidence,
    EvidenceError,
    FeatureSeen,
    Mark,
    Observation,
    ScrewsSeen,
    SerialNumber,
    SignSeen,
    StateLikelihood,
)
from heelstamp.dating.inspection import COMPLETENESS
from heelstamp.dating.model import Array, DatingModel
from heelstamp.dating.posterior import infer_many, log_evidence_many
from heelstamp.dating.questions import Question
from heelstamp.dating.summary import entropy_bits

HELD = 1e-300
"""Likelihood of the states that a part is not held to."""

ROUNDING = 1e-13
"""Share below which a story is lost in rounding."""


@dataclass(frozen=True)
class Story:
    """One joint explanation.

    Attributes
    ----------
    states
        The state of each part in question.
    mistaken
        Places of the observations that are mistakes; the others in question are not.
    share
        P(story | all).
    prior
        P(story) before anything was seen: of the states, times e or 1 - e of each observation.
    months
        P(completion month | story, all), (months,).
    """

    states: Mapping[str, str]
    mistaken: tuple[int, ...]
    share: float
    prior: float
    months: Array


@dataclass(frozen=True)
class Conflict:
    """A question, its stories with a share above rounding (likeliest first), and the two kept."""

    question: Question
    stories: tuple[Story, ...]
    first: Story
    second: Story

    @property
    def odds(self) -> float:
        """How many times likelier the first story is than the second, all told."""
        return self.first.share / self.second.share

    @property
    def likelihood_ratio(self) -> float:
        """How many times likelier what was seen is under the first story than under the second."""
        return self.odds * self.second.prior / self.first.prior


class Look(Protocol):
    """Something that could be looked at; an outcome is one observation, or several together."""

    @property
    def name(self) -> str:
        """Name of the inspection."""
        ...

    @property
    def outcomes(self) -> Sequence[Observation | Evidence]:
        """All that could be seen, each once."""
        ...

    @property
    def readable(self) -> float:
        """P(it can be read), whatever the state of the part."""
        ...


@dataclass(frozen=True)
class Deciding:
    """An inspection and the bits it is expected to tell of which of two stories holds."""

    inspection: str
    bits: float


def error_and_floor(compiled: CompiledModel, one: Observation) -> tuple[float, float]:
    """E, and P(observation | it is a mistake).

    Raises
    ------
    EvidenceError
        It is a likelihood from elsewhere, which carries no error of its own.
    """
    model = compiled.model
    if isinstance(one, Mark):
        grid = model.marks
        inside = [
            max(0, min(r.period.last, grid.last) - max(r.period.first, grid.first) + 1)
            for r in one.readings
        ]
        mass = sum(r.weight * months for r, months in zip(one.readings, inside, strict=True))
        return one.error, (mass or sum(r.weight for r in one.readings)) / len(grid)
    if isinstance(one, FeatureSeen):
        feature = model.features[compiled.variants[one.feature, one.variant][0]]
        return feature.error, 1 / len(feature.variants)
    if isinstance(one, SignSeen):
        sign = compiled.signs[one.sign]
        return sign.error, 1 / len(sign.outcomes)
    if isinstance(one, ScrewsSeen):
        return model.screws.error, 1 / (one.count + 1)
    if isinstance(one, SerialNumber) and model.serial is not None:
        return model.serial.error, sum(w for _, w in one.months) / len(model.completion)
    if isinstance(one, Document):
        grid = model.completion
        inside_ = min(one.period.last, grid.last) - max(one.period.first, grid.first) + 1
        return 1 - one.reliability, max(inside_, 1) / len(grid)
    raise EvidenceError(
        "this observation has no error of its own that could be split off",
        received=type(one).__name__,
        remedy="Ask about the states of its part only.",
    )


def each_by_itself(evidence: Evidence) -> Evidence:
    """The evidence with marks that fail each by itself."""
    return tuple(
        replace(one, together=0.0) if isinstance(one, Mark) and one.together else one
        for one in evidence
    )


def explain(compiled: CompiledModel, evidence: Evidence, question: Question) -> Conflict:
    """Weigh every story of a question and keep two.

    Raises
    ------
    EvidenceError
        Nothing is in question, or only one story is possible at all.
    """
    evidence = each_by_itself(evidence)
    plans = _plans(compiled, evidence, question)
    rows = [row for plan in plans for row in plan.rows(evidence, ())]
    bare: list[Evidence] = [plan.held for plan in plans]
    posterior = infer_many(compiled, [*rows, *bare, evidence])
    scale = np.exp(posterior.log_evidence[: len(rows)] - posterior.log_evidence[-1])
    prior = np.exp(posterior.log_evidence[len(rows) : -1])
    stories, begin = [], 0
    for plan, before in zip(plans, prior, strict=True):
        count = len(plan.signs)
        weight = np.array(plan.signs) * scale[begin : begin + count]
        share = float(weight.sum())
        if share > ROUNDING and before > HELD:
            months = np.clip(weight @ posterior.months[begin : begin + count], 0, None)
            stories.append(
                Story(
                    plan.states,
                    plan.mistaken,
                    share,
                    float(before) * plan.prior,
                    months / months.sum(),
                )
            )
        begin += count
    stories.sort(key=lambda story: -story.share)
    if len(stories) < 2:
        raise EvidenceError(
            "there are not two stories to tell",
            received=f"{', '.join(question.parts)}; observations {question.observations}",
            remedy="Ask about a part whose state is open, or an observation that can be mistaken.",
        )
    first = stories[0]
    asked = _departures(compiled.model, first)
    rivals = [s for s in stories[1:] if not asked <= _departures(compiled.model, s)]
    second = next(iter(rivals or stories[1:]))
    return Conflict(question, tuple(stories), first, second)


def deciding(
    compiled: CompiledModel, evidence: Evidence, conflict: Conflict, inspections: Sequence[Look]
) -> tuple[Deciding, ...]:
    """Rank inspections by what they are expected to tell of which of the two stories holds.

    Expected fall of the entropy of a choice between the two, taken as the only ones: for each
    outcome the weights of both stories are worked out with the outcome added.

    Raises
    ------
    EvidenceError
        The outcomes of an inspection do not add up to probability one under a story.
    """
    evidence = each_by_itself(evidence)
    plans = [
        StoryRows.make(compiled, evidence, conflict.question, story.states, story.mistaken)
        for story in (conflict.first, conflict.second)
    ]
    rows: list[Evidence] = []
    for one in inspections:
        for outcome in one.outcomes:
            more = outcome if isinstance(outcome, tuple) else (outcome,)
            for plan in plans:
                rows += plan.rows(evidence, more)
    if not rows:
        return ()
    logs = log_evidence_many(compiled, [*rows, evidence])
    scale = np.exp(logs[:-1] - logs[-1])
    shares = np.array([conflict.first.share, conflict.second.share])
    found, begin = [], 0
    for one in inspections:
        table = np.zeros((len(one.outcomes), 2))
        for place in range(len(one.outcomes)):
            for story, plan in enumerate(plans):
                count = len(plan.signs)
                table[place, story] = max(0.0, scale[begin : begin + count] @ plan.signs)
                begin += count
        if (abs(table.sum(axis=0) / shares - 1) > COMPLETENESS).any():
            raise EvidenceError(
                "the outcomes of an inspection do not add up",
                where=one.name,
                received=f"{table.sum(axis=0) / shares}",
                remedy="List every outcome once.",
            )
        found.append(Deciding(one.name, one.readable * told_of_two(table)))
    return tuple(sorted(found, key=lambda one: (-one.bits, one.inspection)))


def told_of_two(table: Array) -> float:
    """The bits that outcomes tell of which of two stories holds.

    Parameters
    ----------
    table
        P(story, outcome), (outcomes, 2), up to a factor.
    """
    weight = table.sum(axis=1)
    some = weight > 0
    before = float(entropy_bits(table.sum(axis=0) / table.sum()))
    after = float(weight[some] @ entropy_bits(table[some] / weight[some, None])) / table.sum()
    return float(max(0.0, before - after))


@dataclass(frozen=True)
class StoryRows:
    """The rows whose evidence, with signs and floors, adds up to that of one story."""

    states: Mapping[str, str]
    mistaken: tuple[int, ...]
    held: tuple[StateLikelihood, ...]
    left_out: tuple[frozenset[int], ...]
    signs: tuple[float, ...]
    prior: float

    @classmethod
    def make(
        cls,
        compiled: CompiledModel,
        evidence: Evidence,
        question: Question,
        states: Mapping[str, str],
        mistaken: tuple[int, ...],
    ) -> StoryRows:
        """Work out which rows one story of a question needs."""
        split = {i: error_and_floor(compiled, evidence[i]) for i in question.observations}
        sound = [i for i in question.observations if i not in mistaken]
        left_out, signs = [], []
        for size in range(len(sound) + 1):
            for some in combinations(sound, size):
                out = frozenset((*mistaken, *some))
                left_out.append(out)
                floors = np.prod([split[i][0] * split[i][1] for i in out])
                signs.append(float((-1) ** size * floors))
        prior = np.prod([split[i][0] for i in mistaken] + [1 - split[i][0] for i in sound])
        held = tuple(_holding(compiled, states))
        return cls(states, mistaken, held, tuple(left_out), tuple(signs), float(prior))

    def rows(self, evidence: Evidence, more: Evidence) -> list[Evidence]:
        """The rows, each with *more* added."""
        return [
            (*(one for i, one in enumerate(evidence) if i not in out), *self.held, *more)
            for out in self.left_out
        ]


def _holding(compiled: CompiledModel, states: Mapping[str, str]) -> list[StateLikelihood]:
    return [
        StateLikelihood(
            part, {one: 1.0 if one == state else HELD for one in compiled.model.part(part).states}
        )
        for part, state in states.items()
    ]


def _plans(compiled: CompiledModel, evidence: Evidence, question: Question) -> list[StoryRows]:
    if not (question.parts or question.observations):
        raise EvidenceError("nothing is in question", remedy="Name a part or an observation.")
    choices = [compiled.model.part(part).states for part in question.parts]
    asked = question.observations
    subsets = [some for size in range(len(asked) + 1) for some in combinations(asked, size)]
    return [
        StoryRows.make(
            compiled, evidence, question, dict(zip(question.parts, states, strict=True)), mistaken
        )
        for states in product(*choices)
        for mistaken in subsets
    ]


def _departures(model: DatingModel, story: Story) -> set[str | int]:
    """What a story asks for: parts that are not in their first state, and mistakes."""
    changed = {part for part, state in story.states.items() if state != model.part(part).states[0]}
    return {*changed, *story.mistaken}
