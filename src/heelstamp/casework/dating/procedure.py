"""The dating of one dossier: translate, infer, judge identity, check each observation, record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp import __version__
from heelstamp.archive import digest_of
from heelstamp.casework.dating.finding import (
    Completion,
    DateFinding,
    LeftOut,
    Mode,
    MonthPair,
    ObservationFinding,
    ReadingFound,
    Spread,
)
from heelstamp.casework.dating.fixed_features import fixed_at_odds
from heelstamp.casework.dating.own_acts import late_looks, own_acts
from heelstamp.casework.dating.parts_seen import parts_seen
from heelstamp.casework.dating.production import OUTSIDE_MOST, Cut, cut, production_of
from heelstamp.casework.dating.translated import Translated
from heelstamp.casework.dating.translation import translate, translate_dossier
from heelstamp.catalogue import DossierState, Observation, body_data
from heelstamp.chronology import Chronology, dating_model
from heelstamp.dating import (
    SURPRISING,
    CompiledModel,
    Document,
    FeatureSeen,
    Identity,
    Mark,
    Posterior,
    SerialNumber,
    central_interval,
    each_place,
    infer,
    judge_identity,
    leave_out,
    median,
    modes,
    reading_posteriors,
    surprises,
)
from heelstamp.dating import LeftOut as EngineLeftOut
from heelstamp.dating import Observation as Evidence
from heelstamp.dating.finish_places import TOUCHED
from heelstamp.dating.identity import Withheld, part_months, put_together
from heelstamp.dating.model import Array
from heelstamp.marks import MarkContext
from heelstamp.units import MonthGrid, Period, format_month
from heelstamp.wording import about_dates
from heelstamp.wording.strength import BEARS

LEAST_SHOWN = 1e-6
"""Probability below which a month is left out of the finding."""

LEVELS = {"50": 0.5, "90": 0.9}

DATED = (Document, FeatureSeen, Mark, SerialNumber)
"""Kinds of evidence that tell of months."""


def date_instrument(
    state: DossierState,
    chronology: Chronology,
    context: MarkContext,
    compiled: CompiledModel | None = None,
) -> DateFinding:
    """Date what stands in a dossier.

    Parameters
    ----------
    state
        The folded dossier.
    chronology
        What is known of the maker.
    context
        Reference tables for reading marks.
    compiled
        The chronology's model made ready before (`ready_model`), where many are dated.

    Raises
    ------
    InputError
        An observation contradicts the chronology or another one; names the observation.
    """
    found = translate_dossier(state, chronology, context)
    compiled = compiled or ready_model(chronology)
    evidence, origin = gather(found)
    posterior = infer(compiled, evidence)
    before = infer(compiled, ())
    grid = compiled.model.completion
    identity = judge_identity(compiled, evidence, posterior, chronology.prior.foreign_body)
    own_months = part_months(compiled, evidence)
    production = production_of(chronology)
    inside = cut(posterior.months[0], grid, production)
    fixed = fixed_at_odds(compiled, evidence, posterior, chronology)
    withheld = _reasons(identity, evidence, fixed, inside.outside, production)
    influence, checked = _checks(compiled, evidence, origin, found, production)
    names = {part.name: part.states for part in compiled.model.parts}
    parts = {part: _named(names[part], p[0]) for part, p in posterior.states.items()}
    inputs = [body_data(seen) for seen in state.observations.values()]
    late = sorted(late_looks(state, chronology))
    return DateFinding(
        completion=_completion(
            inside, cut(before.months[0], grid, production).months, grid, production, withheld
        ),
        parts=parts | {one: parts[whole] for one, whole in of_sets(found).items()},
        part_priors={part: _named(names[part], p[0]) for part, p in before.states.items()},
        parts_seen=parts_seen(found, chronology, own_acts(state, chronology)),
        openings={
            row.name: float(p)
            for row, p in zip(chronology.openings, posterior.openings[0], strict=False)
        },
        swapped={
            row.name: float(p) for row, p in zip(chronology.sets, posterior.swapped[0], strict=True)
        },
        places=_places(found, parts, chronology),
        part_dates={part: spread(p, grid) for part, p in own_months.items()},
        part_influence=influence,
        observations=checked,
        foreign_body=identity.foreign_body,
        assembled=_before_and_after(before, posterior),
        surprising=[
            id_
            for id_, one in checked.items()
            if one.surprise is not None and one.surprise < SURPRISING
        ],
        chronology=chronology.id,
        chronology_edition=chronology.edition,
        chronology_digest=chronology.digest,
        program=f"Heelstamp {__version__}",
        digest=digest_of(
            {
                "observations": inputs,
                "after own acts": late,
                "chronology": chronology.digest,
                "program": __version__,
            }
        ),
    )


def ready_model(chronology: Chronology) -> CompiledModel:
    """Make the model of a chronology ready for inference.

    Raises
    ------
    ModelError
        As `dating_model` does.
    """
    return CompiledModel(dating_model(chronology))


def mark_periods(
    observations: Mapping[str, Observation], chronology: Chronology, context: MarkContext
) -> dict[str, list[Period]]:
    """The periods that each mark names, without any dating."""
    found = translate(list(observations.values()), chronology, context)
    return {
        one.seen.id: [reading.period for reading in one.mark.readings]
        for one in found
        if one.mark is not None
    }


def spread(months: Array, grid: MonthGrid) -> Spread:
    """Median and intervals of a distribution over months."""
    return Spread(median=format_month(median(months, grid)), interval=_intervals(months, grid))


def _intervals(months: Array, grid: MonthGrid) -> dict[str, MonthPair]:
    return {name: _pair(central_interval(months, grid, level)) for name, level in LEVELS.items()}


def _pair(period: Period) -> MonthPair:
    return format_month(period.first), format_month(period.last)


def _named(states: tuple[str, ...], probabilities: Array) -> dict[str, float]:
    return dict(zip(states, probabilities.tolist(), strict=True))


def _places(
    found: list[Translated], parts: Mapping[str, Mapping[str, float]], chronology: Chronology
) -> dict[str, float]:
    """P(touched up) of each place that was weighed: never above that of the finish."""
    ratios = {one.seen.id: one.ratio for one in found if one.ratio is not None}
    if not ratios or chronology.places is None:
        return {}
    touched = parts[chronology.places.part][TOUCHED]
    chances = each_place(touched, list(ratios.values()), chronology.places.share)
    return dict(zip(ratios, chances.tolist(), strict=True))


def gather(found: list[Translated]) -> tuple[tuple[Evidence, ...], list[int]]:
    """All evidence in a row, and for each item which observation it came from."""
    evidence: list[Evidence] = []
    origin: list[int] = []
    for place, one in enumerate(found):
        evidence += one.evidence
        origin += [place] * len(one.evidence)
    return tuple(evidence), origin


def _before_and_after(before: Posterior, posterior: Posterior) -> tuple[float, float] | None:
    told = [put_together(one) for one in (before, posterior)]
    first, last = (None if one is None else float(one[0]) for one in told)
    return None if first is None or last is None else (first, last)


def _completion(
    inside: Cut, before: Array, grid: MonthGrid, production: Period, withheld: list[str] | None
) -> Completion:
    prior, months = spread(before, grid), inside.months
    if withheld:
        return Completion(
            median=None,
            interval=dict.fromkeys(LEVELS),
            modes=[],
            months={},
            prior=prior,
            production=_pair(production),
            outside=inside.outside,
            withheld=withheld,
        )
    return Completion(
        median=format_month(median(months, grid)),
        interval=_intervals(months, grid),
        modes=[Mode(months=_pair(one.period), p=one.probability) for one in modes(months, grid)],
        months={
            format_month(month): float(p)
            for month, p in zip(grid, months, strict=True)
            if p >= LEAST_SHOWN
        },
        prior=prior,
        production=_pair(production),
        outside=inside.outside,
        withheld=None,
    )


def _reasons(
    identity: Identity,
    evidence: tuple[Evidence, ...],
    fixed: Sequence[str],
    outside: float,
    production: Period,
) -> list[str] | None:
    """Say why no completion date is given, one sentence a reason."""
    sentences = []
    if outside > OUTSIDE_MOST:
        sentences.append(about_dates.outside_production.say(chance=outside, production=production))
    if not any(isinstance(one, DATED) for one in evidence):
        sentences.append(about_dates.nothing_bears_on_date.say())
    for reason in identity.withheld:
        if reason is Withheld.BODY_DOUBTFUL:
            sentences.append(about_dates.body_doubtful.say(chance=identity.foreign_body or 0.0))
        elif reason is Withheld.PUT_TOGETHER:
            sentences.append(about_dates.put_together.say(chance=identity.assembled or 0.0))
        else:
            parts = [part.replace("_", " ") for part in identity.foreign_parts]
            sentences.append(about_dates.several_instruments.say(parts=parts))
    if fixed:
        sentences.append(about_dates.fixed_features.say(features=list(fixed)))
    return sentences or None


def of_sets(found: list[Translated]) -> dict[str, str]:
    """The parts that are spoken of with their set only: nothing else was seen on them."""
    alone = {one.seen.part for one in found if one.evidence and one.of_set is None}
    return {
        one.seen.part: one.of_set
        for one in found
        if one.of_set is not None and one.of_set != one.seen.part and one.seen.part not in alone
    }


def _groups(origin: list[int], keys: list[str]) -> dict[str, list[int]]:
    """Gather positions of evidence by a key of the observation they came from."""
    groups: dict[str, list[int]] = {}
    for place, source in enumerate(origin):
        groups.setdefault(keys[source], []).append(place)
    return groups


def _left_out(
    one: EngineLeftOut, grid: MonthGrid, production: Period, sets: Mapping[str, str]
) -> LeftOut:
    moved = {**one.parts, **{part: one.parts[whole] for part, whole in sets.items()}}
    without = spread(cut(one.months, grid, production).months, grid)
    return LeftOut(
        predictive=one.predictive,
        total_variation=one.total_variation,
        median=without.median,
        interval=without.interval,
        parts={part: shift for part, shift in moved.items() if shift >= BEARS},
    )


def _checks(
    compiled: CompiledModel,
    evidence: tuple[Evidence, ...],
    origin: list[int],
    found: list[Translated],
    production: Period,
) -> tuple[dict[str, LeftOut], dict[str, ObservationFinding]]:
    """Leave out what was seen on each part, and each observation, which then is checked.

    Those observations that are not used carry the reason.
    """
    grid, sets = compiled.model.completion, of_sets(found)
    parts = _groups(origin, [one.seen.part for one in found])
    groups = _groups(origin, [one.seen.id for one in found])
    every = leave_out(compiled, evidence, [*parts.values(), *groups.values()])
    left = [_left_out(one, grid, production, sets) for one in every]
    influence = dict(zip(parts, left[: len(parts)], strict=True))
    without = dict(zip(groups, left[len(parts) :], strict=True))
    surprise = surprises(compiled, evidence)
    marks = [place for place, one in enumerate(evidence) if isinstance(one, Mark)]
    readings = reading_posteriors(compiled, evidence, marks)
    result: dict[str, ObservationFinding] = {}
    for one in found:
        places = groups.get(one.seen.id, [])
        known = [surprise[place] for place in places if surprise[place] is not None]
        result[one.seen.id] = ObservationFinding(
            part=one.seen.part,
            kind=one.seen.kind,
            used=bool(places),
            why_not=one.why_not,
            readings=_readings(evidence, readings, places, one),
            surprise=min((p for p in known if p is not None), default=None),
            leave_one_out=without[one.seen.id] if places else None,
        )
    return influence, result


def _readings(
    evidence: tuple[Evidence, ...],
    readings: Mapping[int, Array],
    places: list[int],
    one: Translated,
) -> list[ReadingFound]:
    if one.mark is None:
        return []
    at = next((place for place in places if isinstance(evidence[place], Mark)), None)
    shares = [] if at is None else readings[at].tolist()
    borne_out = iter(shares)
    return [
        ReadingFound(
            period=reading.period.iso(),
            weight=reading.weight,
            posterior=next(borne_out, None) if reading.evidence else None,
            rule=reading.rule,
            source=reading.source,
        )
        for reading in one.mark.readings
    ]


__all__ = ["date_instrument", "gather", "mark_periods", "of_sets", "spread"]
