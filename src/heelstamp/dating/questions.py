"""What calls for two stories: observations that surprise, parts from elsewhere, parts that quarrel.

Three ways for a record to contradict itself: an observation that the others did not lead one to
expect (``checks``); a part that the posterior takes to come from another instrument, whatever its
observations look like to each other; and two parts each of which the rest can live with, but not
both together. Each becomes a question for ``explanations``. The thresholds are our choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from heelstamp.dating.checks import SURPRISING
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import (
    Evidence,
    FeatureSeen,
    Mark,
    Observation,
    SerialNumber,
    SignSeen,
    StateLikelihood,
)
from heelstamp.dating.identity import FOREIGN_PART, with_foreign_anchor
from heelstamp.dating.model import DatingModel, Timing
from heelstamp.dating.posterior import Posterior, infer_many, log_evidence_many

QUARREL = 0.01
"""Two parts quarrel when what was seen on both is this many times likelier apart (our choice)."""

MOST_OBSERVATIONS = 3
"""Flagged observations of one part that one question takes up, the most surprising first."""


@dataclass(frozen=True)
class Question:
    """What a conflict turns on: parts by name, observations by their place in the evidence."""

    parts: tuple[str, ...]
    observations: tuple[int, ...] = ()


def questions(
    compiled: CompiledModel,
    evidence: Evidence,
    posterior: Posterior,
    surprise: Sequence[float | None],
    sources: Sequence[object] | None = None,
) -> tuple[Question, ...]:
    """Find what calls for two stories, the most surprising first.

    Observations below ``SURPRISING``, those of one part in one question; parts taken to come from
    another instrument, with the dated observation that says so most; pairs of parts that quarrel.

    Parameters
    ----------
    posterior, surprise
        Of *evidence*, from ``infer`` and ``surprises``.
    sources
        What each piece of evidence came from; of pieces from one look the most surprising is in
        question. None takes each for a look of its own.
    """
    model = compiled.model
    sources = range(len(evidence)) if sources is None else sources
    flagged = sorted((p, i) for i, p in enumerate(surprise) if p is not None and p < SURPRISING)
    found: dict[tuple[str, ...] | int, list[int]] = {}
    for _, place in flagged:
        part = part_of(model, evidence[place])
        group = found.setdefault(place if part is None else (part,), [])
        told = any(sources[other] == sources[place] for other in group)
        if not told and len(group) < MOST_OBSERVATIONS:
            group.append(place)
    for one in model.parts:
        if Timing.DONOR in one.timing and one.name != model.anchor and (one.name,) not in found:
            donor = one.timing.index(Timing.DONOR)
            dated = _dated(model, evidence, one.name)
            if dated and posterior.states[one.name][0, donor] >= FOREIGN_PART:
                found[one.name,] = [_telling(compiled, evidence, dated, one.name, donor)]
    taken = {part for key in found if isinstance(key, tuple) for part in key}
    for p, q, _ in quarrels(compiled, evidence):
        if not taken & {p, q}:
            taken |= {p, q}
            both = (_dated(model, evidence, p), _dated(model, evidence, q))
            found[p, q] = [_telling(compiled, evidence, one, None, 0) for one in both]
    return tuple(
        Question(key if isinstance(key, tuple) else (), tuple(places))
        for key, places in found.items()
    )


def with_open_anchor(compiled: CompiledModel, foreign_prior: float) -> CompiledModel:
    """Leave it open whether the anchor part belongs to the rest, for a question about it.

    Completion is then that of the instrument of the other parts wherever the anchor is foreign; the
    probability of that is what ``identity`` gives.

    Parameters
    ----------
    foreign_prior
        P(anchor foreign) before anything is seen.
    """
    model = compiled.model
    anchor = model.part(model.anchor)
    if Timing.DONOR not in anchor.timing:
        return compiled
    return CompiledModel(with_foreign_anchor(model, foreign_prior), like=compiled)


def _dated(model: DatingModel, evidence: Evidence, part: str) -> list[int]:
    """The places of observations of *part* that depend on the month and can be mistaken."""
    return [
        place
        for place, one in enumerate(evidence)
        if isinstance(one, Mark | FeatureSeen | SerialNumber) and part_of(model, one) == part
    ]


def _telling(
    compiled: CompiledModel, evidence: Evidence, places: list[int], part: str | None, state: int
) -> int:
    """The place without which *part* is least likely in *state*, or all else likeliest."""
    rows = [(*evidence[:place], *evidence[place + 1 :]) for place in places]
    without = infer_many(compiled, rows)
    level = -without.log_evidence if part is None else without.states[part][:, state]
    return places[int(np.argmin(level))]


def quarrels(
    compiled: CompiledModel, evidence: Evidence, least: float = QUARREL
) -> tuple[tuple[str, str, float], ...]:
    """Find pairs of parts that do not go together, the worst first.

    For two parts with evidence that depends on the month: P(seen on both | rest) divided by the
    product of each alone; below *least* they quarrel.
    """
    places: dict[str, set[int]] = {}
    dated = set()
    for place, one in enumerate(evidence):
        part = part_of(compiled.model, one)
        if part is not None:
            places.setdefault(part, set()).add(place)
            if isinstance(one, Mark | FeatureSeen | SerialNumber):
                dated.add(part)
    names = [part for part in places if part in dated]
    pairs = list(combinations(names, 2))
    if not pairs:
        return ()
    left = [(), *((name,) for name in names), *pairs]
    rows = []
    for group in left:
        out = set().union(*(places[name] for name in group))
        rows.append(tuple(one for place, one in enumerate(evidence) if place not in out))
    log = dict(zip(left, log_evidence_many(compiled, rows).tolist(), strict=True))
    found = [(p, q, float(np.exp(log[()] + log[p, q] - log[(p,)] - log[(q,)]))) for p, q in pairs]
    return tuple(sorted((one for one in found if one[2] < least), key=lambda one: one[2]))


def part_of(model: DatingModel, one: Observation) -> str | None:
    """The part an observation speaks of; None for papers and for looks at openings."""
    if isinstance(one, Mark | StateLikelihood):
        return one.part
    if isinstance(one, FeatureSeen):
        return next(f.part for f in model.features if f.name == one.feature)
    if isinstance(one, SignSeen):
        return next(s.part for s in model.signs if s.name == one.sign)
    if isinstance(one, SerialNumber) and model.serial is not None:
        return model.serial.part
    return None
