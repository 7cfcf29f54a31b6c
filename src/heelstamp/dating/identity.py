"""Is there one completion date at all? When not, it is withheld, with reasons and per-part dates.

Completion is that of the instrument the anchor part (the body) left the factory with. Two things
take the meaning from it: evidence that the body came from another instrument than the rest, and
parts that came from several instruments. The first is a comparison of two whole models: the rest
of the instrument with this body, and with a body whose month has nothing to do with it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence
from heelstamp.dating.factors import BUILT, PartEvidence
from heelstamp.dating.model import Array, Part, Timing
from heelstamp.dating.posterior import Posterior, infer
from heelstamp.dating.table import encode

DOUBTFUL = 0.10
"""Probability of a foreign body from which on the date is withheld (our choice)."""

FOREIGN_PART = 0.50
"""Probability from which on a part counts as coming from another instrument (our choice)."""

SEVERAL = 2
"""Assemblies with a part from another instrument from which on the date is withheld."""


class Withheld(StrEnum):
    """Why no completion date is given."""

    BODY_DOUBTFUL = "body doubtful"
    SEVERAL_INSTRUMENTS = "several instruments"


@dataclass(frozen=True)
class Identity:
    """Verdict on whether the instrument has one completion date.

    Attributes
    ----------
    foreign_body
        P(the anchor part came from another instrument | all); None when the model does not hold
        such a state of the anchor.
    foreign_parts
        Parts with at least even odds of coming from another instrument.
    withheld
        Reasons to give no date; empty when the date stands.
    part_months
        For each part with dated evidence of its own: P(month | that evidence, part as built).
    """

    foreign_body: float | None
    foreign_parts: tuple[str, ...]
    withheld: tuple[Withheld, ...]
    part_months: Mapping[str, Array]


def judge_identity(
    compiled: CompiledModel, evidence: Evidence, posterior: Posterior, foreign_prior: float
) -> Identity:
    """Judge one instrument; *posterior* is its own, *foreign_prior* P(body foreign) beforehand."""
    model = compiled.model
    foreign_body = _foreign_body(compiled, evidence, posterior, foreign_prior)
    foreign: list[str] = []
    for part in model.parts:
        if Timing.DONOR in part.timing and part.name != model.anchor:
            place = part.timing.index(Timing.DONOR)
            if posterior.states[part.name][0, place] >= FOREIGN_PART:
                foreign.append(part.name)
    reasons: list[Withheld] = []
    if foreign_body is not None and foreign_body >= DOUBTFUL:
        reasons.append(Withheld.BODY_DOUBTFUL)
    if len({model.assembly_of(name).name for name in foreign}) >= SEVERAL:
        reasons.append(Withheld.SEVERAL_INSTRUMENTS)
    return Identity(foreign_body, tuple(foreign), tuple(reasons), part_months(compiled, evidence))


def _foreign_body(
    compiled: CompiledModel, evidence: Evidence, posterior: Posterior, foreign_prior: float
) -> float | None:
    model = compiled.model
    anchor = model.part(model.anchor)
    if Timing.DONOR not in anchor.timing:
        return None
    certain = tuple(float(timing is Timing.DONOR) for timing in anchor.timing)
    foreign = replace(anchor, undisturbed=certain, disturbed=certain)
    parts: tuple[Part, ...] = tuple(foreign if p is anchor else p for p in model.parts)
    hypothesis = replace(model, parts=parts, anchored=False)
    other = infer(CompiledModel(hypothesis, like=compiled), evidence)
    odds = foreign_prior / (1 - foreign_prior)
    ratio = odds * float(np.exp(other.log_evidence[0] - posterior.log_evidence[0]))
    return ratio / (1 + ratio)


def part_months(compiled: CompiledModel, evidence: Evidence) -> dict[str, Array]:
    """Give P(completion month | the part's own evidence, part as built) where there is any."""
    table = encode(compiled, [evidence])
    found: dict[str, Array] = {}
    for part in compiled.model.parts:
        seen = PartEvidence(compiled, table, part.name)
        if seen.dated:
            terms, _ = seen.terms(slice(0, 1))
            own = compiled.prior * terms[0, BUILT]
            found[part.name] = own / own.sum()
    return found
