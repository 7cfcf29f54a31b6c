"""A new edition of a chronology, its change-overs learned from the census.

Rows dated by their features only never teach. Features seen too seldom keep what they had. What
the shop has seen (``first_new``, ``last_old``) stays in the document; the learned curve stands
beside it with the size of the census as its source. Change-overs are learned independently of what
the edition said of them (``dating.learning``), so that a census teaches the same, however often.
The serial curve is learned on request only: the production it implies is part of every prior, so
that learning it twice is not learning it once.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from heelstamp.casework.census.evidence_text import EvidenceReader, Line, numbers_of
from heelstamp.casework.census.rows import CensusRow
from heelstamp.chronology import Chronology, dating_model, feature_on, parse_chronology
from heelstamp.chronology.records import FeatureRow
from heelstamp.dating import CompiledModel, Evidence, FeatureSeen
from heelstamp.dating.changeover import happened
from heelstamp.dating.learning import LEAST_LOOKS, LearnedFeature, learn_features
from heelstamp.dating.model import Array, Feature, LearnedTransition, Transition
from heelstamp.dating.serial_learning import LearnedSerials, learn_serials
from heelstamp.dating.teaching import FeatureGroup, dated_without_serial
from heelstamp.errors import InputError
from heelstamp.units import MonthGrid, Period, format_month, parse_month

_CENSUS_OF = re.compile(r"(?:^|; )census(?: tables)? of \d+(?: shops?)?$")
_SERIAL = re.compile(r"([A-Z]*)([0-9]+)")


@dataclass(frozen=True)
class ChangeLearned:
    """One change-over or end of a batch, before and after; months as real month numbers.

    Attributes
    ----------
    centre_90
        Range of the new centre.
    """

    feature: str
    name: str
    looks: int
    old_centre: float
    old_width: float
    centre: float
    centre_sd: float
    centre_90: tuple[float, float]
    width: float


@dataclass(frozen=True)
class NewEdition:
    """What was learned.

    Attributes
    ----------
    document
        The new edition as plain values.
    chronology
        The same, read.
    changes
        What moved, in the order of the document.
    kept
        Features that were seen too seldom, with the looks at each.
    taught, silent
        Rows that taught and rows that never do.
    serials
        Learned curves by prefix, where they were asked for.
    """

    document: dict[str, Any]
    chronology: Chronology
    changes: tuple[ChangeLearned, ...]
    kept: Mapping[str, int]
    taught: int
    silent: int
    serials: Mapping[str, LearnedSerials]


def learn_edition(
    document: Mapping[str, Any],
    rows: Sequence[CensusRow],
    *,
    edition: str,
    serial: bool = False,
    least: int = LEAST_LOOKS,
) -> NewEdition:
    """Learn a new edition.

    Parameters
    ----------
    document
        The present edition as plain values.
    rows
        The whole census, read by the present edition.
    edition
        Name of the new one.
    serial
        Learn the serial curve and its scatter too.
    least
        Looks below which a feature keeps what it had.

    Raises
    ------
    InputError
        No row may teach, or the new edition has the name of the old one.
    """
    if edition == document.get("edition"):
        raise InputError(
            "a new edition needs a new name", received=edition, remedy="Give --edition."
        )
    teachers = [row for row in rows if row.teaches]
    if not teachers:
        raise InputError(
            "nothing to learn from",
            where=str(document.get("id")),
            received=f"{len(rows)} rows, none dated by marks or documents",
            remedy="Add instruments dated by their marks with: heelstamp chronology import.",
        )
    present = parse_chronology(document, name="present edition")
    reader = EvidenceReader(present)
    read = [reader.read(row.evidence) for row in teachers]
    census = [evidence for evidence, _ in read]
    groups = {row.id: _group(row) for row in present.features}
    looks = {id_: _count(census, group) for id_, group in groups.items()}
    learned_ids = [id_ for id_, count in looks.items() if count >= least]
    bare = parse_chronology(_without_learned(document, learned_ids), name="present edition")
    span = Period(parse_month(bare.production.first), parse_month(bare.production.last))
    found = learn_features(
        dating_model(bare), census, [groups[id_] for id_ in learned_ids], span, least=least
    )
    learned = dict(zip(learned_ids, found, strict=True))
    new = copy.deepcopy(dict(document))
    new["edition"] = edition
    said = f"census of {len(teachers)}"
    for row in new.get("feature", []):
        if row["id"] in learned:
            write_learned(row, learned[row["id"]], said)
    serials: dict[str, LearnedSerials] = {}
    if serial and present.serial is not None:
        serials = _serials(present, census, [line for _, line in read], groups)
        _write_serial(new["serial"], serials, said)
    return NewEdition(
        document=new,
        chronology=parse_chronology(new, name=f"edition {edition}"),
        changes=changes_learned(present, learned),
        kept={id_: count for id_, count in looks.items() if count < least},
        taught=len(teachers),
        silent=len(rows) - len(teachers),
        serials=serials,
    )


def _group(row: FeatureRow) -> FeatureGroup:
    names = tuple(feature_on(row, part) for part in row.parts)
    return FeatureGroup(names, read_from_serial=row.from_serial is not None)


def _count(census: Sequence[Evidence], group: FeatureGroup) -> int:
    return sum(
        isinstance(one, FeatureSeen) and one.feature in group.names
        for seen in census
        for one in seen
    )


def _without_learned(document: Mapping[str, Any], ids: Sequence[str]) -> dict[str, Any]:
    bare = copy.deepcopy(dict(document))
    for row in bare.get("feature", []):
        if row["id"] in ids:
            for one in [*row.get("change", []), row.get("passing") or {}]:
                one.pop("learned", None)
    return bare


def _month(value: float) -> str:
    return format_month(round(value))


def write_learned(row: dict[str, Any], learned: LearnedFeature, said: str) -> None:
    """Write what was learned into a feature's row; *said* is where it is known from."""
    places = [row["passing"]] if learned.passing is not None else row["change"]
    for place, curve in zip(places, learned.transitions, strict=True):
        place["source"] = _sourced(place.get("source", ""), said)
        place["learned"] = {
            "from": learned.looks,
            "first": format_month(curve.first),
            "values": list(curve.values),
        }
    if learned.passing is not None:
        batch = learned.passing
        row["passing"]["learned"] |= {
            "begins": _month(batch.first),
            "ends": _month(batch.last),
            "share": round(batch.share, 3),
            "share_sd": round(batch.share_sd, 3),
        }
    for place, change in zip(places, learned.changes, strict=bool(learned.changes)):
        place["learned"] |= {
            "centre": _month(change.centre_mean),
            "centre_sd": round(change.centre_sd, 2),
            "centre_90": [_month(one) for one in change.centre_90],
            "width": round(change.width_mean, 2),
        }


def _sourced(before: str, said: str) -> str:
    bare = _CENSUS_OF.sub("", before)
    return f"{bare}; {said}" if bare else said


def changes_learned(
    present: Chronology, learned: Mapping[str, LearnedFeature]
) -> tuple[ChangeLearned, ...]:
    """Each change-over that was learned, beside what *present* has of it."""
    features = {one.name: one for one in dating_model(present).features}
    found: list[ChangeLearned] = []
    for row in present.features:
        one = learned.get(row.id)
        if one is None:
            continue
        feature = features[one.group.names[0]]
        if one.passing is not None:
            batch = one.passing
            ends = (("first", batch.first, batch.first_90), ("last", batch.last, batch.last_90))
            for place, (end, centre, centre_90) in enumerate(ends):
                old = _old_end(feature, place, present.completion)
                sd = (centre_90[1] - centre_90[0]) / 3.29
                name = f"{row.name}, {end} month"
                found.append(
                    ChangeLearned(row.id, name, one.looks, old, 0.0, centre, sd, centre_90, 0.0)
                )
            continue
        for place, change in enumerate(one.changes):
            name = row.name if len(one.changes) == 1 else f"{row.name}, {row.variants[place + 1]}"
            centre, width = _old_change(feature, place, present.completion)
            found.append(
                ChangeLearned(
                    row.id,
                    name,
                    one.looks,
                    centre,
                    width,
                    change.centre_mean,
                    change.centre_sd,
                    change.centre_90,
                    change.width_mean,
                )
            )
    return tuple(found)


def _old_change(feature: Feature, place: int, grid: MonthGrid) -> tuple[float, float]:
    """Return centre and width of a change-over as it was; of a curve, its half-way and slope."""
    change = feature.transitions[place]
    if isinstance(change, Transition):
        return change.centre, change.width
    values = happened(change, np.arange(grid.first, grid.last + 1))
    quarter, half, three = (grid.first + int((values >= q).argmax()) for q in (0.25, 0.5, 0.75))
    return float(half), (three - quarter) / (2 * float(np.log(3)))


def _old_end(feature: Feature, place: int, grid: MonthGrid) -> float:
    if feature.passing is not None:
        return feature.passing[place] + (0.5 if place == 0 else -0.5)
    curve = feature.transitions[0]
    assert isinstance(curve, LearnedTransition)
    values = happened(curve, np.arange(grid.first, grid.last + 1))
    high = np.nonzero(values >= values.max() / 2)[0]
    return float(grid.first + (high[0] if place == 0 else high[-1]))


def _serials(
    present: Chronology,
    census: Sequence[Evidence],
    lines: Sequence[Line],
    groups: Mapping[str, FeatureGroup],
) -> dict[str, LearnedSerials]:
    from_number = [
        one for group in groups.values() if group.read_from_serial for one in group.names
    ]
    compiled = CompiledModel(dating_model(present))
    dates, original = dated_without_serial(compiled, census, from_number)
    by_prefix: dict[str, list[tuple[int, int]]] = {}
    for place, line in enumerate(lines):
        read = numbers_of(line)
        match = _SERIAL.fullmatch(read[0][0].upper().replace(" ", "")) if len(read) == 1 else None
        if match is not None:
            by_prefix.setdefault(match[1], []).append((place, int(match[2])))
    found: dict[str, LearnedSerials] = {}
    for prefix, seen in by_prefix.items():
        rows = np.array([place for place, _ in seen])
        numbers: Array = np.array([number for _, number in seen], dtype=float)
        one = learn_serials(numbers, dates[rows], present.completion.first, original[rows])
        if one is not None and len(one.numbers) > 1:
            found[prefix] = one
    return found


def _write_serial(table: dict[str, Any], serials: Mapping[str, LearnedSerials], said: str) -> None:
    if not serials:
        return
    kept = [knot for knot in table["knot"] if knot["prefix"] not in serials]
    for prefix, one in serials.items():
        for number, month in zip(one.numbers, one.months, strict=True):
            kept.append({"prefix": prefix, "number": round(number), "month": _month(month)})
    table["knot"] = kept
    weights = [one.count for one in serials.values()]
    scatter = [one.scatter for one in serials.values()]
    table["spread_months"] = round(float(np.average(scatter, weights=weights)), 2)
    table["source"] = _sourced(table.get("source", ""), said)
