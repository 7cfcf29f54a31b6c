"""Examining the doubts of one dossier: translate, question, vary the tables, compare wear."""

from __future__ import annotations

from collections.abc import Mapping

from heelstamp import __version__
from heelstamp.archive import digest_of
from heelstamp.casework.consistency import WearTable, examine_wear
from heelstamp.casework.dating import DateFinding
from heelstamp.casework.dating.finding import Spread
from heelstamp.casework.dating.procedure import DATED, gather, of_sets, spread
from heelstamp.casework.dating.translation import translate_dossier
from heelstamp.casework.doubts.conflicts import conflicts
from heelstamp.casework.doubts.finding import (
    AgreementFinding,
    DoubtFinding,
    HangsOn,
    SensitivityFinding,
    SensitivityRow,
    Turn,
    Unsettled,
)
from heelstamp.casework.doubts.verdicts import Verdicts, leaves_true
from heelstamp.casework.feature_names import FeatureNames
from heelstamp.casework.inspections.looks import LooksLeft
from heelstamp.casework.papers.part_section import part_section
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.chronology import Chronology, dating_model
from heelstamp.dating import CompiledModel, Evidence, Mark, infer
from heelstamp.dating.agreement import agreement
from heelstamp.dating.explanations import Look
from heelstamp.dating.sensitivity import Row, Sensitivity, sensitivity
from heelstamp.marks import MarkContext
from heelstamp.units import Period, format_month, parse_month

INFLUENCE_MIN = 0.05
"""Total variation from which on the date is said to hang on a part (our choice)."""

HANGS_MAX = 6

SPOILING = 4
"""Level of inspections that spoil something: never proposed, so never the one to decide."""

TOO_CLOSE = 0.05
"""P(as little spread) at or below which agreement is told, beside what is unexplained."""

PERIOD_REPLACEMENT = "period_replacement"
_REPLACED = ("later", "from another", "replaced", "refinished")


def examine_doubts(
    state: DossierState,
    tree: PartsTree,
    chronology: Chronology,
    context: MarkContext,
    *,
    finding: DateFinding,
    wear: WearTable,
    names: FeatureNames,
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

    Raises
    ------
    InputError
        An observation contradicts the chronology, another one, or the table of wear.
    """
    found = translate_dossier(state, chronology, context)
    compiled = CompiledModel(dating_model(chronology))
    evidence, origin = gather(found)
    ids = [found[source].seen.id for source in origin]
    posterior = infer(compiled, evidence)
    left = LooksLeft(
        state, tree, chronology, compiled=compiled, evidence=evidence, months=posterior.months[0]
    )
    looks: dict[str, tuple[Look, ...]] = {
        one.row.name: one.looks for one in left.candidates() if one.row.invasiveness < SPOILING
    }
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
        foreign_body=chronology.prior.foreign_body,
        dated=any(isinstance(one, DATED) for one in evidence),
        interval=None if ninety is None else Period.parse(list(ninety)),
    )
    matched = [one.name for one in compiled.model.parts if PERIOD_REPLACEMENT in one.states]
    varied = sensitivity(compiled, evidence, verdicts.words, matched)
    worn = examine_wear(
        state,
        wear,
        replaced=_replaced(state, tree, names, finding),
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
        sensitivity=_sensitivity(varied, verdicts.of_sets),
        wear=worn,
        agreement=_agreement(compiled, evidence) if worn.unexplained else None,
        finding=finding.digest,
        program=f"Heelstamp {__version__}",
        digest=digest_of({"finding": finding.digest, "wear": wear.digest, "program": __version__}),
    )


def _replaced(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: DateFinding
) -> Mapping[str, str]:
    rows, _ = part_section(state, tree, names, finding.data())
    return {row.key: f"{row.word} {row.verdict}" for row in rows if row.verdict in _REPLACED}


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


def _sensitivity(varied: Sensitivity, sets: Mapping[str, str]) -> SensitivityFinding:
    turned = {name: varied.turned(name, leaves_true) for name in varied.base.words}
    lower, upper = varied.ends()
    parts = {}
    for part in varied.model.parts:
        least, most = (values.tolist() for values in varied.states(part.name))
        pairs = zip(least, most, strict=True)
        parts[part.name] = dict(zip(part.states, pairs, strict=True))
    return SensitivityFinding(
        rows=[
            _row(row, varied, [name for name, some in turned.items() if row in some])
            for row in varied.rows
        ],
        lower=(format_month(lower.first), format_month(lower.last)),
        upper=(format_month(upper.first), format_month(upper.last)),
        parts=parts | {one: parts[whole] for one, whole in sets.items()},
        unsettled={
            name: Unsettled(
                verdict=varied.base.words[name],
                turns=[
                    Turn(assumption=row.name, factor=row.factor, verdict=row.words[name])
                    for row in some
                ],
            )
            for name, some in turned.items()
            if some
        },
    )


def _row(row: Row, varied: Sensitivity, turned: list[str]) -> SensitivityRow:
    found: Spread = spread(row.months, varied.model.completion)
    return SensitivityRow(
        assumption=row.name,
        factor=row.factor,
        median=found.median,
        interval=found.interval,
        turned=turned,
    )


def _agreement(compiled: CompiledModel, evidence: Evidence) -> AgreementFinding | None:
    """Measure how closely marks agree; called only where something is unexplained."""
    found = agreement(compiled, evidence)
    if found is None or found.at_most > TOO_CLOSE:
        return None
    return AgreementFinding(parts=list(found.parts), spread=found.spread, at_most=found.at_most)
