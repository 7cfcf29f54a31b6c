"""What several looks together are expected to tell: exact over the product of their outcomes.

One act of access often allows several looks at once. Their joint gain is not the sum of the single
ones: it may be less (both tell the same) or more (one tells how far to trust the other). Each look
has outcomes that exclude each other and leave none out, and may stay unread; P(outcome) = Z_o / Z.
Up to ``EXACT_MOST`` products of outcomes the expectation is exact. Beyond, outcomes are drawn from
the predictive by the chain rule, look by look, as a tree: at a prefix that several draws share the
predictive is computed once, draws are divided over outcomes by whole expected numbers first and by
lot for the rest (residual sampling: Douc & Cappé, "Comparison of resampling schemes for particle
filtering", 2005), and the last look is summed instead of drawn. Posteriors of drawn cases are
exact. The standard error printed is that of plain draws, so it is rather too large.

It does not hold where legibility depends on what there is to read: an unread look tells nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, product
from math import prod

import numpy as np

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence, EvidenceError
from heelstamp.dating.inspection import COMPLETENESS, Inspection
from heelstamp.dating.model import Array
from heelstamp.dating.posterior import Posterior, infer_many, log_evidence_many

EXACT_MOST = 20_000
"""Most products of outcomes that are enumerated."""

DRAWS = 48
"""Draws beyond that."""

BLOCK = 1024
"""Rows inferred at a time; bounds the memory."""

Measure = Callable[[Posterior, Sequence[Evidence]], Array]
"""What is wanted of each row: posterior and evidence of n rows to an array (n, k)."""


@dataclass(frozen=True)
class Look:
    """One thing to look at.

    Attributes
    ----------
    outcomes
        Observations that each outcome would give; together the outcomes have probability one.
    readable
        P(it can be read at all).
    """

    name: str
    outcomes: tuple[Evidence, ...]
    readable: float = 1.0

    def __post_init__(self) -> None:
        if not self.outcomes or not 0 <= self.readable <= 1:
            raise EvidenceError(
                "a look needs outcomes, and a legibility of 0 to 1",
                where=self.name,
                received=f"{len(self.outcomes)} outcomes, legibility {self.readable}",
            )

    @classmethod
    def of(cls, inspection: Inspection) -> Look:
        """Take an inspection whose outcomes are single observations."""
        return cls(inspection.name, tuple((o,) for o in inspection.outcomes), inspection.readable)

    @property
    def branches(self) -> tuple[tuple[float, Evidence], ...]:
        """Every outcome with the share of cases in which it is read, and *unread* if it may be."""
        read = [(self.readable, one) for one in self.outcomes] if self.readable > 0 else []
        unread: list[tuple[float, Evidence]] = [(1 - self.readable, ())]
        return tuple(read + (unread if self.readable < 1 else []))


@dataclass(frozen=True)
class Expected:
    """Expectation of a measure over what may be seen.

    Attributes
    ----------
    values
        One expectation a column of the measure, (k,).
    error
        Standard errors (k,), or None when the expectation is exact.
    rows
        Cases computed: products of outcomes, or those of the last look over all draws.
    """

    values: Array
    error: Array | None
    rows: int


def products_of(looks: Sequence[Look]) -> int:
    """Count the products of outcomes of several looks, *unread* included."""
    return prod(len(look.branches) for look in looks)


def expected_after(
    compiled: CompiledModel,
    evidence: Evidence,
    bundles: Sequence[Sequence[Look]],
    measure: Measure,
    *,
    generator: np.random.Generator | None = None,
    most: int = EXACT_MOST,
    draws: int = DRAWS,
) -> tuple[Expected, ...]:
    """The expectation of *measure* after each bundle of looks, in their order.

    Parameters
    ----------
    bundles
        Looks that would be taken together; a bundle of one is a single inspection.
    generator
        Source of the draws; needed only for a bundle of more than *most* products.

    Raises
    ------
    EvidenceError
        The outcomes of a look do not add up to probability one, or draws are needed and there is
        no generator.
    """
    small = [i for i, looks in enumerate(bundles) if products_of(looks) <= most]
    found = dict(
        zip(small, _exact(compiled, evidence, [bundles[i] for i in small], measure), strict=True)
    )
    for i, looks in enumerate(bundles):
        if i in found:
            continue
        if generator is None:
            raise EvidenceError(
                "too many products of outcomes to enumerate, and nothing to draw them with",
                where=", ".join(look.name for look in looks),
                received=products_of(looks),
                remedy="Give a random generator.",
            )
        found[i] = _drawn(compiled, evidence, looks, measure, generator=generator, draws=draws)
    return tuple(found[i] for i in range(len(bundles)))


def _exact(
    compiled: CompiledModel, evidence: Evidence, bundles: Sequence[Sequence[Look]], measure: Measure
) -> list[Expected]:
    """Enumerate all products of all bundles as rows of one stream."""
    if not bundles:
        return []
    base = float(log_evidence_many(compiled, [evidence])[0])
    totals: Array | None = None
    mass, counts = np.zeros(len(bundles)), np.zeros(len(bundles), dtype=int)
    stream = _products(evidence, bundles)
    while block := list(islice(stream, BLOCK)):
        rows = [row for _, _, row in block]
        posterior = infer_many(compiled, rows)
        values = measure(posterior, rows)
        shares = np.array([share for _, share, _ in block])
        p = shares * np.exp(posterior.log_evidence - base)
        which = np.array([index for index, _, _ in block])
        if totals is None:
            totals = np.zeros((len(bundles), values.shape[1]))
        np.add.at(totals, which, p[:, None] * values)
        np.add.at(mass, which, p)
        np.add.at(counts, which, 1)
    assert totals is not None
    for looks, total in zip(bundles, mass, strict=True):
        _check_mass(np.atleast_1d(total), looks)
    return [Expected(row, None, int(n)) for row, n in zip(totals, counts, strict=True)]


def _products(
    evidence: Evidence, bundles: Sequence[Sequence[Look]]
) -> Iterator[tuple[int, float, Evidence]]:
    for index, looks in enumerate(bundles):
        for branches in product(*(look.branches for look in looks)):
            seen = tuple(one for _, outcome in branches for one in outcome)
            yield index, prod(share for share, _ in branches), (*evidence, *seen)


@dataclass(frozen=True)
class _Node:
    """A prefix that *count* draws share, with ln Z of its evidence."""

    evidence: Evidence
    log_evidence: float
    count: int


def _drawn(
    compiled: CompiledModel,
    evidence: Evidence,
    looks: Sequence[Look],
    measure: Measure,
    *,
    generator: np.random.Generator,
    draws: int,
) -> Expected:
    # looks with few outcomes first: more draws then share a prefix, and the longest is summed
    *before, last = sorted(looks, key=lambda look: len(look.branches))
    nodes = [_Node(evidence, float(log_evidence_many(compiled, [evidence])[0]), draws)]
    for look in before:
        rows, shares, logs = _branches(nodes, look)
        found = np.concatenate([log_evidence_many(compiled, one) for one in _blocks(rows)]).reshape(
            len(nodes), -1
        )
        p = shares * np.exp(found - logs)
        _check_mass(p.sum(axis=1), [look])
        grown = []
        for place, node in enumerate(nodes):
            for branch, count in enumerate(_divide(p[place], node.count, generator)):
                if count:
                    row = rows[place * p.shape[1] + branch]
                    grown.append(_Node(row, float(found[place, branch]), int(count)))
        nodes = grown
    rows, shares, logs = _branches(nodes, last)
    parts = []
    for block in _blocks(rows):
        posterior = infer_many(compiled, block)
        parts.append((posterior.log_evidence, measure(posterior, block)))
    found = np.concatenate([log for log, _ in parts]).reshape(len(nodes), -1)
    values = np.concatenate([value for _, value in parts]).reshape(*found.shape, -1)
    p = shares * np.exp(found - logs)
    _check_mass(p.sum(axis=1), [last])
    each = np.einsum("no,nok->nk", p, values)
    counts = np.array([node.count for node in nodes])
    mean = counts @ each / draws
    variance = counts @ (each - mean) ** 2 / max(1, draws - 1)
    return Expected(mean, np.sqrt(variance / draws), len(rows))


def _branches(nodes: Sequence[_Node], look: Look) -> tuple[list[Evidence], Array, Array]:
    """A row a node and branch, the shares of the branches, and ln Z of each node (n, 1)."""
    branches = look.branches
    rows: list[Evidence] = [(*node.evidence, *seen) for node in nodes for _, seen in branches]
    shares = np.array([share for share, _ in branches])
    return rows, shares, np.array([[node.log_evidence] for node in nodes])


def _divide(p: Array, count: int, generator: np.random.Generator) -> Array:
    """Divide *count* draws: whole expected numbers first, the rest by lot."""
    wanted = count * p / p.sum()
    whole = np.floor(wanted)
    rest = count - int(whole.sum())
    if rest > 0:
        left = wanted - whole
        whole += generator.multinomial(rest, left / left.sum())
    return np.asarray(whole, dtype=np.float64)


def _blocks(rows: Sequence[Evidence]) -> Iterator[Sequence[Evidence]]:
    for begin in range(0, len(rows), BLOCK):
        yield rows[begin : begin + BLOCK]


def _check_mass(totals: Array, looks: Sequence[Look]) -> None:
    worst = float(totals[np.abs(totals - 1).argmax()])
    if abs(worst - 1) > COMPLETENESS:
        raise EvidenceError(
            "the outcomes of an inspection do not add up",
            where=", ".join(look.name for look in looks),
            received=f"{worst:.9f}",
            remedy="List every outcome once.",
        )
