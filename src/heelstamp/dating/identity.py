"""Is there one completion date at all? When not, it is withheld, with reasons and per-part dates.

Completion is that of the instrument the anchor part (the body) left the factory with. Three
things take the meaning from it: evidence that the body came from another instrument than the rest,
parts that came from several instruments, and that the whole was put together from several. The
first is a comparison of two whole models: the rest of the instrument with this body, and with a
body whose month has nothing to do with it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.elimination import CHUNK
from heelstamp.dating.evidence import Evidence
from heelstamp.dating.factors import BUILT, PartEvidence
from heelstamp.dating.model import Array, DatingModel, Level, Opening, Part, Timing
from heelstamp.dating.posterior import Posterior, log_evidence_many
from heelstamp.dating.table import EvidenceTable, encode

DOUBTFUL = 0.10
"""Probability of a foreign body from which on the date is withheld (our choice)."""

FOREIGN_PART = 0.50
"""Probability from which on a part counts as coming from another instrument (our choice)."""


PUT_TOGETHER = 0.80
"""Probability of an instrument put together from several from which on the date is withheld (our
choice: where the words would say *probably*; below, the range carries both accounts)."""

FOREIGN_ANCHOR = "foreign anchor"
"""Name of the root that stands for an anchor from another instrument."""


class Withheld(StrEnum):
    """Why no completion date is given."""

    BODY_DOUBTFUL = "body doubtful"
    SEVERAL_INSTRUMENTS = "several instruments"
    PUT_TOGETHER = "put together"


@dataclass(frozen=True)
class Identity:
    """Verdict on whether the instrument has one completion date.

    Attributes
    ----------
    foreign_body
        P(the anchor part came from another instrument | all); None when the model does not hold
        such a state of the anchor.
    assembled
        P(the whole was put together from several instruments | all); None when no history class
        of the model is such a one.
    foreign_parts
        Parts with at least even odds of coming from another instrument.
    withheld
        Reasons to give no date; empty when the date stands.
    """

    foreign_body: float | None
    assembled: float | None
    foreign_parts: tuple[str, ...]
    withheld: tuple[Withheld, ...]


def judge_identity(
    compiled: CompiledModel, evidence: Evidence, posterior: Posterior, foreign_prior: float
) -> Identity:
    """Judge one instrument; *posterior* is its own, *foreign_prior* P(body foreign) beforehand."""
    hypothesis = foreign_hypothesis(compiled)
    foreign_body = None
    if hypothesis is not None:
        other = log_evidence_many(hypothesis, [evidence])
        foreign_body = float(foreign_bodies(posterior, other, foreign_prior)[0])
    foreign = [name for name, rows in _foreign_parts(posterior).items() if rows[0]]
    reasons: list[Withheld] = []
    if foreign_body is not None and foreign_body >= DOUBTFUL:
        reasons.append(Withheld.BODY_DOUBTFUL)
    if parts_of_several(posterior)[0]:
        reasons.append(Withheld.SEVERAL_INSTRUMENTS)
    together = put_together(posterior)
    assembled = None if together is None else float(together[0])
    if assembled is not None and assembled >= PUT_TOGETHER:
        reasons.append(Withheld.PUT_TOGETHER)
    return Identity(foreign_body, assembled, tuple(foreign), tuple(reasons))


def foreign_hypothesis(compiled: CompiledModel) -> CompiledModel | None:
    """The model in which the body's month has nothing to do with the rest, if there is one."""
    model = compiled.model
    anchor = model.part(model.anchor)
    if Timing.DONOR not in anchor.timing:
        return None
    if compiled.rival is None:
        compiled.rival = CompiledModel(with_foreign_anchor(model, 1.0), like=compiled)
    return compiled.rival


def with_foreign_anchor(model: DatingModel, share: float) -> DatingModel:
    """The model in which the anchor came from another instrument with probability *share*.

    Then all openings of ``foreign_opens`` were certainly done.
    """
    anchor = model.part(model.anchor)
    donor = [float(timing is Timing.DONOR) for timing in anchor.timing]
    if not model.foreign_opens:
        row = tuple(
            share * other + (1 - share) * p
            for other, p in zip(donor, anchor.undisturbed, strict=True)
        )
        changed = anchor.with_tables([row] * len(anchor.tables))
        return replace(model, parts=_exchange(model, changed), anchored=False)
    root = Opening(FOREIGN_ANCHOR, (share,) * len(model.history), root=True)
    level = Level(((root.name,),), tuple(donor))
    changed = replace(anchor, disturbed=None, levels=(level, *model.levels_of(anchor)))
    openings = tuple(_brought(one, model) for one in model.openings)
    return replace(
        model, parts=_exchange(model, changed), openings=(*openings, root), anchored=False
    )


def _exchange(model: DatingModel, changed: Part) -> tuple[Part, ...]:
    return tuple(changed if part.name == changed.name else part for part in model.parts)


def _brought(one: Opening, model: DatingModel) -> Opening:
    """Let a foreign anchor bring an opening with it, whatever it needs otherwise."""
    if one.name not in model.foreign_opens:
        return one
    needs = (*one.needs, (FOREIGN_ANCHOR,)) if one.needs else ()
    return replace(one, needs=needs, along={**one.along, FOREIGN_ANCHOR: 1.0})


def foreign_bodies_of(
    compiled: CompiledModel, table: EvidenceTable, posterior: Posterior, foreign_prior: float
) -> Array | None:
    """P(body foreign | all) of many instruments from the one posterior, (n,).

    Where the anchor is the only part of an assembly that is never disturbed and of no lot, the
    rival's evidence is P(signs | foreign) Phi_foreign sum_t p(t) / (P(signs | first) Phi(t)), with
    Phi the body's own marks and features: no second inference is needed. None where that does not
    hold; then compare with ``foreign_hypothesis``.
    """
    model = compiled.model
    anchor = model.part(model.anchor)
    cut = next(one for one in compiled.whole.cuts if anchor.name in one.parts)
    alone = cut.parts == (anchor.name,) and len(cut.combinations) == 1 and not model.foreign_opens
    if Timing.DONOR not in anchor.timing or not alone or anchor.name in compiled.batch_of_part:
        return None
    seen = PartEvidence(compiled, table, anchor.name)
    ratio = np.ones(table.count)
    for begin in range(0, table.count if seen.dated else 0, CHUNK):
        rows = slice(begin, min(begin + CHUNK, table.count))
        own = seen.terms(rows)[0][:, BUILT]
        ratio[rows] = (own @ compiled.prior) * (posterior.months[rows] / own).sum(axis=1)
    signs = table.states[compiled.part_index[anchor.name]]
    if signs is not None:
        ratio *= signs[:, anchor.timing.index(Timing.DONOR)] / signs[:, 0]
    odds = ratio * foreign_prior / (1 - foreign_prior)
    return np.asarray(odds / (1 + odds), dtype=np.float64)


def foreign_bodies(posterior: Posterior, other: Array, foreign_prior: float) -> Array:
    """P(body foreign | all) from the posterior and the rival's log evidence, (n,)."""
    odds = foreign_prior / (1 - foreign_prior)
    ratio = odds * np.exp(np.minimum(other - posterior.log_evidence, 700.0))
    return np.asarray(ratio / (1 + ratio), dtype=np.float64)


def several_instruments(posterior: Posterior) -> npt.NDArray[np.bool_]:
    """Tell which instruments are of several, by their parts or as probably put together, (n,)."""
    together = put_together(posterior)
    found = parts_of_several(posterior)
    return found if together is None else found | (together >= PUT_TOGETHER)


def put_together(posterior: Posterior) -> Array | None:
    """P(put together from several instruments | all), (n,); None where no class is such a one."""
    model = posterior.model
    places = [place for place, (name, _) in enumerate(model.history) if name in model.assembled]
    return posterior.history[:, places].sum(axis=1) if places else None


def parts_of_several(posterior: Posterior) -> npt.NDArray[np.bool_]:
    """Tell whose parts come from several instruments, (n,).

    Two parts from elsewhere may have come together if one access leads to both or one set holds
    both; else they count as coming from two instruments.
    """
    foreign = _foreign_parts(posterior)
    if not foreign:
        return np.zeros(len(posterior.months), dtype=bool)
    ways = {name: comes_with(posterior.model, name) for name in foreign}
    apart = np.array([[not one & other for other in ways.values()] for one in ways.values()])
    table = np.array(list(foreign.values()))
    return np.asarray((table & (apart.astype(int) @ table > 0)).any(axis=0))


def comes_with(model: DatingModel, name: str) -> set[tuple[str, str]]:
    """The accesses that lead to a part, and the sets it lies in."""
    part = model.part(name)
    named = {o for level in model.levels_of(part) for way in level.path for o in way}
    found = {("access", model.opening(one).access) for one in named}
    return found | {("set", one.name) for one in model.sets if name in one.parts}


def _foreign_parts(posterior: Posterior) -> dict[str, npt.NDArray[np.bool_]]:
    """Tell which parts have at least even odds of coming from another instrument, (n,) each."""
    model = posterior.model
    return {
        part.name: posterior.states[part.name][:, part.timing.index(Timing.DONOR)] >= FOREIGN_PART
        for part in model.parts
        if Timing.DONOR in part.timing and part.name != model.anchor
    }


def part_months(compiled: CompiledModel, evidence: Evidence) -> dict[str, Array]:
    """P(completion month | the part's own evidence, part as built) where there is any."""
    table = encode(compiled, [evidence])
    found: dict[str, Array] = {}
    for part in compiled.model.parts:
        seen = PartEvidence(compiled, table, part.name)
        if seen.dated:
            terms, _ = seen.terms(slice(0, 1))
            own = compiled.prior * terms[0, BUILT]
            found[part.name] = own / own.sum()
    return found
