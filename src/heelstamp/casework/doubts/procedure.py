"""Examining the doubts of one dossier: translate, question, vary the tables, compare wear."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from heelstamp import __version__
from heelstamp.archive import digest_of
from heelstamp.casework.consistency import WearTable, examine_wear
from heelstamp.casework.dating import DateFinding
from heelstamp.casework.dating.procedure import DATED, gather, of_sets
from heelstamp.casework.dating.production import cut, production_of
from heelstamp.casework.dating.translation import translate_dossier
from heelstamp.casework.doubts.conflicts import conflicts
from heelstamp.casework.doubts.finding import (
    AgreementFinding,
    DoubtFinding,
    HangsOn,
    SensitivityFinding,
)
from heelstamp.casework.doubts.pairs import pairs_apart
from heelstamp.casework.doubts.tried_words import sensitivity_finding
from heelstamp.casework.doubts.verdicts import Verdicts
from heelstamp.casework.feature_names import FeatureNames
from heelstamp.casework.inspections.looks import LooksLeft
from heelstamp.casework.papers.said import what_is_said
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.chronology import Chronology, dating_model
from heelstamp.dating import CompiledModel, Evidence, Mark, infer
from heelstamp.dating.agreement import agreement
from heelstamp.dating.explanations import Look
from heelstamp.dating.sensitivity import Sensitivity
from heelstamp.dating.sensitivity import sensitivity as try_tables
from heelstamp.marks import MarkContext
from heelstamp.units import Period, parse_month

INFLUENCE_MIN = 0.05
"""Total variation from which on the date is said to hang on a part (our choice)."""

HANGS_MAX = 6

SPOILING = 4
"""Level of inspections that spoil something: never proposed, so never the one to decide."""

TOO_CLOSE = 0.05
"""P(as little spread) at or below which agreement is told, beside what is unexplained."""

PERIOD_REPLACEMENT = "period_replacement"
_REPLACED = ("later", "from another", "replaced", "refinished")


def examine_sensitivity(
    state: DossierState,
    tree: PartsTree,
    chronology: Chronology,
    context: MarkContext,
    *,
    finding: DateFinding,
    names: FeatureNames,
    compiled: CompiledModel | None = None,
) -> SensitivityFinding:
    """Try every printed word under each changed table.

    Parameters
    ----------
    finding
        The date finding of the same state, chronology and program.
    names
        Names of features and signs, and which signs tell of covered areas.
    compiled
        The chronology's model made ready before.

    Raises
    ------
    InputError
        An observation contradicts the chronology or another one.
    """
    found = translate_dossier(state, chronology, context)
    compiled = compiled or CompiledModel(dating_model(chronology))
    evidence, origin = gather(found)
    ids = [found[source].seen.id for source in origin]
    ninety = finding.completion.interval.get("90")
    verdicts = Verdicts(
        state=state,
        tree=tree,
        names=names,
        priors=finding.part_priors,
        of_sets=of_sets(found),
        seen=finding.data()["parts_seen"],
        marks={
            ids[place]: place
            for place, one in enumerate(evidence)
            if isinstance(one, Mark) and len(one.readings) > 1
        },
        chronology=chronology,
        dated=any(isinstance(one, DATED) for one in evidence),
        interval=None if ninety is None else Period.parse(list(ninety)),
    )
    matched = [one.name for one in compiled.model.parts if PERIOD_REPLACEMENT in one.states]
    varied = _within(
        try_tables(compiled, evidence, verdicts.words, matched, list(verdicts.marks.values())),
        production_of(chronology),
    )
    claims = verdicts.claims(compiled, infer(compiled, evidence))
    return sensitivity_finding(varied, claims, verdicts)


def examine_doubts(
    state: DossierState,
    tree: PartsTree,
    chronology: Chronology,
    context: MarkContext,
    *,
    finding: DateFinding,
    wear: WearTable,
    names: FeatureNames,
    sensitivity: SensitivityFinding | None = None,
    compiled: CompiledModel | None = None,
) -> DoubtFinding:
    """Say what does not fit and what the answer hangs on.

    Parameters
    ----------
    finding
        The date finding of the same state, chronology and program.
    wear
        The table of wear.
    names
        Names of features and signs, and which signs tell of covered areas.
    sensitivity
        What `examine_sensitivity` found of the same, when it is already at hand.
    compiled
        The chronology's model made ready before.

    Raises
    ------
    InputError
        An observation contradicts the chronology, another one, or the table of wear.
    """
    found = translate_dossier(state, chronology, context)
    compiled = compiled or CompiledModel(dating_model(chronology))
    evidence, origin = gather(found)
    ids = [found[source].seen.id for source in origin]
    posterior = infer(compiled, evidence)
    left = LooksLeft(
        state, tree, chronology, compiled=compiled, evidence=evidence, months=posterior.months[0]
    )
    looks: dict[str, tuple[Look, ...]] = {
        one.row.name: one.looks for one in left.candidates() if one.row.invasiveness < SPOILING
    }
    varied = sensitivity or examine_sensitivity(
        state, tree, chronology, context, finding=finding, names=names, compiled=compiled
    )
    worn = examine_wear(
        state,
        wear,
        replaced=_replaced(state, tree, names, finding, varied),
        labels={part.key: part.label for part in tree},
    )
    return DoubtFinding(
        conflicts=conflicts(
            compiled,
            evidence,
            posterior,
            foreign_prior=chronology.prior.foreign_body,
            ids=ids,
            looks=looks,
        ),
        hangs_on=_hangs_on(finding),
        sensitivity=varied,
        wear=worn,
        agreement=_agreement(compiled, evidence) if worn.unexplained else None,
        pairs=pairs_apart(compiled, evidence),
        finding=finding.digest,
        program=f"Heelstamp {__version__}",
        digest=digest_of({"finding": finding.digest, "wear": wear.digest, "program": __version__}),
    )


def _replaced(
    state: DossierState,
    tree: PartsTree,
    names: FeatureNames,
    finding: DateFinding,
    varied: SensitivityFinding,
) -> Mapping[str, str]:
    said = what_is_said(state, tree, names, finding.data(), varied.data())
    return {row.key: row.said for row in said.rows if row.verdict in _REPLACED}


def _hangs_on(finding: DateFinding) -> list[HangsOn]:
    if finding.completion.median is None:
        return []
    middle = parse_month(finding.completion.median)
    told = [
        HangsOn(
            part=part,
            total_variation=one.total_variation,
            months=middle - parse_month(one.median),
            median=one.median,
            interval=one.interval,
        )
        for part, one in finding.part_influence.items()
        if one.total_variation >= INFLUENCE_MIN
    ]
    return sorted(told, key=lambda one: (-one.total_variation, one.part))[:HANGS_MAX]


def _within(varied: Sensitivity, production: Period) -> Sensitivity:
    """The changed tables with the months of every one of them cut to production."""
    grid = varied.model.completion
    base, *rows = (
        replace(row, months=cut(row.months, grid, production).months)
        for row in (varied.base, *varied.rows)
    )
    return replace(varied, base=base, rows=tuple(rows))


def _agreement(compiled: CompiledModel, evidence: Evidence) -> AgreementFinding | None:
    """Measure how closely marks agree; called only where something is unexplained."""
    found = agreement(compiled, evidence)
    if found is None or found.at_most > TOO_CLOSE:
        return None
    return AgreementFinding(parts=list(found.parts), spread=found.spread, at_most=found.at_most)
