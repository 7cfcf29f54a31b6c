"""Do frets, board, buttons, back and plates tell one story? The wear matrix of one instrument.

Wear is recorded as the sign ``wear`` with one of the table's grades; looks that do not go with age
alone are signs of the table with outcome *present*, *absent* or *cannot tell*. Each pair of parts
with a relation fits, does not fit, or was not seen; a pair that does not fit is accounted for
where one of the two was replaced by all evidence, or is commonly renewed and the less worn. What
is left is *unexplained*: it names looks and frames and never a cause, a motive or a person. The
table is common practice; a pair that does not fit is a question to the instrument, not an answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal

import msgspec

from heelstamp.casework.consistency.wear_table import Relation, WearSign, WearTable
from heelstamp.catalogue import DossierState, Observation
from heelstamp.catalogue.conversion import nearest
from heelstamp.errors import InputError

WEAR = "wear"
"""Id of the sign that grades the wear of a part."""

OUTCOMES = ("present", "absent", "cannot tell")

Fit = Literal["fits", "does not fit", "accounted for", "not seen"]


class Cell(msgspec.Struct, frozen=True, kw_only=True):
    """One pair of parts.

    Attributes
    ----------
    grades
        What was seen on each, lightest to heaviest where several looks differ; empty if unseen.
    because
        Why they should go together.
    account
        What accounts for a pair that does not fit; empty otherwise.
    """

    parts: tuple[str, str]
    grades: tuple[list[str], list[str]]
    fit: Fit
    because: str
    account: str = ""


class Unexplained(msgspec.Struct, frozen=True, kw_only=True):
    """Something that the wear does not explain.

    Attributes
    ----------
    mismatch
        What does not go together, a clause.
    ordinary
        Everyday causes that would give the same look.
    observations, frames
        Ids of what it rests on.
    """

    mismatch: str
    ordinary: list[str]
    parts: list[str]
    observations: list[str]
    frames: list[str]


class WearFinding(msgspec.Struct, frozen=True, kw_only=True):
    """The matrix, and what stays unexplained."""

    source: str
    pairs: list[Cell]
    unexplained: list[Unexplained]


def examine_wear(
    state: DossierState, table: WearTable, *, replaced: Mapping[str, str], labels: Mapping[str, str]
) -> WearFinding:
    """Lay the wear of one instrument out.

    Parameters
    ----------
    replaced
        Parts that all evidence takes for replaced, with the words for that: 'probably later'.
    labels
        Names of parts for a reader, by key; the table's own go before.

    Raises
    ------
    InputError
        A grade or an outcome is none of the table's; names the observation.
    """
    seen = list(state.observations.values())
    graded: dict[str, list[Observation]] = {}
    for one in seen:
        if one.sign == WEAR and one.is_read and one.outcome is not None:
            _check(one, table.grades)
            graded.setdefault(one.part, []).append(one)
    cells, found = [], []
    for relation in table.relations:
        cell = _cell(relation, table, graded, replaced)
        cells.append(cell)
        if cell.fit == "does not fit":
            found.append(_unexplained_pair(cell, relation, graded, {**labels, **table.labels}))
    for sign in table.signs:
        shown = [one for one in seen if one.sign == sign.id and _present(one)]
        if shown:
            found.append(_unexplained_sign(sign, shown))
    return WearFinding(source=table.source, pairs=cells, unexplained=found)


def _check(one: Observation, allowed: Iterable[str]) -> None:
    options = tuple(allowed)
    if one.outcome not in options:
        raise InputError(
            f"the sign {one.sign} has no such outcome",
            where=f'observation "{one.id}", field outcome',
            received=one.outcome,
            remedy=nearest(one.outcome, options),
        )


def _present(one: Observation) -> bool:
    if not one.is_read or one.outcome is None:
        return False
    _check(one, OUTCOMES)
    return one.outcome == OUTCOMES[0]


def _cell(
    relation: Relation,
    table: WearTable,
    graded: Mapping[str, list[Observation]],
    replaced: Mapping[str, str],
) -> Cell:
    first, second = (_places(graded.get(part, ()), table) for part in relation.parts)
    account = ""
    fit: Fit = "not seen"
    if first and second:
        low, high = min(first) - max(second), max(first) - min(second)
        fit = "fits" if low <= relation.most and high >= relation.least else "does not fit"
        if fit == "does not fit":
            less = relation.parts[0] if high < relation.least else relation.parts[1]
            account = _account(relation, less, replaced)
            fit = "accounted for" if account else fit
    return Cell(
        parts=relation.parts,
        grades=(_names(first, table), _names(second, table)),
        fit=fit,
        because=relation.because,
        account=account,
    )


def _account(relation: Relation, less: str, replaced: Mapping[str, str]) -> str:
    """Say what accounts for a pair that does not fit: *less* is the less worn of the two."""
    for part in relation.parts:
        if part in replaced:
            return f"{part}: {replaced[part]}"
    if less in relation.renewable and not relation.covered:
        return f"{less}: commonly renewed"
    return ""


def _places(seen: Iterable[Observation], table: WearTable) -> list[int]:
    return sorted({table.grades.index(one.outcome or "") for one in seen})


def _names(places: Iterable[int], table: WearTable) -> list[str]:
    return [table.grades[place] for place in places]


def _unexplained_pair(
    cell: Cell,
    relation: Relation,
    graded: Mapping[str, list[Observation]],
    labels: Mapping[str, str],
) -> Unexplained:
    told = [
        f"the {labels.get(part, part)} {' to '.join(grades)}"
        for part, grades in zip(cell.parts, cell.grades, strict=True)
    ]
    seen = [one for part in cell.parts for one in graded[part]]
    return Unexplained(
        mismatch=f"wear is graded on {told[0]} and on {told[1]}, though {relation.because}",
        ordinary=["a part exchanged or worked on, of which nothing was found"],
        parts=list(cell.parts),
        observations=[one.id for one in seen],
        frames=list(dict.fromkeys(frame for one in seen for frame in one.frames)),
    )


def _unexplained_sign(sign: WearSign, seen: list[Observation]) -> Unexplained:
    return Unexplained(
        mismatch=sign.mismatch,
        ordinary=list(sign.ordinary),
        parts=list(dict.fromkeys(one.part for one in seen)),
        observations=[one.id for one in seen],
        frames=list(dict.fromkeys(frame for one in seen for frame in one.frames)),
    )
