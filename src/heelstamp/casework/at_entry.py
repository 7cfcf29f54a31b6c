"""What an entry is refused for before it stands: whatever would later stop the dossier.

A feature that the chronology does not know, a second serial number in one place, a chronology of
another kind of instrument can be entered in a moment and cost an evening later, when the date is
asked for. What merely gives no date, such as a mark that no rule reads, is a fact of the instrument
and is kept. An entry is not refused for what was wrong before it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import pairwise

from heelstamp.casework.dating.translation import translate
from heelstamp.casework.new_entry import NewEntry
from heelstamp.catalogue import DossierState, Observation, parse_body
from heelstamp.catalogue.conversion import nearest
from heelstamp.chronology import Chronology
from heelstamp.chronology.cross_checks import NON_FACTORY
from heelstamp.errors import HeelstampError, InputError
from heelstamp.marks import MarkContext
from heelstamp.units import Period, name_month


def refuse_other_kind(kind: str, chronology: Chronology) -> None:
    """Refuse a chronology of another kind of instrument.

    Raises
    ------
    InputError
        As said.
    """
    if kind != chronology.kind:
        raise InputError(
            f"the chronology {chronology.id} is of a {chronology.kind}, the instrument is a {kind}",
            where="instrument, field chronology",
            received=chronology.id,
            remedy=f"Give a chronology of a {kind}, or the right kind of instrument.",
        )


def refuse_unfit(
    state: DossierState, entries: Sequence[NewEntry], chronology: Chronology, context: MarkContext
) -> None:
    """Refuse observations that the dossier could not be dated with.

    Parameters
    ----------
    state
        What stands before the entries.
    entries
        Of any kind; those that cannot be read are left to the journal, which says why.

    Raises
    ------
    InputError
        A feature or variant that the chronology does not know, a feature on a part that has none, a
        sign with an unknown outcome, a second serial number in one place, two looks that
        contradict each other, readings of one mark that overlap or lie outside the months of the
        chronology; names the observation.
    """
    after, fresh = _after(state, entries)
    if not fresh:
        return
    for seen in fresh:
        try:
            _check_feature(seen, chronology)
            _check_readings(seen, chronology)
        except HeelstampError as error:
            raise error.at(f'observation "{seen.id}"') from None
    parts = {seen.part for seen in fresh}
    try:
        translate(_near(after.values(), parts), chronology, context)
    except HeelstampError:
        if _stops(_near(state.observations.values(), parts), chronology, context):
            return
        raise


def not_counted(
    state: DossierState, ids: Collection[str], chronology: Chronology, context: MarkContext
) -> dict[str, str]:
    """Say why marks and serial numbers of *ids* do not count: no rule reads them, or another does.

    Raises
    ------
    InputError
        What stands contradicts itself.
    """
    wanted = [state.observations[id_] for id_ in ids if id_ in state.observations]
    near = _near(state.observations.values(), {one.part for one in wanted})
    return {
        one.seen.id: one.why_not
        for one in translate(near, chronology, context)
        if one.why_not and one.seen.id in ids and one.seen.is_read and one.seen.kind in READ
    }


READ = ("mark", "serial")
"""Kinds of observation that are read."""


def _after(
    state: DossierState, entries: Sequence[NewEntry]
) -> tuple[dict[str, Observation], list[Observation]]:
    """The observations that would stand, and those of them that are new."""
    after = dict(state.observations)
    fresh: dict[str, Observation] = {}
    for kind, body in entries:
        told: object = body
        if kind == "correction":
            corrected = str(body.get("corrects"))
            told = body.get("replacement")
            if after.pop(corrected, None) is None:
                continue
            fresh.pop(corrected, None)
        elif kind != "observation":
            continue
        seen = _read(told)
        if seen is not None:
            after[seen.id] = seen
            if state.observations.get(seen.id) != seen:
                fresh[seen.id] = seen
    return after, list(fresh.values())


def _read(body: object) -> Observation | None:
    if not isinstance(body, Mapping):
        return None
    try:
        seen = parse_body("observation", body, where="observation")
    except HeelstampError:
        return None
    return seen if isinstance(seen, Observation) else None


def _near(observations: Iterable[Observation], parts: set[str]) -> list[Observation]:
    """What an entry on *parts* can contradict: marks of the same parts, and all else."""
    return [one for one in observations if one.kind != "mark" or one.part in parts]


def _stops(observations: list[Observation], chronology: Chronology, context: MarkContext) -> bool:
    try:
        translate(observations, chronology, context)
    except HeelstampError:
        return True
    return False


def _check_feature(seen: Observation, chronology: Chronology) -> None:
    if seen.kind != "feature" or not seen.feature:
        return
    row = chronology.feature(seen.feature)
    if row is None:
        known = [name for one in chronology.features for name in (one.id, *one.also)]
        raise InputError(
            f"the chronology {chronology.id} knows no such feature",
            where="field feature",
            received=seen.feature,
            remedy=nearest(seen.feature, known),
        )
    if len(row.parts) > 1 and seen.part not in row.parts:
        raise InputError(
            f"the chronology knows {row.name} ({row.id}) on other parts",
            where="field part",
            received=seen.part,
            remedy=nearest(seen.part, row.parts),
        )
    known = [*row.variants, NON_FACTORY]
    if seen.variant is not None and seen.variant not in known:
        raise InputError(
            f"the feature {row.id} ({row.name}) has no such variant",
            where="field variant",
            received=seen.variant,
            remedy=nearest(seen.variant, known),
        )


def _check_readings(seen: Observation, chronology: Chronology) -> None:
    if seen.kind != "mark":
        return
    grid = chronology.marks
    periods = sorted(one.months for one in seen.readings)
    for one in periods:
        if one.last < grid.first or one.first > grid.last:
            raise InputError(
                "a reading lies outside the months in which a part can have been made",
                where="field readings",
                received=one,
                remedy=f"Those of {chronology.id} run from {name_month(grid.first)} to "
                f"{name_month(grid.last)}.",
            )
    for one, other in pairwise(periods):
        if other.first <= one.last:
            raise InputError(
                "two readings of one mark name the same months",
                where="field readings",
                received=f"{one}; {other}",
                remedy="Give each month once: "
                f"{Period(other.first, min(one.last, other.last))} belongs to one of them.",
            )
