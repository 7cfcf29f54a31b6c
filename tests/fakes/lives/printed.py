"""What the program prints of many dossiers at once: its own steps, with one inference for all.

The same functions as for one dossier, translation to words; only the inference is shared, so that
every changed table is made ready once and not once an instrument. Left out is what bears on no word
of a part and no range: each entry left out in turn, changed tables tried on the date and on
readings. That it prints what one dossier alone gets is tested.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Any

import numpy as np

from fakes.hero_stages import guitar_tree
from heelstamp.casework.dating.fixed_features import fixed_at_odds
from heelstamp.casework.dating.own_acts import own_acts
from heelstamp.casework.dating.parts_seen import parts_seen
from heelstamp.casework.dating.procedure import DATED, gather, of_sets
from heelstamp.casework.dating.production import OUTSIDE_MOST, cut, production_of
from heelstamp.casework.dating.translation import translate_dossier
from heelstamp.casework.doubts.tried_words import sensitivity_finding
from heelstamp.casework.doubts.verdicts import Verdicts
from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.casework.papers.part_section import part_claims, part_section
from heelstamp.casework.papers.unsettled import Unsettled
from heelstamp.catalogue import DossierState
from heelstamp.chronology import Chronology
from heelstamp.dating import CompiledModel, Evidence, Posterior, central_interval, infer_many
from heelstamp.dating.changed_tables import assumptions
from heelstamp.dating.identity import (
    DOUBTFUL,
    foreign_bodies,
    foreign_hypothesis,
    several_instruments,
)
from heelstamp.dating.posterior import log_evidence_many
from heelstamp.dating.sensitivity import Row, Sensitivity
from heelstamp.reference.tables import mark_context
from heelstamp.shop.subjects import names_of
from heelstamp.units import Period


@dataclass(frozen=True)
class Printed:
    """Of one dossier: the rows of its table of parts, and its 90 % range, None where withheld."""

    rows: tuple[PartRow, ...]
    interval: Period | None


@dataclass(frozen=True)
class _Dossier:
    """One dossier on its way: its evidence and what was translated."""

    state: DossierState
    evidence: Evidence
    seen: dict[str, Any]
    sets: dict[str, str]


def print_many(
    states: Sequence[DossierState], chronology: Chronology, compiled: CompiledModel
) -> list[Printed]:
    """Print the parts and the range of many dossiers of one chronology."""
    dossiers = [_read(state, chronology) for state in states]
    evidence = [one.evidence for one in dossiers]
    base = infer_many(compiled, evidence)
    ranges = _ranges(dossiers, base, chronology, compiled)
    changed = _changed(evidence, compiled)
    (prior,) = _states(infer_many(compiled, [()]))
    tables = _Tables(base, changed, prior, chronology)
    return [Printed(_rows(one, at, tables), ranges[at]) for at, one in enumerate(dossiers)]


def _read(state: DossierState, chronology: Chronology) -> _Dossier:
    found = translate_dossier(state, chronology, mark_context())
    evidence, _ = gather(found)
    seen = parts_seen(found, chronology, own_acts(state, chronology))
    plain = {
        part: {"looks": one.looks, "ways": one.ways, "acts": one.acts} for part, one in seen.items()
    }
    return _Dossier(state, evidence, plain, of_sets(found))


def _ranges(
    dossiers: Sequence[_Dossier], base: Posterior, chronology: Chronology, compiled: CompiledModel
) -> list[Period | None]:
    """The 90 % ranges, None where the date is withheld."""
    grid, production = compiled.model.completion, production_of(chronology)
    rival = foreign_hypothesis(compiled)
    foreign = np.zeros(len(dossiers))
    if rival is not None:
        other = log_evidence_many(rival, [one.evidence for one in dossiers])
        foreign = foreign_bodies(base, other, chronology.prior.foreign_body)
    several = several_instruments(base)
    found: list[Period | None] = []
    for at, one in enumerate(dossiers):
        inside = cut(base.months[at], grid, production)
        withheld = (
            inside.outside > OUTSIDE_MOST
            or not any(isinstance(item, DATED) for item in one.evidence)
            or foreign[at] >= DOUBTFUL
            or several[at]
            or fixed_at_odds(compiled, one.evidence, base.part(slice(at, at + 1)), chronology)
        )
        found.append(None if withheld else central_interval(inside.months, grid, 0.9))
    return found


def _changed(
    evidence: Sequence[Evidence], compiled: CompiledModel
) -> list[tuple[str, float, Posterior]]:
    """Every changed table and what all instruments come to under it.

    The observations of all go in as one row to be changed and come out apart again.
    """
    ends = [0, *accumulate(len(one) for one in evidence)]
    together = tuple(item for one in evidence for item in one)
    matched = [one.name for one in compiled.model.parts if "period_replacement" in one.states]
    found = []
    for one in assumptions(compiled.model, together, matched):
        model = compiled if one.model is compiled.model else CompiledModel(one.model, like=compiled)
        apart = [one.evidence[a:b] for a, b in pairwise(ends)]
        found.append((one.name, one.factor, infer_many(model, apart)))
    return found


def _states(posterior: Posterior) -> list[dict[str, dict[str, float]]]:
    names = {part.name: part.states for part in posterior.model.parts}
    return [
        {
            part: dict(zip(names[part], p[at].tolist(), strict=True))
            for part, p in posterior.states.items()
        }
        for at in range(len(posterior.months))
    ]


@dataclass(frozen=True)
class _Tables:
    """What all dossiers come to: as the tables stand, under each change, before any evidence."""

    base: Posterior
    changed: Sequence[tuple[str, float, Posterior]]
    prior: dict[str, dict[str, float]]
    chronology: Chronology


def _rows(one: _Dossier, at: int, tables: _Tables) -> tuple[PartRow, ...]:
    """The table of parts as `what_is_said` makes it, before an examiner chose any word."""
    base, prior, chronology = tables.base, tables.prior, tables.chronology
    tree, names = guitar_tree(), names_of(chronology)
    own = base.part(slice(at, at + 1))
    (parts,) = _states(own)
    parts |= {part: parts[whole] for part, whole in one.sets.items()}
    finding = {"parts": parts, "part_priors": prior, "parts_seen": one.seen}
    rows = [_row("", 1.0, own, 0), *(_row(*change, at) for change in tables.changed)]
    varied = Sensitivity(base.model, rows[0], tuple(rows[1:]))
    verdicts = Verdicts(
        state=one.state,
        tree=tree,
        names=names,
        priors=prior,
        of_sets=one.sets,
        seen=one.seen,
        marks={},
        chronology=chronology,
        dated=True,
        interval=None,
    )
    claims = part_claims(one.state, tree, names, finding)
    tried = sensitivity_finding(varied, claims, verdicts).data()
    wider = [key.removeprefix("part:") for key, it in tried["unsettled"].items() if it.get("wider")]
    table, told = part_section(one.state, tree, names, finding, wider)
    settled, _ = Unsettled(tried, one.state, tree, names).parts(table, told)
    return settled


class _AnyWord(dict[str, str]):
    """Words of a changed table, which only sentences name: none is needed here."""

    def __missing__(self, _: str) -> str:
        return "otherwise"


def _row(name: str, factor: float, posterior: Posterior, at: int) -> Row:
    return Row(
        name,
        factor,
        float(posterior.log_evidence[at]),
        posterior.months[at],
        {part: states[at] for part, states in posterior.states.items()},
        _AnyWord(),
    )
