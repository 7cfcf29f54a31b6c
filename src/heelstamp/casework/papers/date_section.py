"""From a date finding to the timeline and the sentences about the date.

Takes the finding in its JSON form (``completion``, ``parts``, ``observations``; months as
``YYYY-MM``) and hands plain months and probabilities to ``heelstamp.wording``. Which observations
are worth a sentence of their own is a choice of this program: those whose absence would move the
distribution by a total variation of 0.05 or more, at most six, the strongest first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.claimed_months import claimed_months
from heelstamp.casework.dating.translated import entry_named
from heelstamp.casework.feature_names import (
    FeatureNames,
    heading,
    observation_label,
    observation_name,
    part_label,
)
from heelstamp.casework.papers.document_rows import MarkPeriod, MarkRow, Timeline
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.units import Month, Period, name_month, parse_month
from heelstamp.wording import Grounds, Statement, about_dates, about_summary

INFLUENCE_MIN = 0.05
INFLUENCES_MAX = 6
ROWS_MAX = 7
TAIL = 1e-4
"""Months with less probability than this are not handed on to the drawing."""


@dataclass(frozen=True, slots=True)
class DateSection:
    """Everything a report says about the date.

    Attributes
    ----------
    headline, headline_note
        The answer in large type, and the line below it.
    answer
        The sentence of the completion, or why it is withheld.
    inferred
        Prior, separate periods, readings, surprises, observations left out, part dates.
    open_readings, influences, part_dates
        Sentences that the first page may repeat; part dates only where the date is withheld.
    named
        Of marks with one reading, the months they name.
    """

    headline: str
    headline_note: str
    timeline: Timeline | None
    answer: Statement
    inferred: tuple[Statement, ...]
    open_readings: tuple[Statement, ...]
    influences: tuple[Statement, ...]
    part_dates: tuple[Statement, ...] = ()
    named: tuple[Statement, ...] = ()


def date_section(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> DateSection:
    """Build the section; the full version, not yet cut to a reader."""
    completion: Mapping[str, Any] = finding["completion"]
    used = _used(finding, state)
    gaps = _gaps(state, tree)
    frames = tuple(dict.fromkeys(f for one in used for f in state.observations[one].frames))
    grounds = Grounds(used, frames, gaps if used else gaps or ("the whole instrument",))
    readings = _readings(state, tree, names, finding)
    influences = _influences(state, tree, names, finding)
    inferred = [*_prior(completion, grounds), *_outside(completion, grounds), *readings]
    withheld = completion.get("withheld")
    if withheld or not completion.get("interval"):
        reasons = list(withheld or ["the evidence gives no distribution"])
        answer = about_dates.completion_withheld("date", grounds, reasons=reasons)
        dates = _part_dates(state, tree, finding)
        inferred += [*dates, *_left_out(state, tree, names, finding)]
        return DateSection(
            "No single date",
            "See the reasons below.",
            None,
            answer,
            tuple(inferred),
            (),
            (),
            tuple(dates),
            _single(state, finding),
        )
    line = _timeline(state, tree, names, finding)
    answer = about_dates.completion(
        "date", grounds, interval_90=line.interval_90, likeliest=line.likeliest
    )
    inferred += _runs(completion, grounds)
    inferred += _claim(state, completion, grounds)
    inferred += influences
    inferred += _surprises(state, tree, names, finding)
    inferred += _left_out(state, tree, names, finding)
    return DateSection(
        heading(about_dates.span_words(about_dates.span_of(line.interval_90)[0])),
        _note(line),
        line,
        answer,
        tuple(inferred),
        tuple(one for one in readings if one.template == "reading open"),
        tuple(influences),
        named=_single(state, finding),
    )


def _note(line: Timeline) -> str:
    _, mass = about_dates.span_of(line.interval_90)
    likeliest = "" if line.likeliest is None else f", most likely {name_month(line.likeliest)}"
    half = about_dates.half_of(line.interval_50)
    return f"{heading(mass)} of the probability{likeliest}; {half}."


def _period(pair: Any) -> Period:
    return Period.parse(list(pair) if isinstance(pair, tuple) else pair)


def _used(finding: Mapping[str, Any], state: DossierState) -> tuple[str, ...]:
    """The observations the date rests on, those that move it most first."""
    used = [
        (id_, _moved(one.get("leave_one_out")))
        for id_, one in finding["observations"].items()
        if one.get("used", True) and id_ in state.observations
    ]
    return tuple(id_ for id_, moved in sorted(used, key=lambda one: -one[1]))


def _gaps(state: DossierState, tree: PartsTree) -> tuple[str, ...]:
    """Name what was entered as not looked at."""
    names = [
        part_label(tree, seen.part)
        for seen in state.observations.values()
        if seen.status == "not looked"
    ]
    return tuple(dict.fromkeys(names))


def _timeline(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> Timeline:
    completion = finding["completion"]
    dated = {parse_month(month): float(p) for month, p in completion["months"].items()}
    shown = {month: p for month, p in dated.items() if p >= TAIL}
    interval_90 = _period(completion["interval"]["90"])
    months = range(min(shown, default=interval_90.first), max(shown, default=0) + 1)
    return Timeline(
        tuple((month, dated.get(month, 0.0)) for month in months),
        _period(completion["interval"]["50"]),
        interval_90,
        _likeliest(dated, interval_90),
        _rows(state, tree, names, finding),
    )


def _likeliest(dated: Mapping[Month, float], interval_90: Period) -> Month | None:
    """The most probable month, unless it lies in a tail or shares its place."""
    if not dated:
        return None
    best = max(dated, key=lambda month: (dated[month], -month))
    peak = dated[best]
    ties = sum(p >= peak * (1 - 1e-9) for p in dated.values())
    return best if ties == 1 and best in interval_90 else None


def _rows(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> tuple[MarkRow, ...]:
    rows = []
    for id_, found in finding["observations"].items():
        seen = state.observations.get(id_)
        periods = _periods(found)
        if seen is None or not periods:
            continue
        rows.append(
            MarkRow(
                id_,
                observation_label(seen, tree, names),
                seen.part,
                periods,
                bool(found.get("used", True)),
                str(found.get("why_not") or ""),
            )
        )
    rows.sort(key=lambda row: (not row.used, row.periods[0].months.first))
    return tuple(rows[:ROWS_MAX])


def _periods(found: Mapping[str, Any]) -> tuple[MarkPeriod, ...]:
    """The readings that name months, with posterior shares (prior ones where unused)."""
    dated = [one for one in found.get("readings") or () if one.get("period")]
    shares = [_share(one) for one in dated]
    total = sum(shares) or 1.0
    return tuple(
        MarkPeriod(_period(one["period"]), share / total)
        for one, share in zip(dated, shares, strict=True)
    )


def _share(reading: Mapping[str, Any]) -> float:
    posterior = reading.get("posterior")
    return float(reading["weight"] if posterior is None else posterior)


def _prior(completion: Mapping[str, Any], grounds: Grounds) -> list[Statement]:
    interval = (completion.get("prior") or {}).get("interval")
    if not interval:
        return []
    ninety = interval["90"] if isinstance(interval, Mapping) else interval
    return (
        [
            about_dates.completion_prior(
                "date:prior", Grounds(("chronology",)), interval_90=_period(ninety)
            )
        ]
        if grounds.rests_on
        else []
    )


def _outside(completion: Mapping[str, Any], grounds: Grounds) -> list[Statement]:
    """Where the ranges are cut, as its own line; none in findings made before ranges were."""
    if "outside" not in completion or not grounds.rests_on:
        return []
    return [
        about_dates.completion_outside(
            "date:outside",
            Grounds(("chronology",)),
            chance=float(completion["outside"]),
            production=_period(completion["production"]),
        )
    ]


def _runs(completion: Mapping[str, Any], grounds: Grounds) -> list[Statement]:
    runs = [(_period(one["months"]), float(one["p"])) for one in completion.get("modes") or ()]
    if len(runs) < 2:
        return []
    return [about_dates.completion_runs("date:runs", grounds, runs=runs)]


def _claim(state: DossierState, completion: Mapping[str, Any], grounds: Grounds) -> list[Statement]:
    """Hold what was claimed against the distribution, where the claim names months."""
    claimed = claimed_months(state.instrument.claimed or "")
    if claimed is None:
        return []
    held, wide = (
        sum(float(p) for month, p in completion["months"].items() if parse_month(month) in period)
        for period in (claimed.period, claimed.about)
    )
    return [
        about_dates.claim_compared(
            "date:claim",
            grounds,
            claimed=claimed.period,
            held=min(1.0, held),
            about=claimed.about,
            held_about=min(1.0, wide),
        )
    ]


def _readings(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> tuple[Statement, ...]:
    told = []
    for id_, found in finding["observations"].items():
        seen = state.observations.get(id_)
        periods = _periods(found)
        if seen is None or seen.kind != "mark" or len(periods) < 2 or not found.get("used", True):
            continue
        told.append(
            about_dates.reading(
                f"reading:{id_}",
                _of(seen),
                mark=observation_name(seen, tree, names),
                readings=[(str(one.months), one.weight) for one in periods],
            )
        )
    return tuple(told)


def _single(state: DossierState, finding: Mapping[str, Any]) -> tuple[Statement, ...]:
    """The months that marks with one reading name."""
    return tuple(
        about_summary.mark_names(f"reading:{id_}", _of(seen), months=str(periods[0].months))
        for id_, found in finding["observations"].items()
        if (seen := state.observations.get(id_)) is not None
        and seen.kind == "mark"
        and len(periods := _periods(found)) == 1
    )


def _of(seen: Observation) -> Grounds:
    return Grounds((seen.id,), tuple(seen.frames))


def _influences(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> list[Statement]:
    """Tell what moves the date: parts as a whole where the finding knows, else observations."""
    median = finding["completion"].get("median")
    middle_with = parse_month(median) if median else None
    strong: list[tuple[str, str, Grounds, Mapping[str, Any]]] = []
    for part, out in (finding.get("part_influence") or {}).items():
        used = [id_ for id_ in _used(finding, state) if state.observations[id_].part == part]
        frames = dict.fromkeys(f for id_ in used for f in state.observations[id_].frames)
        name = f"everything seen on the {part_label(tree, part)}"
        strong.append((part, name, Grounds(tuple(used), tuple(frames)), out))
    if not strong:
        for id_, found in finding["observations"].items():
            seen, out = state.observations.get(id_), found.get("leave_one_out")
            if seen is not None and out:
                strong.append((id_, observation_name(seen, tree, names), _of(seen), out))
    strong = [one for one in strong if one[2].rests_on and _moved(one[3]) >= INFLUENCE_MIN]
    strong.sort(key=lambda one: (-_moved(one[3]), one[0]))
    return [
        about_dates.without_observation(
            f"without:{key}",
            grounds,
            observation=name,
            interval_90=_period(out["interval"]["90"]),
            middle=parse_month(out["median"]),
            middle_with=middle_with,
        )
        for key, name, grounds, out in strong[:INFLUENCES_MAX]
    ]


def _moved(out: Mapping[str, Any] | None) -> float:
    """The total variation between the dates with and without something, 0 to 1."""
    return float((out or {}).get("total_variation") or 0.0)


def _surprises(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> list[Statement]:
    told = []
    for id_, found in finding["observations"].items():
        seen, mid_p = state.observations.get(id_), found.get("surprise")
        if seen is None or mid_p is None or mid_p >= about_dates.SURPRISING:
            continue
        name = observation_name(seen, tree, names)
        told.append(
            about_dates.surprise(f"surprise:{id_}", _of(seen), observation=name, mid_p=float(mid_p))
        )
    return told


def _left_out(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> list[Statement]:
    """Name observations that were read and kept out of the date, one sentence a reason."""
    by_reason: dict[str, list[Observation]] = {}
    for id_, found in finding["observations"].items():
        seen = state.observations.get(id_)
        if seen is not None and seen.is_read and not found.get("used", True):
            reason = _without_ids(
                str(found.get("why_not") or "no reason recorded"), state, tree, names
            )
            by_reason.setdefault(reason, []).append(seen)
    return [
        about_dates.left_out(
            f"left-out:{number}",
            Grounds(
                tuple(seen.id for seen in group),
                tuple(dict.fromkeys(frame for seen in group for frame in seen.frames)),
            ),
            observations=[observation_name(seen, tree, names) for seen in group],
            reason=reason,
        )
        for number, (reason, group) in enumerate(by_reason.items(), start=1)
    ]


def _without_ids(reason: str, state: DossierState, tree: PartsTree, names: FeatureNames) -> str:
    """Name observations in a reason as a reader knows them."""
    for id_, seen in state.observations.items():
        if entry_named(id_) in reason:
            reason = reason.replace(entry_named(id_), observation_name(seen, tree, names))
    return reason


def _part_dates(
    state: DossierState, tree: PartsTree, finding: Mapping[str, Any]
) -> list[Statement]:
    told = []
    for part, dated in (finding.get("part_dates") or {}).items():
        interval = dated["interval"]
        ninety = interval["90"] if isinstance(interval, Mapping) else interval
        # an absent mark or washer is evidence too, and a set may be dated by its members alone
        keys = {part, *(child.key for child in tree.children(part))} if part in tree else {part}
        used = [
            seen
            for id_, seen in state.observations.items()
            if seen.part in keys
            and finding["observations"].get(id_, {"used": False}).get("used", True)
        ]
        own = [seen for seen in used if seen.part == part] or used
        frames = tuple(dict.fromkeys(frame for seen in own for frame in seen.frames))
        told.append(
            about_dates.part_date(
                f"part-date:{part}",
                Grounds(
                    tuple(seen.id for seen in own), frames, () if own else (part_label(tree, part),)
                ),
                part=part_label(tree, part),
                interval_90=_period(ninety),
            )
        )
    return told
