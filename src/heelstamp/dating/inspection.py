"""What could be looked at next, and how much it is expected to tell.

Expected gain of X: P(readable) [H(X) - sum_o P(o) H(X | o)], each outcome o appended as a
hypothetical observation and all outcomes run as one batch; P(o) = Z_o / Z. Legibility multiplies
the gain, provided it does not depend on the state of the part.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence, EvidenceError, Observation
from heelstamp.dating.model import Array
from heelstamp.dating.moments import additive_moments
from heelstamp.dating.posterior import infer_many
from heelstamp.dating.summary import entropy_bits

COMPLETENESS = 1e-6
"""How far the outcome probabilities may miss one before the enumeration is called incomplete."""


@dataclass(frozen=True)
class Inspection:
    """Something that could be looked at: outcomes that exclude each other and leave none out."""

    name: str
    outcomes: tuple[Observation, ...]
    readable: float = 1.0


@dataclass(frozen=True)
class Gain:
    """Expected gain of one inspection.

    Attributes
    ----------
    date_bits
        Expected fall of the entropy of the completion month.
    part_bits
        The same for the state of each part asked for.
    variance
        Expected fall of the variance of the additive value, when one was given.
    """

    inspection: str
    date_bits: float
    part_bits: Mapping[str, float] = field(default_factory=dict)
    variance: float | None = None


def expected_gains(
    compiled: CompiledModel,
    evidence: Evidence,
    inspections: Sequence[Inspection],
    parts: Sequence[str] = (),
    value: tuple[Array, Mapping[str, Sequence[float]]] | None = None,
) -> tuple[Gain, ...]:
    """Compute the expected gain of each inspection; *value* is (by month, by state) or None.

    Raises
    ------
    EvidenceError
        The outcomes of an inspection do not add up to probability one.
    """
    rows: list[Evidence] = [evidence]
    for one in inspections:
        rows += [(*evidence, outcome) for outcome in one.outcomes]
    posterior = infer_many(compiled, rows)
    date = entropy_bits(posterior.months)
    states = {part: entropy_bits(posterior.states[part]) for part in parts}
    variance: Array | None = None
    if value is not None:
        variance = additive_moments(compiled, rows, *value)[1]
    gains = []
    begin = 1
    for one in inspections:
        inside = slice(begin, begin + len(one.outcomes))
        begin = inside.stop
        p = np.exp(posterior.log_evidence[inside] - posterior.log_evidence[0])
        if abs(p.sum() - 1) > COMPLETENESS:
            raise EvidenceError(
                "the outcomes of an inspection do not add up",
                where=one.name,
                received=f"{p.sum():.9f}",
                remedy="List every outcome once.",
            )
        gains.append(
            Gain(
                one.name,
                one.readable * float(date[0] - p @ date[inside]),
                {part: one.readable * float(h[0] - p @ h[inside]) for part, h in states.items()},
                None
                if variance is None
                else one.readable * float(variance[0] - p @ variance[inside]),
            )
        )
    return tuple(gains)
