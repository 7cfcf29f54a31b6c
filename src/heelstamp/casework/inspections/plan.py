"""The next inspection: what is left to look at, what each look would tell, and when to stop.

Every expectation is taken over hypothetical rows of the exact dating (``dating.bundle``). Looks
through an open opening are options of their own; all looks behind an act of access are one option
with their joint gain, because the act is the cost. Nothing already made and nothing of level 4 is
an option. Options are compared as a front, never by one score; the next one is the least invasive
that is worth doing. What would be seen but is no row of the chronology is not weighed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import msgspec
import numpy as np

from heelstamp import __version__
from heelstamp.archive import digest_of
from heelstamp.casework.dating.own_acts import own_acts
from heelstamp.casework.dating.parts_seen import parts_seen
from heelstamp.casework.dating.procedure import gather
from heelstamp.casework.dating.translation import translate_dossier
from heelstamp.casework.inspections.access import ways
from heelstamp.casework.inspections.advice import Judged, Weighed, describe_stop, judge
from heelstamp.casework.inspections.choice import Choice, choices_of
from heelstamp.casework.inspections.looks import LooksLeft
from heelstamp.casework.inspections.measures import Measures, MoneyFigure, Outlook
from heelstamp.casework.inspections.option import ChanceFound, Consent, GainFound, Option, Plan
from heelstamp.casework.inspections.stop_rules import Stopped, StopTable, stopped_acts
from heelstamp.catalogue import Body, DossierState, PartsTree, body_data
from heelstamp.chronology import Chronology, dating_model, feature_on
from heelstamp.dating import (
    CompiledModel,
    Evidence,
    expected_after,
    infer,
    judge_identity,
    pareto_front,
)
from heelstamp.dating.bundle import DRAWS
from heelstamp.marks import MarkContext
from heelstamp.wording import about_inspections as about

SHOWN = 2
"""Decimals to which gains are compared on the front; drawn ones are not known better."""

_EXAMINED = frozenset({"read", "absent"})


@dataclass(frozen=True)
class Money:
    """A figure whose uncertainty an inspection may lower, and how to print a fall of it.

    Attributes
    ----------
    regret
        What a seller is to expect to lose by a price that is not right, for each row.
    """

    figure: MoneyFigure
    unit: str
    regret: MoneyFigure | None = None

    def told(self, fall: float) -> str:
        """Write a fall with its unit."""
        return about.fall_told(fall, self.unit)


def plan_inspections(
    state: DossierState,
    tree: PartsTree,
    chronology: Chronology,
    context: MarkContext,
    *,
    table: StopTable,
    value: Money | None = None,
    generator: np.random.Generator | None = None,
    compiled: CompiledModel | None = None,
    draws: int = DRAWS,
    told: Evidence = (),
) -> Plan:
    """Plan the next inspection of what stands in a dossier.

    Parameters
    ----------
    table
        Signs that stop an act, and cautions.
    value
        A money figure, such as the spread of the price; None leaves money out.
    generator
        Source of draws for bundles that are too large to enumerate; None takes one seeded by the
        plan's digest, so that the same dossier gives the same plan.
    compiled
        The chronology's model, when it is at hand.
    draws
        Draws for bundles that are too large to enumerate.
    told
        Evidence beside what was seen, as words at the strength of telling: no look is done by it.

    Raises
    ------
    InputError
        The chronology lists no inspections, names an opening that the instrument has not, or an
        observation contradicts it.
    """
    digest = _digest(state, chronology, table)
    compiled = compiled or CompiledModel(dating_model(chronology))
    found = translate_dossier(state, chronology, context)
    evidence = (*gather(found)[0], *told)
    now = infer(compiled, evidence)
    left = LooksLeft(
        state, tree, chronology, compiled=compiled, evidence=evidence, months=now.months[0]
    )
    ways_to = ways(state, tree, chronology, left.openings_seen())
    choices = choices_of(left.candidates(), ways_to)
    examined = {one.part for one in state.observations.values() if one.status in _EXAMINED}
    seen = parts_seen(found, chronology, own_acts(state, chronology))
    examined -= {part for part, one in seen.items() if one.looks == "none"}
    steps = {row.step for row in chronology.openings if row.step is not None}
    covered = {row.id for row in chronology.signs if row.covered_area}
    measures = Measures(
        compiled,
        evidence,
        now,
        examined=examined,
        covered_signs=covered,
        covered=any(one.is_read and one.sign in covered for one in state.observations.values()),
        outside={part for part, one in seen.items() if one.looks == "type"},
        behind={
            feature_on(row, part)
            for row in chronology.features
            if row.seen_from in steps
            for part in row.parts
        },
        money=None if value is None else value.figure,
        regret=None if value is None else value.regret,
    )
    behind = [one for each in choices if len(each.members) > 1 for one in each.members]
    expected = expected_after(
        compiled,
        evidence,
        [*(one.looks for one in choices), *(list(one.looks) for one in behind)],
        measures,
        generator=generator or np.random.default_rng(int(digest[:16], 16)),
        draws=draws,
    )
    outlooks = [measures.read(one) for one in expected]
    alone = {
        one.row.id: each.date_bits
        for one, each in zip(behind, outlooks[len(choices) :], strict=True)
    }
    identity = judge_identity(compiled, evidence, now, chronology.prior.foreign_body)
    stops = stopped_acts(state, table)
    desk = _Desk(
        state=state,
        labels={part.key: part.label for part in tree},
        examined=frozenset(examined),
        table=table,
        stops=stops,
        value=value,
        dated=not identity.withheld,
    )
    ordered = _on_front(
        [
            _option(desk, choice, outlook, alone, each.rows)
            for choice, outlook, each in zip(choices, outlooks, expected, strict=False)
        ]
    )
    best = next((one for one in ordered if one.advice == "do"), None)
    return Plan(
        options=ordered,
        best=None if best is None else best.inspection,
        sentences=_describe_plan(best, ordered, desk.dated),
        refused=[describe_stop(one) for one in stops.values()],
        chronology=chronology.id,
        chronology_edition=chronology.edition,
        program=f"Heelstamp {__version__}",
        digest=digest,
    )


@dataclass(frozen=True)
class _Desk:
    """What every option is judged by."""

    state: DossierState
    labels: dict[str, str]
    examined: frozenset[str]
    table: StopTable
    stops: dict[str, Stopped]
    value: Money | None
    dated: bool


def _digest(state: DossierState, chronology: Chronology, table: StopTable) -> str:
    standing = (state.observations, state.treatments, state.consents)
    bodies: list[Body] = [one for kind in standing for one in kind.values()]
    return digest_of(
        {
            "entries": [body_data(one) for one in bodies],
            "chronology": chronology.digest,
            "stop rules": table.digest,
            "program": __version__,
        }
    )


def _option(
    desk: _Desk, choice: Choice, outlook: Outlook, alone: dict[str, float], rows: int
) -> Option:
    tells_of = tuple(part for part in choice.parts if part in outlook.part_bits)
    consents = [desk.state.leave(act) for act in choice.need_consent]
    weighed = Weighed(
        id=choice.id,
        outlook=outlook,
        opens=bool(choice.acts),
        dated=desk.dated,
        labels=desk.labels,
        tells_of=tells_of,
        examined=desk.examined,
        refused=tuple(one.act for one in consents if one.standing == "refused"),
        not_asked=tuple(one.act for one in consents if one.standing == "not asked"),
        stopped=tuple(desk.stops[act] for act in choice.acts if act in desk.stops),
        money_told="" if desk.value is None else desk.value.told(outlook.money or 0.0),
        regret_told=""
        if desk.value is None or outlook.regret is None
        else desk.value.told(outlook.regret),
    )
    judged = judge(weighed)
    return Option(
        inspection=choice.id,
        name=choice.name,
        members=[one.row.id for one in choice.members],
        opening=choice.way.opening,
        acts=list(choice.acts),
        invasiveness=choice.level,
        minutes=choice.minutes,
        consent=_consent([one.standing for one in consents]),
        condition=" ".join(one.condition for one in consents if one.condition),
        tells_of=list(choice.parts),
        first_looks=list(weighed.first_looks),
        gain=GainFound(
            date_bits=outlook.date_bits,
            parts=dict(outlook.part_bits),
            money=outlook.money,
            regret=outlook.regret,
            months=(outlook.width_now, outlook.width),
            standard_error=outlook.date_error,
            alone={one.row.id: alone[one.row.id] for one in choice.members if one.row.id in alone},
        ),
        chance=_chance(outlook, tells_of),
        outcomes=rows,
        front=False,
        advice=judged.advice,
        reason=judged.reasons[0],
        reasons=list(judged.reasons),
        cautions=_cautions(choice, judged, desk.table),
    )


def _chance(outlook: Outlook, parts: Sequence[str]) -> ChanceFound:
    return ChanceFound(
        range=outlook.ends_move,
        words=outlook.any_words,
        parts={part: outlook.words_change[part] for part in parts},
    )


def _consent(standings: Sequence[str]) -> Consent:
    """Return the weakest of several consents."""
    order: tuple[Consent, ...] = ("refused", "not asked", "granted")
    return next((one for one in order if one in standings), "not needed")


def _cautions(choice: Choice, judged: Judged, table: StopTable) -> list[str]:
    """The cautions of whatever may be done, at the point of use."""
    if judged.advice == "stop":
        return []
    named = [*choice.way.cautions, *(c for one in choice.members for c in one.row.caution)]
    told = [
        about.caution.say(text=table.cautions[name])
        for name in dict.fromkeys(named)
        if name in table.cautions
    ]
    if choice.way.first:
        told.insert(0, about.first_opening.say(openings=choice.way.first))
    return told


def _on_front(options: Sequence[Option]) -> list[Option]:
    """Mark the front among what may be done, and put the least invasive worth doing first."""
    allowed = [one for one in options if one.advice != "stop"]
    front: set[str] = set()
    if allowed:
        gains = np.array(
            [
                [one.gain.date_bits, one.gain.money or 0.0, *one.gain.parts.values()]
                for one in allowed
            ]
        )
        costs = np.array([[one.invasiveness, one.minutes] for one in allowed])
        kept = pareto_front(np.round(gains, SHOWN), costs)
        front = {allowed[place].inspection for place in kept}
    rank = ("do", "optional", "stop")
    marked = [msgspec.structs.replace(one, front=one.inspection in front) for one in options]
    return sorted(
        marked,
        key=lambda one: (
            rank.index(one.advice),
            one.invasiveness,
            -round(one.gain.date_bits, SHOWN),
            one.minutes,
            one.inspection,
        ),
    )


def _describe_plan(best: Option | None, options: Sequence[Option], dated: bool) -> list[str]:
    told = [] if dated else [about.date_withheld.say()]
    if best is not None:
        step = about.do_next.say(
            inspection=best.name, level=best.invasiveness, minutes=best.minutes
        )
        return [step, *told, *best.reasons, *best.cautions]
    if not options:
        return [about.all_seen.say(), *told]
    held = [one for one in options if one.consent in ("refused", "not asked")]
    stop = (about.waits_for_consent if held else about.nothing_left).say()
    return [stop, *told, *dict.fromkeys(one.reason for one in held)]
